"""A programme of several seasons beside the log, season by season, so that no job counts in two.

A line is of the season its window ends in. What the lines of a season leave of a job may count, as early work or within
a window that opened before, for the lines of the next.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from itertools import chain

from pipeline.indicators.base.programmes import season_on
from pipeline.plan.lines import Extra, Line, Matched
from pipeline.plan.matching import matched
from pipeline.plan.works import Done, Planned, of_season
from pipeline.workspace.settings import Season


@dataclass(frozen=True)
class SeasonMatched:
    """A season with its programme and log laid beside each other."""

    season: Season
    matched: Matched


def by_season(
    planned: Iterable[Planned], done: Iterable[Done], day: date, first: Season, last: Season
) -> tuple[SeasonMatched, ...]:
    """Programme and log of each season from one to another, as of a day.

    The season before the first is looked at as well, for what its lines take of late jobs is not left for the first.

    Args:
        planned: lines of any season, of one green or many.
        done: jobs of these greens, from the first day of the season before the first on.
        day: the day it is asked for.
        first: the first season wanted.
        last: the last.
    """
    lines, jobs = tuple(planned), tuple(done)
    season = season_on(first, -1)
    carried: tuple[Done, ...] = ()
    found = []
    while season.start <= last.start:
        own = of_season(lines, season)
        in_season = (job for job in jobs if job.first <= season.end and job.last >= season.start)
        beside = matched(own, (*carried, *in_season), day, season.end)
        found.append(SeasonMatched(season, beside))
        left = (*chain.from_iterable(map(_left, beside.extras)), *chain.from_iterable(map(_over, beside.lines)))
        carried = tuple(one for one in left if one.last >= season.start)
        season = season_on(season, 1)
    return tuple(found[1:])


def _left(extra: Extra) -> Iterator[Done]:
    """What no line took of jobs."""
    for job in extra.jobs:
        share = min(extra.share, 1.0)
        kg = None if job.kg is None else job.kg * share
        litres = None if job.l is None else job.l * share
        yield job if share == 1.0 else replace(job, kg=kg, l=litres, part=job.part * share)


def _over(line: Line) -> Iterator[Done]:
    """What the job that filled a line put on beyond it, where that is more than spreading is uneven."""
    if line.state == "more than planned" and line.unit != "times":
        job = line.parts[-1].jobs[0]
        yield replace(job, kg=line.over if line.unit == "kg" else None, l=line.over if line.unit == "l" else None)
