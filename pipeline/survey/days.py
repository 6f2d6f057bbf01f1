"""Whose day a figure is: what was measured on the day of a visit, and when what stands beside it was measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

import polars as pl

from pipeline.common.words import listed, long_date
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import DataNote, GreenSeason, Indicator
from pipeline.indicators.families import judged
from pipeline.indicators.play import stimpmeter, surface
from pipeline.indicators.questions import marked

OF_ONE_VISIT = {"levels": "levels", "sward": "sward", "physical": "thatch, roots and surface"}
"""Families that a survey holds of its own day alone, and what they are called."""


@dataclass(frozen=True)
class Measured:
    """The days on which the readings behind a figure were taken (grain: figure that rests on readings).

    Attributes:
        name: machine name of the figure.
        band: its band.
        first: first day.
        last: last day; the first where all were taken on one.
        alone: whether it rests on readings alone, and not on jobs or weather beside them.
    """

    name: str
    band: str
    first: date
    last: date
    alone: bool

    def on(self, day: date) -> bool:
        """Whether it was made of readings of this day and of nothing else."""
        return self.alone and self.first == self.last == day


def measured(records: GreenRecords, figures: Iterable[Indicator]) -> tuple[Measured, ...]:
    """The days of every figure that rests on readings, in the order of the figures; others have none."""
    days = dict(_days(records))
    survey = _last_levels(records)
    return tuple(found for one in figures if (found := _of(one, days, survey)))


def of_the_visit(season: GreenSeason, records: GreenRecords, day: date) -> GreenSeason:
    """The season as a survey tells it.

    Green speeds are those of the day where any were taken. Of levels, sward and surface it holds the day's alone, and a
    note that names the days of the others.
    """
    figures, gone, last = _parted(season.indicators, records, day)
    by_day: dict[date, set[str]] = {}
    for one in gone:
        by_day.setdefault(last[one.name, one.band], set()).add(OF_ONE_VISIT[one.family])
    notes = tuple(
        DataNote("note", f"Readings of {long_date(other)} ({listed(sorted(what))}) stand in the survey of that day.")
        for other, what in sorted(by_day.items())
    )
    return replace(season, indicators=figures, data_notes=(*season.data_notes, *notes))


def figures_of_visit(figures: tuple[Indicator, ...], records: GreenRecords, day: date) -> tuple[Indicator, ...]:
    """The figures of a season as a survey tells them."""
    return _parted(figures, records, day)[0]


def _parted(
    every: tuple[Indicator, ...], records: GreenRecords, day: date
) -> tuple[tuple[Indicator, ...], list[Indicator], dict[tuple[str, str], date]]:
    """The figures that stand in the survey of a day, those of other visits, and the last day of each."""
    figures = _with_speeds_of(every, records, day)
    last = {(one.name, one.band): one.last for one in measured(records, figures)}
    gone = [i for i in figures if i.family in OF_ONE_VISIT and last.get((i.name, i.band), day) != day]
    return tuple(one for one in figures if one not in gone), gone, last


def _with_speeds_of(figures: tuple[Indicator, ...], records: GreenRecords, day: date) -> tuple[Indicator, ...]:
    """The figures with those of green speed made of the day's readings, where there are any."""
    today = records.speeds.filter(pl.col("date") == day)
    if not today.height:
        return figures
    families = (surface.FAMILY, stimpmeter.FAMILY)
    of_season = {one.name for family in families for one in family.described}
    visit = records.having(green_speed=today)
    own = marked(judged((one for family in families for one in family.made(Asked.about([visit]))), visit), visit)
    return (*(one for one in figures if one.name not in of_season), *own)


def _days(records: GreenRecords) -> Iterator[tuple[tuple[str, int, int], date]]:
    """Kind, load and line of every reading, and its day."""
    frames = {
        "observation": records.observations,
        "sieve": records.sieves,
        "soil_test": records.soil,
        "green_speed": records.speeds,
    }
    for kind, frame in frames.items():
        for load_id, line, day in frame.select("load_id", "line", "date").iter_rows():
            yield (kind, load_id, line), day


def _last_levels(records: GreenRecords) -> date | None:
    """Day of the season's last level survey, which all figures of levels are of."""
    known = pl.col("date").is_between(records.season.start, records.as_of) & pl.col("z_mm").is_not_null()
    day = records.levels.filter(known)["date"].max()
    return day if isinstance(day, date) else None


def _of(one: Indicator, days: dict[tuple[str, int, int], date], survey: date | None) -> Measured | None:
    if one.family == "levels":
        return Measured(one.name, one.band, survey, survey, alone=True) if survey else None
    found = [days.get((e.kind, e.load_id, e.line)) for e in one.evidence]
    known = [day for day in found if day is not None]
    return Measured(one.name, one.band, min(known), max(known), alone=len(known) == len(found)) if known else None
