"""When a green is closed within the days that a programme sets for works on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from pipeline.indicators.base.first_page import Closed
from pipeline.plan.due_list import DueItem
from pipeline.plan.market import Kept


def closings(green: str, items: Sequence[DueItem], kept: Iterable[Kept]) -> Iterator[Closed]:
    """The closed days of a green that fall within the days set for works, by day, each with these works.

    What a target asks of a season has no days of its own, and what is overdue has none left: they name none.

    Args:
        green: its code.
        items: what is due on it.
        kept: days on which greens are closed or played on.
    """
    own = [one for one in kept if one.occasion == "closed" and (one.greens is None or green in one.greens)]
    for days in sorted(own, key=lambda one: (one.first, one.last, one.title)):
        works = dict.fromkeys(one.due.operation for one in items if one.due.operation and _meets(one, days))
        if works:
            yield Closed(days.first, days.last, days.title, tuple(works))


def _meets(one: DueItem, days: Kept) -> bool:
    first, last = one.due.first, one.due.day
    return first is not None and last is not None and not one.due.overdue and first <= days.last and days.first <= last
