"""What a due list opens with: what is overdue and due this week on all greens together, work by work."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.common.grouped import grouped
from pipeline.common.words import listed
from pipeline.plan.due_list import DueItem, DueList
from reports.page import remarks, text

WEEK = timedelta(days=7)
MOST_ROWS = 40
"""Works of one group that are printed together; the rest stands under its greens."""
MOST_GREENS = 30
"""Greens named beside one work."""


@dataclass(frozen=True)
class LeadRow:
    """A work that several greens ask for: what, on which greens how much, and between which days."""

    what: str
    where: str
    days: str


@dataclass(frozen=True)
class LeadGroup:
    """What is alike in how soon it is to be done."""

    heading: str
    late: bool
    rows: tuple[LeadRow, ...]
    more: str


def lead(done: DueList) -> tuple[LeadGroup, ...]:
    """What is overdue, due now and due within a week of the last day on record; else what comes first after that."""
    soon = done.day + WEEK
    tests: tuple[tuple[str, Callable[[DueItem], bool]], ...] = (
        ("Overdue", lambda item: item.due.overdue),
        ("Look first whether it is done already", _doubtful),
        ("Due now", lambda item: _open_on(item, done.day)),
        (f"Opens by {text.day(soon)}", lambda item: _open_on(item, soon)),
    )
    left, found = list(done.items), []
    for heading, belongs in tests:
        own = [item for item in left if belongs(item)]
        left = [item for item in left if not belongs(item)]
        if own:
            found.append(_group(heading, own, late=heading == "Overdue"))
    return tuple(found) or tuple(_first_after(left))


def nothing_soon(done: DueList) -> str:
    """That nothing is due this week; "" where something is."""
    soon = done.day + WEEK
    if any(item.due.overdue or _doubtful(item) or _open_on(item, soon) for item in done.items):
        return ""
    return f"Nothing is overdue, and nothing falls due by {text.day(soon)}."


def _doubtful(item: DueItem) -> bool:
    return item.due.state == "not known"


def _open_on(item: DueItem, day: date) -> bool:
    """Whether the first day of its window, or else the day it is asked for by, has come on a day."""
    start = _start(item)
    return item.due.state == "due" or (start is not None and start <= day)


def _start(item: DueItem) -> date | None:
    return item.due.first or item.due.day


def _first_after(left: Sequence[DueItem]) -> Iterator[LeadGroup]:
    """What comes up to the end of the week in which the first work opens."""
    opens = [start for item in left if item.due.operation and (start := _start(item))]
    if not opens:
        return
    end = min(opens) + WEEK - timedelta(days=1)
    own = [item for item in left if (start := _start(item)) and start <= end]
    yield _group(f"First to come, to {text.day(end)}", own)


def _group(heading: str, items: Sequence[DueItem], *, late: bool = False) -> LeadGroup:
    ordered = sorted(items, key=lambda item: (_start(item) or date.max, item.due.what, item.green))
    rows = [_row(same) for same in grouped(ordered, lambda item: item.due.what).values()]
    more = text.count(len(rows) - MOST_ROWS, "further work") + " under the greens." if len(rows) > MOST_ROWS else ""
    return LeadGroup(heading, late, tuple(rows[:MOST_ROWS]), more)


def _row(same: Sequence[DueItem]) -> LeadRow:
    amounts = grouped(same, lambda item: remarks.quantity_of(item.due.quantity, 200))
    each = " each" if same[0].due.unit else ""
    where = [f"{_greens(some)}: {much}{each if len(some) > 1 else ''}" for much, some in amounts.items()]
    return LeadRow(text.clean(same[0].due.what, 120), text.sentence("; ".join(where)), _days(same))


def _greens(items: Sequence[DueItem]) -> str:
    names = sorted({text.clean(item.green, 24) for item in items})
    left = len(names) - MOST_GREENS
    return listed([*names[:MOST_GREENS], *([f"{left} more"] if left > 0 else [])])


def _days(same: Sequence[DueItem]) -> str:
    """The days of all windows together; of what has none, by when the first of them is asked for."""
    firsts = [item.due.first for item in same if item.due.first]
    lasts = [item.due.day for item in same if item.due.day]
    if len(firsts) == len(lasts) == len(same):
        return text.days(min(firsts), max(lasts))
    bys = list(dict.fromkeys(remarks.by_when(item.due.by, 80) for item in same))
    return f"{text.sentence(bys[0]).removesuffix('.')}{' and later' if len(bys) > 1 else ''}"
