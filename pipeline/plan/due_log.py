"""Programmes of greens beside their logs, read out of the frames of many at once (grain: green)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from pipeline.common.grouped import grouped
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.programmes import season_on
from pipeline.plan.matching import EARLY_DAYS
from pipeline.plan.read import done, jobs_of, planned_of
from pipeline.plan.together import Together
from pipeline.plan.works import Done, Planned
from pipeline.workspace.settings import Season


@dataclass(frozen=True)
class Programme:
    """What programmes ask of a green, and what its log holds beside that.

    Attributes:
        planned: their lines, of all seasons.
        done: jobs that may count for their lines of the season in hand or later, with those that decide which of them
            earlier lines take (:func:`may_count`).
        days: first and last day on which each job of the season in hand or later, of whatever work, can have been done,
            each once.
    """

    planned: Sequence[Planned] = ()
    done: Sequence[Done] = ()
    days: Sequence[tuple[date, date]] = ()


NO_PROGRAMME = Programme()
Reach = tuple[int, str, date, date]
"""Number of a green, a work, and the days from which jobs of it may count for lines of the season in hand or later, and
for lines of the season before as well."""


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
    in_hand = [season_holding(until[of], one.last_day) for of, one in asked]
    greens = [one for _, one in asked]
    jobs = jobs_of(greens, [(season_on(season, -1).start, date.max) for season in in_hand])
    rows = Together(greens).numbered(one.planned for one in greens)
    lines = grouped(planned_of(rows), lambda line: line.green)
    own = [lines[one.green["green"]] for one in greens]
    counting = done(may_count(jobs, [reach for at, some in enumerate(own) for reach in reaches(at, some, in_hand[at])]))
    days: dict[int, list[tuple[date, date]]] = {}
    begins = pl.Series([season.start for season in in_hand], dtype=pl.Date)
    of_season = jobs.select("of", "date", "last").filter(pl.col("last") >= begins.gather(jobs["of"]))
    for at, first, last in of_season.unique().iter_rows():
        days.setdefault(at, []).append((first, last))
    for at, (of, _) in enumerate(asked):
        found[of] = Programme(own[at], counting.get(at, ()), days.get(at, ()))
    return found


def reaches(number: int, lines: Sequence[Planned], in_hand: Season) -> Iterator[Reach]:
    """How early jobs of each work count for a green's lines; nothing of a work that no line from this season on is of.

    Args:
        number: of the green.
        lines: of the green, of all seasons.
        in_hand: the season of the last day on record.
    """
    before = season_on(in_hand, -1).start
    for work, some in grouped((line for line in lines if line.last >= before), lambda line: line.operation).items():
        if own := [line.first for line in some if line.last >= in_hand.start]:
            yield number, work, _early(min(own)), _early(min(line.first for line in some))


def _early(first: date) -> date:
    """The first day on which a job counts for a line whose window opens on a day."""
    return first - timedelta(days=EARLY_DAYS)


def may_count(jobs: pl.DataFrame, reaching: Sequence[Reach]) -> pl.DataFrame:
    """Of the jobs of greens those that decide how lines of the season in hand, or later ones, stand (grain: job).

    Where a job of a work is late enough to count for one of these, every job that may count for a line of the season
    before is kept as well, for what those lines take is not left; else none of that work is.

    Args:
        jobs: with ``of``, ``operation`` and ``last``, as :func:`jobs_of` has them.
        reaching: of each green and work how early a job counts.
    """
    schema = {"of": pl.UInt32, "operation": pl.String, "counts": pl.Date, "decides": pl.Date}
    spans = pl.DataFrame(reaching, schema=schema, orient="row")
    rows = jobs.join(spans, on=["of", "operation"], how="inner", maintain_order="left")
    reached = pl.col("last").max().over("of", "operation") >= pl.col("counts")
    return rows.filter(reached & (pl.col("last") >= pl.col("decides"))).drop("counts", "decides")
