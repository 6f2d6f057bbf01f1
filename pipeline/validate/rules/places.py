"""Rules for where and when: dates against the calendar and the life of the green."""

from __future__ import annotations

from datetime import date

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register

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
AFTER_GREEN = FaultKind(
    "date.after_green",
    "Date after the green was closed",
    "{column}: {value} is after the green was closed.",
    "Check the date and the code of the green, and closed_on in the register of greens.",
    severity="warning",
)


ENDS_FIRST = FaultKind(
    "date.ends_first",
    "Period that ends before it begins",
    "{column}: {value} is before the date, {first}.",
    "Mend date or date_to: the first and the last day it can have been.",
)


def with_green(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Records with their green's ``area_m2``, the earliest day it can have been laid and the latest of its closing.

    As they held on the day.
    """
    held = register.joined(records, "green", ("area_m2", "laid_on", "closed_on", "closed_by"))
    return held.with_columns(pl.coalesce("closed_by", "closed_on").alias("closed_on")).drop("closed_by")


def check(records: pl.DataFrame, register: Register, today: date) -> pl.DataFrame:
    """Faults of dates that have not come yet, or lie before the green was laid or after it was closed."""
    faults = [IN_THE_FUTURE.of(records.filter(pl.col("date") > today), "date")]
    if "green" in records.columns:  # a station's weather is of no green
        placed = with_green(records, register)
        last = pl.coalesce("date_to", "date") if "date_to" in records.columns else pl.col("date")
        faults.append(BEFORE_GREEN.of(placed.filter(last < pl.col("laid_on")), "date"))
        faults.append(AFTER_GREEN.of(placed.filter(pl.col("date") > pl.col("closed_on")), "date"))
    if "date_to" in records.columns:
        turned = records.filter(pl.col("date_to") < pl.col("date"))
        faults += [
            ENDS_FIRST.at(line, str(last), "date_to", first=first)
            for line, first, last in turned.select("line", "date", "date_to").iter_rows()
        ]
    return concat(faults)
