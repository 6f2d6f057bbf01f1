"""Radiation given as a power: read as the mean of the period, and said, whether the column or a cell gives the unit."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, no_faults
from pipeline.standardise.cells import units
from pipeline.standardise.cells.distinct import Cells
from schemas.field import Field

MEAN_POWER = FaultKind(
    "unit.mean_power",
    "Radiation in W/m² taken as the mean of the day",
    "Column {column} is in {value}: each figure is read as the mean over all 24 hours (1 W/m² is 0.0864 MJ/m² a day).",
    "Nothing need be done where that is so. A highest value, or a mean over daylight alone, is another thing: leave "
    "such a column out.",
    severity="note",
)
RADIATION = "MJ/m²"
"""Of a day always: of months it is the mean of their days."""


def mean_power_cells(source: Cells, field: Field) -> pl.DataFrame:
    """The note of cells that themselves say that they are a power (``125 W/m²``)."""
    if field.unit != RADIATION:
        return no_faults()
    said = source.cells.drop_nulls().unique().str.extract(r"^\s*[\d.,]+\s*(\D.*)$").drop_nulls().unique().sort()
    powers = [unit for unit in said if units.is_mean_power(unit)]
    return MEAN_POWER.at(None, powers[0], source.header) if powers else no_faults()
