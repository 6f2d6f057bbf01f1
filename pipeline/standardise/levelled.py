"""Levels: heights made from staff readings."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind

READ_AND_GIVEN = FaultKind(
    "level.differs",
    "Height and staff reading contradict each other",
    "The height of {value} mm is not what the line of sight less the staff reading gives.",
    "Keep one of the two, or make them agree.",
)
BELOW_A_LIMIT = FaultKind(
    "level.below",
    "“Less than” where a height is needed",
    "“{value}” is a limit, not a height.",
    "Write what was read.",
)
ROUNDING_MM = 1.0
"""What a height and a staff reading may differ by: each is written to the millimetre."""


def levels(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Heights over the benchmark: as given, else the line of sight less the staff reading (0 where none is given).

    Without a line of sight heights are counted from it, downwards: right within one survey whose instrument stood
    still.
    """
    read = pl.col("sight_mm").fill_null(0.0) - pl.col("staff_mm")
    off = records.filter(pl.col("sight_mm").is_not_null() & ((pl.col("z_mm") - read).abs() > ROUNDING_MM))
    return records.with_columns(pl.coalesce("z_mm", read).alias("z_mm")), READ_AND_GIVEN.of(off, "z_mm")
