"""What follows on the last feed and the last sample of a green, by release times and custom."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import polars as pl

from pipeline.common.words import long_date, period
from pipeline.indicators.base import periods
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Due
from pipeline.indicators.feeding import nutrients

SAMPLE_EVERY_DAYS = 365
"""Organic matter is sampled about once a year, same method and depth: common practice, no source."""
LOOK_AGAIN = "Look at the green before the next feed"
"""What is due when the last feed has run out by its label."""


def since_or_from(day: date, last: date) -> str:
    """From when on: since when, where that day lies before the last on record."""
    return f"{'since' if day < last else 'from'} {long_date(day)}"


def next_feed(known: GreenRecords, every: pl.DataFrame) -> Iterator[Due]:
    """When the last feed has run out by its label; nothing where that is not known of the last feed on record.

    Args:
        known: of the green, up to the last day on record.
        every: what was put on of it that carries nutrients (``nutrients.fed``).
    """
    rows = every.filter((pl.col("date") <= known.as_of) & (pl.col("nitrogen") > 0))
    if not rows.height:
        return
    day: date = rows.select(pl.col("date").max()).item()
    since = periods.as_outside(known.may_be_of(day, known.as_of), known.materials)
    if since.filter(pl.col("feeds") | (pl.col("operation") == "fertilising")).height:
        return  # which feed was the last is not known
    said = rows.filter((pl.col("date") == day) & (pl.col("release_weeks") > 0))
    if not said.height or nutrients.uncounted(known, every).filter(pl.col("date") > day).height:
        return
    last = said.row(-1, named=True)
    until: date = last["date"] + timedelta(weeks=last["release_weeks"])
    over = until < known.as_of
    yield Due(
        LOOK_AGAIN,
        "when growth slows",
        since_or_from(until, known.as_of),
        f"{last['material']} of {long_date(last['date'])} {'lasted' if over else 'lasts'} about "
        f"{last['release_weeks']:g} weeks by its label.",
        until,
        overdue=over,
    )


def sampling(known: GreenRecords) -> Iterator[Due]:
    """When organic matter is to be sampled; nothing where the last sample is not a year old on the day looked at."""
    rows = known.of("soil_test").filter(pl.col("analyte") == "organic_matter")
    latest = rows.sort(periods.LAST, maintain_order=True).tail(1)
    first, last = latest.select("date", periods.LAST).row(0) if latest.height else (None, None)
    if last is None:
        yield Due("Sample organic matter", "10 cores or more, 0–20 mm", "this winter", "No result is on record.")
    elif isinstance(last, date) and (known.as_of - last).days >= SAMPLE_EVERY_DAYS:
        again = last + timedelta(days=SAMPLE_EVERY_DAYS)
        yield Due(
            "Sample organic matter again",
            "same depths, laboratory and method",
            since_or_from(again, known.as_of),
            f"Last sampled {period(first, last)}; about once a year is common practice.",
            again,
            overdue=again < known.as_of,
        )
