"""What one kind of record needs beyond its single fields: results into their stored unit, "less than" kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.profiles.style import Refused
from pipeline.standardise import levelled, observed, results, speeds
from pipeline.standardise.cells import units
from schemas import Kind
from schemas.codes import fold, spellings

BELOW_NOT_HERE = FaultKind(
    "number.below",
    "“Less than” where a figure is needed",
    "{column}: “{value}” is a limit, not a figure.",
    "Only a result of a laboratory can be below a limit; write the figure, or leave the cell blank.",
)


def finish(kind: Kind, records: pl.DataFrame, below: Mapping[str, pl.Series]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The typed records with kind-specific last steps done, and faults; ``below``: where a field said "less than"."""
    faults = []
    for name, where in below.items():
        if name != kind.value_field or "below_limit" not in kind.by_name:
            fault = _BELOW.get(kind.name, BELOW_NOT_HERE) if name == kind.value_field else BELOW_NOT_HERE
            faults.append(fault.of(records.filter(where), name, "<" + pl.col(name).cast(pl.String)))
    if "value" in below and "below_limit" in kind.by_name:
        records = records.with_columns((pl.col("below_limit").fill_null(False) | below["value"]).alias("below_limit"))
    if kind.name in _STEPS:
        records, extra = _STEPS[kind.name](records)
        faults.append(extra)
    return records, concat(faults)


def _job(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Spacing across is that along where only one is written (square pattern, common practice, no source)."""
    across = pl.coalesce("spacing_across_mm", "spacing_along_mm").alias("spacing_across_mm")
    return records.with_columns(across), no_faults()


def _price(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """A price that names no number of packs holds from the first: blank and 1 are one record."""
    return records.with_columns(pl.col("from_packs").fill_null(1)), no_faults()


def _stock(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """What is not said to be on order is here: blank and no are one record."""
    return records.with_columns(pl.col("on_order").fill_null(value=False)), no_faults()


_BELOW = {"observation": observed.BELOW_A_LIMIT, "level": levelled.BELOW_A_LIMIT}
"""What is said of “less than” in the value of a kind, where it is not the same as of any other field."""
_STEPS: dict[str, Callable[[pl.DataFrame], tuple[pl.DataFrame, pl.DataFrame]]] = {
    "soil_test": results.soil_tests,
    "green_speed": speeds.green_speeds,
    "job": _job,
    "observation": observed.observations,
    "level": levelled.levels,
    "price": _price,
    "stock": _stock,
}


def same_unit(one: str, other: str) -> bool:
    """Whether two spellings name the same unit."""
    words = spellings("soil_unit")
    if fold(one) == fold(other) or (fold(one) in words and words.get(fold(one)) == words.get(fold(other))):
        return True
    try:
        return units.scale(one, other) == (1.0, 0.0)
    except Refused:
        return False
