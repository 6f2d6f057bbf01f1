"""What follows on the last feed and the last sample of a green, by release times and custom."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import polars as pl

from pipeline.common.words import long_date, period
from pipeline.indicators.base import periods
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Due
from pipeline.plan.due_facts import Facts

SAMPLE_EVERY_DAYS = 365
"""Organic matter is sampled about once a year, same method and depth: common practice, no source."""
LOOK_AGAIN = "Look at the green before the next feed"
"""What is due when the last feed has run out by its label."""


def since_or_from(day: date, last: date) -> str:
    """From when on: since when, where that day lies before the last on record."""
    return f"{'since' if day < last else 'from'} {long_date(day)}"


def next_feed(known: GreenRecords, made: Facts) -> Iterator[Due]:
    """When the last feed has run out by its label; nothing where that is not known of the last feed on record.

    Args:
        known: of the green, up to the last day on record.
        made: what its records come to.
    """
    if not made.last_feeds:
        return
    day: date = made.last_feeds[0]["date"]
    since = known.may_be_of(day, known.as_of)
    if since.height and _may_feed(periods.as_outside(since, known.materials)):
        return  # which feed was the last is not known
    said = [row for row in made.last_feeds if (row["release_weeks"] or 0.0) > 0]
    if not said or made.fed_since:
        return
    last = said[-1]
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


def _may_feed(outside: pl.DataFrame) -> bool:
    return bool(outside.filter(pl.col("feeds") | (pl.col("operation") == "fertilising")).height)


def sampling(latest: tuple[date, date] | None, as_of: date) -> Iterator[Due]:
    """When organic matter is to be sampled; nothing where the last sample is not a year old on the day looked at.

    Args:
        latest: first and last day that the last sample can be of; None where there is none.
        as_of: the day looked at.
    """
    if latest is None:
        yield Due("Sample organic matter", "10 cores or more, 0–20 mm", "this winter", "No result is on record.")
    elif (as_of - latest[1]).days >= SAMPLE_EVERY_DAYS:
        again = latest[1] + timedelta(days=SAMPLE_EVERY_DAYS)
        yield Due(
            "Sample organic matter again",
            "same depths, laboratory and method",
            since_or_from(again, as_of),
            f"Last sampled {period(*latest)}; about once a year is common practice.",
            again,
            overdue=again < as_of,
        )
