"""The circumstances of a visit: what the records hold of it, beside what the surveyor noted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.survey.visit_notes import NO_NOTES, VisitNotes

DAYS_BEFORE = 7
"""Days before a visit whose rain is told: they decide how wet a green is surveyed (common practice, no source)."""


@dataclass(frozen=True)
class DayWeather:
    """Weather at the green's station.

    Attributes:
        station: its name.
        low_c: lowest air temperature of the day; None where not recorded.
        high_c: highest.
        rain_mm: rain of the day; None where not recorded.
        before_mm: rain of the days before, as far as they are recorded; None where none of them is.
        known: how many of the ``DAYS_BEFORE`` days that is.
    """

    station: str
    low_c: float | None
    high_c: float | None
    rain_mm: float | None
    before_mm: float | None
    known: int


@dataclass(frozen=True)
class OnTheDay:
    """The circumstances of a visit.

    Attributes:
        notes: what the surveyor noted.
        levelled_with: instruments that the records of levels name.
        benchmarks: points that heights are measured from, likewise.
        weather: at the station; None where nothing is recorded of the day and those before.
    """

    notes: VisitNotes = NO_NOTES
    levelled_with: tuple[str, ...] = ()
    benchmarks: tuple[str, ...] = ()
    weather: DayWeather | None = None


NOTHING_NOTED = OnTheDay()
"""Of a visit of which no circumstance is known."""


def on_the_day(records: GreenRecords, day: date, notes: VisitNotes) -> OnTheDay:
    """The circumstances of the visit of a day."""
    levels = records.levels.filter(pl.col("date") == day)
    return OnTheDay(notes, _each(levels["instrument"]), _each(levels["benchmark"]), _weather(records, day))


def _each(cells: pl.Series) -> tuple[str, ...]:
    return tuple(cells.drop_nulls().unique(maintain_order=True).to_list())


def _weather(records: GreenRecords, day: date) -> DayWeather | None:
    station = records.green["station"]
    rows = records.weather.filter(pl.col("station") == station) if station else records.weather.clear()
    today = next(rows.filter(pl.col("date") == day).iter_rows(named=True), {})
    first, last = day - timedelta(days=DAYS_BEFORE), day - timedelta(days=1)
    before = rows.filter(pl.col("date").is_between(first, last))["rain_mm"].drop_nulls()
    low, high, rain = (today.get(name) for name in ("tmin_c", "tmax_c", "rain_mm"))
    if before.is_empty() and low is None and high is None and rain is None:
        return None
    return DayWeather(station, low, high, rain, float(before.sum()) if before.len() else None, before.len())
