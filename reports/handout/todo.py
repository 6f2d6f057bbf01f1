"""What to do on a club's greens, as printed: rows by green, what the committee decides first, and the sums."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.common.words import counted
from pipeline.first_page.actions import together
from pipeline.indicators.base.first_page import Action, FirstPage
from reports.condition.first.actions import NOTHING_DUE, ActionRow, beside, row
from reports.handout.level import HandoutLevel
from reports.page.actions import in_tens, sum_of
from reports.page.house_style import Units

COMMITTEE = "Committee"


@dataclass(frozen=True)
class GreenRows:
    """What to do on one green.

    Attributes:
        green: its name.
        label: of how many of its works the sum is.
        total: what they cost.
        rows: the works, those that the committee decides first; ``empty`` stands there where there is none.
        empty: that nothing is due.
    """

    green: str
    label: str
    total: str
    rows: tuple[ActionRow, ...]
    empty: str


def told(of: FirstPage) -> tuple[Action, ...]:
    """Every action of a first page with its cost as printed, in the order of that page."""
    return tuple(in_tens(of.actions))


def decided(every: Sequence[Action]) -> tuple[Action, ...]:
    """Those that the committee decides."""
    return tuple(one for one in every if one.who == COMMITTEE)


def green_rows(green: str, of: FirstPage, level: HandoutLevel, currency: str, units: Units) -> GreenRows:
    """What to do on a green.

    Args:
        green: its name.
        of: the first page of its report.
        level: how closely the handout is set.
        currency: of all money.
        units: units of display.
    """
    every = told(of)
    label, total = sum_of(every, currency)
    shown = [beside(one, level.found) for one in _rows(every, level)]
    rows = tuple(row(one, level.first, currency, units) for one in shown)
    return GreenRows(green, label, total, rows, "" if rows else NOTHING_DUE)


def _answers(one: Action, level: HandoutLevel) -> bool:
    """Whether it answers a finding that is told."""
    return bool(beside(one, level.found).findings)


def _rows(every: Sequence[Action], level: HandoutLevel) -> Iterator[Action]:
    """The committee's first, then the others; the greenkeeper's routine as far as there is room, the dearest of it."""
    yield from decided(every)
    others = [one for one in every if one.who != COMMITTEE]
    routine = [one for one in others if one.who == "Greenkeeper" and not _answers(one, level) and not one.waits]
    dearest = sorted(routine, key=lambda one: -(one.cost or 0))
    left = dearest[level.routine - 1 :] if len(routine) > level.routine else []
    for one in others:
        if not any(one is other for other in left):
            yield one
    if left:
        jobs = [replace(one, lines=one.lines or one.as_this_season) for one in left]
        yield together(jobs, f"And {counted(len(left), 'more', 'more')} in the report")
