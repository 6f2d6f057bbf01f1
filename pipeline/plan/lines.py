"""What comes of a plan laid beside a log: lines as they stand on a day, work beyond them, and both added up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from math import fsum
from typing import Literal

from pipeline.common.grouped import grouped
from pipeline.plan.works import Done, Planned, Unit

NOTHING = 1e-9
"""An amount below this, in its unit, is what rounding left of nothing."""

Timing = Literal["in the window", "perhaps in the window", "late", "early"]
Lacking = Literal["", "amount", "material"]
State = Literal[
    "done",
    "more than planned",
    "done, amount not logged",
    "done, material not logged",
    "may be done",
    "not due yet",
    "due",
    "part done",
    "rest overdue",
    "overdue",
    "short",
    "missing",
]
"""How a line stands. "Rest overdue" is a line done in part whose window has passed; once its season is over that is
"short", and one of which nothing was done "missing". A job whose amount, material or day is not known may have done all
of it: such a line is never overdue, short or missing, and never done."""
Why = Literal["nothing planned", "planned with another material", "the plan is met", "before any window"]


def rest_of(whole: float, taken: float) -> float:
    """What is left of an amount; 0 where rounding alone leaves something."""
    left = whole - taken
    return left if left > NOTHING else 0.0


@dataclass(frozen=True)
class Part:
    """What the jobs of one day with one material do of a line.

    Attributes:
        jobs: the records.
        share: share of them that belongs here, with what went over the line.
        amount: how much of the line that is, in what the line is counted in; 0 where their day counts already by other
            records, None where it is not known.
        timing: their day beside the line's window.
        lacking: what the log lacks to say how much of the line they did.
    """

    jobs: tuple[Done, ...]
    share: float
    amount: float | None
    timing: Timing
    lacking: Lacking = ""

    @property
    def last(self) -> date:
        """The last day they can have been done on."""
        return self.jobs[0].last


@dataclass(frozen=True)
class Extra:
    """Work, or the part of it, that no line of the plan asks for.

    Attributes:
        jobs: the records, of one day, operation and material.
        share: share of them that is extra.
        unit: what it is counted in.
        amount: how much it is.
        why: why no line takes it.
        amount_logged: False where the plan counts such work by amount and the log gives none: it is counted as visits.
    """

    jobs: tuple[Done, ...]
    share: float
    unit: Unit
    amount: float
    why: Why
    amount_logged: bool = True

    @property
    def job(self) -> Done:
        """One of the records: green, operation, material and day are the same in all."""
        return self.jobs[0]


@dataclass(frozen=True)
class Line:
    """A line of the plan as it stands on a day.

    Attributes:
        planned: the line.
        unit: what it is counted in: "times" also where the plan gives no amount.
        size: how much of that it asks for.
        parts: what was done of it, by day.
        over: what the jobs that filled it put on beyond it, in ``unit``.
        state: how it stands.
        perhaps: what may have been done of it: jobs of which it is not known whether they were before the day.
        instead: the same operation with another material, which nothing else asks for.
    """

    planned: Planned
    unit: Unit
    size: float
    parts: tuple[Part, ...]
    over: float
    state: State
    perhaps: tuple[Part, ...] = ()
    instead: tuple[Extra, ...] = ()

    @cached_property
    def matched(self) -> float:
        """How much of it is done, as far as amounts are known."""
        return min(self.size, fsum(part.amount or 0.0 for part in self.parts))

    @property
    def missing(self) -> float:
        """How much of it is not known to be done."""
        return rest_of(self.size, self.matched)

    @property
    def done(self) -> bool:
        """Whether it is done beyond question, but for what it may be short."""
        return self.state in ("done", "more than planned")

    def of(self, *timings: Timing) -> float:
        """How much of it was done at such times."""
        return fsum(part.amount or 0.0 for part in self.parts if part.timing in timings)


@dataclass(frozen=True)
class Matched:
    """A plan and a log laid beside each other as of a day.

    Attributes:
        day: the day.
        lines: every line of the plan, by green, operation and window.
        extras: work that no line asks for, by green, operation and day.
        perhaps: jobs of which it is not known whether they were before the day.
    """

    day: date
    lines: tuple[Line, ...]
    extras: tuple[Extra, ...]
    perhaps: tuple[Done, ...] = ()


@dataclass(frozen=True)
class Sums:
    """Lines and extra work of one unit added up. Planned and extra together are done and missing together.

    Attributes:
        planned: what the lines ask for.
        matched: what is done of them.
        done: everything done whose amount is known.
        extra: what is done beyond the lines.
        over: of that, what went over a line by the jobs that filled it.
        missing: what is not known to be done of the lines; the five that follow and what done lines are short of add up
            to it.
        not_due_yet: of lines whose window has not begun.
        due: of lines whose window is open.
        overdue: of lines whose window has passed.
        lost: of lines whose season is over.
        unsettled: of lines that a job may have done whose amount, material or day is not known.
        short: of lines that are done all the same.
        early: what was done before its window.
        late: what was done after its window.
        lines: number of lines.
        unsettled_lines: number of lines whose missing amount is not known for that reason.
    """

    planned: float
    matched: float
    done: float
    extra: float
    over: float
    missing: float
    not_due_yet: float
    due: float
    overdue: float
    lost: float
    unsettled: float
    short: float
    early: float
    late: float
    lines: int
    unsettled_lines: int


_UNSETTLED: tuple[State, ...] = ("done, amount not logged", "done, material not logged", "may be done")


def sums(lines: Iterable[Line], extras: Iterable[Extra]) -> dict[Unit, Sums]:
    """Lines and extra work added up by unit; a unit that none of them is counted in is absent."""
    of_unit = grouped(lines, lambda line: line.unit)
    beyond = grouped(extras, lambda extra: extra.unit)
    every: tuple[Unit, ...] = ("kg", "l", "times")
    return {
        unit: _summed(of_unit.get(unit, []), beyond.get(unit, []))
        for unit in every
        if unit in of_unit or unit in beyond
    }


def _summed(lines: list[Line], extras: list[Extra]) -> Sums:
    def missing(*states: State) -> float:
        return fsum(line.missing for line in lines if line.state in states)

    over = fsum(line.over for line in lines)
    extra = over + fsum(one.amount for one in extras)
    matched = fsum(line.matched for line in lines)
    begun = [line for line in lines if line.state == "part done"]
    return Sums(
        planned=fsum(line.size for line in lines),
        matched=matched,
        done=matched + extra,
        extra=extra,
        over=over,
        missing=fsum(line.missing for line in lines),
        not_due_yet=missing("not due yet"),
        due=missing("due") + fsum(line.missing for line in begun),
        overdue=missing("overdue", "rest overdue"),
        lost=missing("short", "missing"),
        unsettled=missing(*_UNSETTLED),
        short=missing("done", "more than planned"),
        early=fsum(line.of("early") for line in lines),
        late=fsum(line.of("late") for line in lines),
        lines=len(lines),
        unsettled_lines=sum(line.state in _UNSETTLED for line in lines),
    )
