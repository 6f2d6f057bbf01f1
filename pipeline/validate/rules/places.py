"""Rules for where and when: dates against the calendar and the life of the green."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.common.words import counted, on_lines
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
LONG_AGO = FaultKind(
    "date.long_ago",
    "Date of long ago",
    "{column}: {number} of more than {years} years ago ({value} is the first; {where}).",
    "Check the year: another hundred may be meant (two_digit_years in [values] of the profile). If it is from an old "
    "book, nothing need be done (bound: common practice, no source).",
    severity="warning",
)
SHORT_YEAR = FaultKind(
    "date.short_year",
    "Date of two-digit numbers that may be of these years or of long ago",
    "{column}: “{value}” is {day} in the declared order, and {other} as year-month-day.",
    "Write the year with its four digits (2026-03-02).",
)
APART = FaultKind(
    "date.apart",
    "Date far from all others",
    "{column}: {value} stands alone: the other dates of the file are {first} to {last}.",
    "Check the year. If it is right, nothing need be done (bound: common practice, no source).",
    severity="warning",
)
ENDS_FIRST = FaultKind(
    "date.ends_first",
    "Period that ends before it begins",
    "{column}: {value} is before the date, {first}.",
    "Mend date or date_to: the first and the last day it can have been.",
)


LONG_YEARS = 50
"""Years from which on a date is asked about (common practice, no source)."""
MOST_RANGES = 8
"""Ranges of lines named before the rest is counted."""
APART_YEARS, FEW = 10, 3
"""Years without any date between one and the others; dates that make the others (common practice, no source)."""
SHORT_YEARS, OF_LATE = 10, 2
"""Years ago from which on a short date is held against its other reading, and within which that is likely."""
_SHORT = r'"date": "\s*(\d\d)[-/. ](\d\d?)[-/. ](\d\d?)\b'
"""A date of two-digit numbers among what was written."""
_SELDOM = "lab"
"""Field of the kinds that may well be years apart: samples that a laboratory looked at."""


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
        too_early = (last < pl.col("laid_on")).fill_null(value=False)
        faults.append(BEFORE_GREEN.of(placed.filter(too_early), "date"))
        faults.append(AFTER_GREEN.of(placed.filter(pl.col("date") > pl.col("closed_on")), "date"))
        faults += _odd_years(placed.filter((pl.col("date") <= today) & ~too_early), today)
    if "date_to" in records.columns:
        turned = records.filter(pl.col("date_to") < pl.col("date"))
        faults += [
            ENDS_FIRST.at(line, str(last), "date_to", first=first)
            for line, first, last in turned.select("line", "date", "date_to").iter_rows()
        ]
    return concat(faults)


def _odd_years(records: pl.DataFrame, today: date) -> list[pl.DataFrame]:
    """Warnings of dates of long ago, and of one that no other of the file is near to."""
    faults = list(_short_years(records, today))
    old = records.filter(pl.col("date").dt.year() < today.year - LONG_YEARS).sort("line", maintain_order=True)
    if old.height:
        told = {"number": counted(old["line"].n_unique(), "date"), "where": on_lines(old["line"], MOST_RANGES)}
        faults.append(LONG_AGO.at(old["line"][0], str(old["date"][0]), "date", years=LONG_YEARS, **told))
    days = records.filter(pl.col("date").dt.year() >= today.year - LONG_YEARS)["date"].unique().sort()
    if len(days) <= FEW or _SELDOM in records.columns:
        return faults
    for lone, others in ((days[0], days[1:]), (days[-1], days[:-1])):
        first, last = others[0], others[-1]
        if min(abs(first.year - lone.year), abs(last.year - lone.year)) >= APART_YEARS:
            faults.append(APART.of(records.filter(pl.col("date") == lone), "date", first=first, last=last))
    return faults


def _short_years(records: pl.DataFrame, today: date) -> Iterator[pl.DataFrame]:
    """The faults of dates of long ago that are of these years where their first number is the year."""
    old = records.filter(pl.col("date").dt.year() <= today.year - SHORT_YEARS)
    if not old.height or "written" not in old.columns:
        return
    parts = [pl.col("written").str.extract(_SHORT, at).str.zfill(2) for at in (1, 2, 3)]
    other = pl.concat_str(pl.lit("20"), parts[0], pl.lit("-"), parts[1], pl.lit("-"), parts[2])
    told = old.with_columns(other.str.to_date("%Y-%m-%d", strict=False).alias("other"))
    told = told.filter(pl.col("other").dt.year() >= today.year - OF_LATE).filter(pl.col("other") <= today)
    texts = pl.col("written").str.extract(r'"date": "([^"]*)"', 1).alias("text")
    for line, day, other_day, text in told.select("line", "date", "other", texts).iter_rows():
        yield SHORT_YEAR.at(line, text, "date", day=day, other=other_day)
