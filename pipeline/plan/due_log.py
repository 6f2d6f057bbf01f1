"""Programmes of greens beside their logs, read out of the frames of many at once (grain: green)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.programmes import season_on
from pipeline.plan.read import done, jobs_of, planned_of
from pipeline.plan.works import Done, Planned
from pipeline.workspace.settings import Season


@dataclass(frozen=True)
class Programme:
    """What programmes ask of a green, and what its log holds beside that.

    Attributes:
        planned: their lines, of all seasons.
        done: jobs of the work that they ask for, from the season before the one in hand on.
        days: first and last day on which each job, of whatever work, can have been done, each once.
    """

    planned: Sequence[Planned] = ()
    done: Sequence[Done] = ()
    days: Sequence[tuple[date, date]] = ()


NO_PROGRAMME = Programme()


def season_holding(season: Season, day: date) -> Season:
    """The season of a day, given any of them."""
    while season.end < day:
        season = season_on(season, 1)
    while season.start > day:
        season = season_on(season, -1)
    return season


def programmes(each: Sequence[GreenRecords], until: Sequence[Season]) -> list[Programme]:
    """Programmes and log of each green, as far back as a line of the season in hand may be met by it.

    Args:
        each: the greens.
        until: of each any season; the one in hand is that of the last day on record.
    """
    asked = [(of, one) for of, one in enumerate(each) if one.planned.height]
    found = [NO_PROGRAMME] * len(each)
    if not asked:
        return found
    since = [season_on(season_holding(until[of], one.last_day), -1).start for of, one in asked]
    jobs = jobs_of([one for _, one in asked], [(day, date.max) for day in since])
    lines = [tuple(planned_of(one.planned)) for _, one in asked]
    works = [(at, name) for at, some in enumerate(lines) for name in {line.operation for line in some}]
    wanted = pl.DataFrame(works, schema={"of": pl.UInt32, "operation": pl.String}, orient="row")
    of_works = done(jobs.join(wanted, on=["of", "operation"], how="semi", maintain_order="left"))
    days: dict[int, list[tuple[date, date]]] = {}
    for at, first, last in jobs.select("of", "date", "last").unique().iter_rows():
        days.setdefault(at, []).append((first, last))
    for at, (of, _) in enumerate(asked):
        found[of] = Programme(lines[at], of_works.get(at, ()), days.get(at, ()))
    return found
