"""The lines of the seasons that an order is for, beside the log as the due list lays them beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from pipeline.indicators.base.programmes import season_on
from pipeline.plan.by_season import by_season
from pipeline.plan.lines import Line
from pipeline.plan.matching import EARLY_DAYS
from pipeline.plan.ordering.open_works import puts_on
from pipeline.plan.read import done_works, planned_works
from pipeline.plan.works import Done, Planned
from pipeline.store.store import Store
from pipeline.workspace.settings import Season


def lines_beside(
    store: Store, greens: Sequence[str] | None, day: date, seasons: tuple[Season, Season]
) -> tuple[Line, ...]:
    """The lines of seasons as they stand on a day.

    The season before is looked at as well: a window may open in it, and what was done then is not ordered again. Of
    the log only work that is planned on the green is read: no other counts for a line.

    Args:
        store: the store.
        greens: the greens; None for all.
        day: the day.
        seasons: the first and the last.
    """
    first, last = seasons
    works = planned_works(store, greens, (season_on(first, -1).start, last.end))
    done = (*_done_before(store, works, first), *done_works(store, greens, (first.start, last.end), works))
    return tuple(line for one in by_season(works, done, day, first, last) for line in one.matched.lines)


def _done_before(store: Store, works: Sequence[Planned], first: Season) -> Iterator[Done]:
    """Jobs of the season before of greens that something may have been put on of early: of others none can count."""
    opens = first.start + timedelta(days=EARLY_DAYS)
    greens = {one.green for one in works if puts_on(one) and one.first <= opens and one.last >= first.start}
    if greens:
        days = season_on(first, -1).start, first.start - timedelta(days=1)
        jobs = done_works(store, sorted(greens), days, works)
        yield from (one for one in jobs if one.last < first.start)
