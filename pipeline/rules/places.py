"""Rules for where and when: dates against the calendar and the life of the green."""

from __future__ import annotations

from datetime import date

import polars as pl

from pipeline.faults import FaultKind, together
from pipeline.register import Register

IN_THE_FUTURE = FaultKind(
    "date.future",
    "Date in the future",
    "{column}: {value} has not come yet.",
    "Check the year and the order of day and month.",
)
BEFORE_GREEN = FaultKind(
    "date.before_green",
    "Date before the green was laid",
    "{column}: {value} is before the green was laid.",
    "Check the date, and laid_on in the register of greens.",
)


def with_green(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Records with their green's ``area_m2`` and ``laid_on``."""
    return records.join(register.greens.select("green", "area_m2", "laid_on"), on="green", how="left")


def check(records: pl.DataFrame, register: Register, today: date) -> pl.DataFrame:
    """Faults of dates that have not come yet, or lie before the green was laid."""
    future = records.filter(pl.col("date") > today)
    faults = [IN_THE_FUTURE.frame(future["line"], future["date"], "date")]
    if "green" in records.columns:  # a station's weather is of no green
        early = with_green(records, register).filter(pl.col("date") < pl.col("laid_on"))
        faults.append(BEFORE_GREEN.frame(early["line"], early["date"], "date"))
    return together(faults)
