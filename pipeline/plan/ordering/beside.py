"""The lines of the seasons that an order is for, beside the log as the due list lays them beside it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta

from pipeline.common.grouped import grouped
from pipeline.common.words import counted
from pipeline.indicators.base.green_records import LATE_LOG_DAYS
from pipeline.indicators.base.programmes import season_on
from pipeline.plan.by_season import by_season
from pipeline.plan.lines import Line
from pipeline.plan.matching import EARLY_DAYS
from pipeline.plan.ordering.open_works import greens_named, places_named, puts_on
from pipeline.plan.purchase.parts import Question
from pipeline.plan.read import done_works, greens_logged, planned_works
from pipeline.plan.works import Done, Planned
from pipeline.store.store import Store
from pipeline.workspace.settings import Season


def lines_beside(
    store: Store, greens: Sequence[str] | None, day: date, seasons: tuple[Season, Season]
) -> tuple[Line, ...]:
    """The lines of seasons as they stand on a day.

    The season before is looked at as well: a window may open in it, and what was done then is not ordered again.

    Args:
        store: the store.
        greens: the greens; None for all.
        day: the day.
        seasons: the first and the last.
    """
    first, last = seasons
    works = planned_works(store, greens, (season_on(first, -1).start, last.end))
    done = (*_done_before(store, works, first), *done_works(store, greens, (first.start, last.end)))
    return tuple(line for one in by_season(works, done, day, first, last) for line in one.matched.lines)


def unlogged(store: Store, lines: Sequence[Line], day: date, season_of: Callable[[date], Season]) -> Iterator[Question]:
    """That works due by a day are asked for whole, of greens of which no job of their season is logged.

    The due list says of them that it is not known whether they are done (``pipeline.plan.due_planned``).

    Args:
        store: the store.
        lines: as they stand on the day.
        day: the day.
        season_of: the season that a day lies in.
    """
    open_ = [
        line
        for line in lines
        if line.state in ("due", "overdue") and line.planned.material and line.planned.given_up is None
    ]
    for season, own in grouped(open_, lambda line: season_of(line.planned.last)).items():
        logged = greens_logged(store, season.start, season.end)
        if (day - season.start).days <= LATE_LOG_DAYS:  # the season's jobs may not be typed in yet, where there are any
            logged = greens_logged(store, date.min, date.max)
        silent = [line for line in own if line.planned.green not in logged]
        for material, some in grouped(silent, lambda line: line.planned.material).items():
            yield _not_known(some, material, season.name)


def _not_known(some: list[Line], material: str, season: str) -> Question:
    works = f"{counted(len(some), 'work')} due by now {'was' if len(some) == 1 else 'were'}"
    return Question(
        f"{material}: no job of season {season} is logged on {greens_named(some)}, so that it is not known whether "
        f"{works} done: all of it is asked for here. Load the log, or say 0 times in the programme.",
        places_named(some),
    )


def _done_before(store: Store, works: Sequence[Planned], first: Season) -> Iterator[Done]:
    """Jobs of the season before of greens that something may have been put on of early: of others none can count."""
    opens = first.start + timedelta(days=EARLY_DAYS)
    greens = {one.green for one in works if puts_on(one) and one.first <= opens and one.last >= first.start}
    if greens:
        jobs = done_works(store, sorted(greens), (season_on(first, -1).start, first.start - timedelta(days=1)))
        yield from (one for one in jobs if one.last < first.start)
