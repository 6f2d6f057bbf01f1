"""Planned against done as of a day: which job counts for which line of the plan, and what that leaves of either.

Jobs are taken by the last day they can have been done on, so that a later day only adds to what an earlier one shows.
What the jobs of one day put on goes to open lines whose window holds the day, those that name the material first, then
the one that ends first; what is left to lines whose window has passed, then to lines whose window is about to begin;
the rest is extra. For one material, taking the window that ends first leaves nothing unmatched that another order could
have matched within the windows (Glover 1967, Maximum matching in a convex bipartite graph, Naval Research Logistics
Quarterly 14: 313–316). Where lines that name a material stand beside lines that leave it open that does not hold: a
line that names it is served first, as a reader would, even where an open line ends sooner.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from math import fsum, inf

from pipeline.common.grouped import grouped
from pipeline.plan.lines import NOTHING, Extra, Lacking, Line, Matched, Part, State, Timing, Why, rest_of
from pipeline.plan.works import Done, Planned, Unit

SHORT = 0.1
"""A line is done when this share of it or less is missing: spreaders and part bags (common practice, no source)."""
OVER = 0.1
"""What goes over a line by this share of it or less stays with it, and does not count for another (same)."""
EARLY_DAYS = 14
"""Days before its window in which work counts for a line, as early (common practice, no source)."""
ON_SPOTS = frozenset({"turfing", "moss_treatment", "plant_protection", "levelling", "irrigation", "inspection"})
"""Operations done where they are needed: a visit is one, however small the part (common practice, no source)."""
_SETTLED: dict[str, State] = {"amount": "done, amount not logged", "material": "done, material not logged"}


@dataclass(frozen=True)
class Allowance:
    """How far work may be from the plan and still count for it.

    Attributes:
        short: share of a line that may be missing of one that is done.
        over: share of a line that may go over it without counting for another.
        early_days: days before its window in which work counts for a line.
        late_days: days after its window in which it does; None for any number.
    """

    short: float = SHORT
    over: float = OVER
    early_days: int = EARLY_DAYS
    late_days: int | None = None


CUSTOMARY = Allowance()


def matched(
    planned: Iterable[Planned],
    done: Iterable[Done],
    day: date,
    ends: date | None = None,
    allowed: Allowance = CUSTOMARY,
) -> Matched:
    """What is planned beside what was done, as of the end of a day.

    - A job counts for lines of its green and operation; where a line names a material, that must be the job's. Another
      material leaves the line missing and the job extra, and the line names it under ``instead``.
    - Each job counts once: an amount is split over lines, and no line gets what another has.
    - Lines are counted in kg, l or times. A time is a day on which it was done: jobs of one day on parts of the green
      add their parts, and two on the whole green are one time, as two passes are; of work on spots any part is one. Two
      materials in one tank are one time for a line that leaves the material open. Of jobs known to a month only, each
      record is a time of its own.
    - A line without a known size is counted in the times it is to be done.
    - A job without a known amount does not count as zero of a line in kg or l, nor as all of it: the line is "done,
      amount not logged". So is a line in kg where the log has litres. A job that names no material leaves a line that
      names one "done, material not logged". Each such job is set against a line of its own as long as there is one.
    - A job that may be before or after the day counts from the last day it can have been done on; until then the line
      that it would count for "may be done". A job known to a month that overlaps a window counts as within it.

    Args:
        planned: lines of one season, of one green or many.
        done: jobs of that season on these greens; those after the day are left out here.
        day: the day it is asked for.
        ends: last day of the season; from the day after nothing is due any more, and jobs count no longer. None where
            the season is not over.
        allowed: how far work may be from the plan.
    """
    until = day if ends is None else min(day, ends)
    over = ends is not None and day > ends
    lines = grouped(sorted(planned, key=_line_key), lambda one: (one.green, one.operation))
    jobs = grouped(
        sorted((job for job in done if job.first <= until), key=_job_key), lambda one: (one.green, one.operation)
    )
    stood: list[Line] = []
    extras: list[Extra] = []
    for key in sorted({*lines, *jobs}):
        log = _Log([_Open.of(one) for one in lines.get(key, [])], allowed)
        of_key = jobs.get(key, [])
        log.take(job for job in of_key if job.last <= until)
        hoped = log
        if later := [job for job in of_key if job.last > until]:
            hoped = log.copy()
            hoped.take(later)
        extras += log.extras
        stood += (one.stands(after, day, over, log) for one, after in zip(log.lines, hoped.lines, strict=True))
    unsure = tuple(job for key in sorted(jobs) for job in jobs[key] if job.last > until)
    return Matched(day, tuple(stood), tuple(extras), unsure)


def _line_key(one: Planned) -> tuple[object, ...]:
    """A total order of lines, so that the order they are given in changes nothing."""
    sizes = tuple(-1.0 if size is None else size for size in (one.size, one.depth_mm, one.passes, one.hours, one.times))
    told = (one.programme, one.basis, one.unsized, one.place is not None, one.place)
    return (one.green, one.operation, one.last, one.first, one.material, one.unit, *sizes, *told)


def _job_key(one: Done) -> tuple[object, ...]:
    """By the day a job counts from, in a total order, so that the order jobs are given in changes nothing."""
    sizes = (*_logged(one), one.kg or 0.0, one.l or 0.0, one.part, -1.0 if one.hours is None else one.hours)
    told = (-1 if one.cost is None else one.cost, one.unsure, one.place is not None, one.place)
    return (one.last, one.first, one.material, *sizes, *told)


def _logged(job: Done) -> tuple[bool, bool]:
    """Whether the log gives no mass and no volume of a job."""
    return job.kg is None, job.l is None


@dataclass
class _Visit:
    """The jobs of one day, operation and material on one green that log the same sorts of amount.

    Attributes:
        jobs: the records.
        amounts: what they come to in each unit; a unit in which they give none is absent.
        taken: what of that lines have taken, by the unit these are counted in.
        placed: whether what was left of them stays with the line that they filled.
    """

    jobs: tuple[Done, ...]
    amounts: dict[Unit, float]
    taken: dict[Unit, float] = field(default_factory=dict)
    placed: bool = False

    @property
    def left(self) -> float:
        """Share of the jobs that is still to be placed."""
        if self.placed or not self.taken:
            return 0.0 if self.placed else 1.0
        return max(0.0, 1.0 - sum(one / self.amounts[unit] for unit, one in self.taken.items()))

    def rest(self, unit: Unit) -> float:
        """What is still to be placed of them in a unit, exactly where lines of no other unit have taken any."""
        whole = self.amounts.get(unit, 0.0)
        if self.placed or not self.taken:
            return 0.0 if self.placed else whole
        elsewhere = sum(one / self.amounts[other] for other, one in self.taken.items() if other != unit)
        return rest_of(whole, self.taken.get(unit, 0.0) + whole * elsewhere)

    def take(self, unit: Unit, amount: float) -> None:
        """Note what a line has taken."""
        self.taken[unit] = self.taken.get(unit, 0.0) + amount

    @classmethod
    def of(cls, jobs: list[Done]) -> _Visit:
        parts = fsum(job.part for job in jobs)
        times = max(1.0, parts) if jobs[0].operation in ON_SPOTS else parts
        amounts: dict[Unit, float] = {"times": min(_days(jobs[0]), times)}
        no_kg, no_l = _logged(jobs[0])
        if not no_kg:
            amounts["kg"] = fsum(job.kg or 0.0 for job in jobs)
        if not no_l:
            amounts["l"] = fsum(job.l or 0.0 for job in jobs)
        return cls(tuple(jobs), amounts)

    @property
    def material(self) -> str:
        return self.jobs[0].material

    def timing(self, line: Planned, allowed: Allowance) -> tuple[int, Timing] | None:
        """When it was beside a line's window, and in which turn it counts for it; None where it does not."""
        first, last = self.jobs[0].first, self.jobs[0].last
        if first <= line.last and last >= line.first:
            inside = line.first <= first and last <= line.last
            return 0, "in the window" if inside else "perhaps in the window"
        if first > line.last:
            late = allowed.late_days is None or (first - line.last).days <= allowed.late_days
            return (1, "late") if late else None
        return (2, "early") if (line.first - last).days <= allowed.early_days else None


def _days(job: Done) -> int:
    """Days on which a job can have been done."""
    return (job.last - job.first).days + 1


@dataclass
class _Open:
    """A line while jobs are counted for it; ``left`` of it is open."""

    line: Planned
    unit: Unit
    size: float
    left: float
    parts: list[Part] = field(default_factory=list)
    over: float = 0.0
    lacking: Lacking = ""

    @classmethod
    def of(cls, line: Planned) -> _Open:
        assert line.size is None or line.size > 0, f"a line that asks for nothing: {line}"
        assert line.first <= line.last, f"a window that ends before it begins: {line}"
        if line.size is None:
            least = line.times or 1.0  # how often may not be said: at least once
            return cls(line, "times", least, least)
        return cls(line, line.unit, line.size, line.size)

    @property
    def open(self) -> bool:
        return self.left > NOTHING

    def exceed(self, visit: _Visit) -> None:
        """Leave with the line what a visit that filled it did beyond it."""
        self.over += visit.rest(self.unit)
        self.parts[-1] = replace(self.parts[-1], share=self.parts[-1].share + visit.left)
        visit.placed = True

    def stands(self, hoped: _Open, day: date, over: bool, log: _Log) -> Line:
        """The line as it stands; ``hoped`` is the same with the jobs that may have been before the day."""
        perhaps = tuple(hoped.parts[len(self.parts) :])
        state = self._state(bool(perhaps), day, over, log.allowed)
        instead = () if state in ("done", "more than planned") else log.instead_of(self.line)
        return Line(self.line, self.unit, self.size, tuple(self.parts), self.over, state, perhaps, instead)

    def _state(self, perhaps: bool, day: date, over: bool, allowed: Allowance) -> State:
        if self.left <= allowed.short * self.size + NOTHING:
            return "more than planned" if self.over > allowed.over * self.size + NOTHING else "done"
        if self.lacking:
            return _SETTLED[self.lacking]
        if perhaps:
            return "may be done"
        return self._to_do(day, over)

    def _to_do(self, day: date, over: bool) -> State:
        begun = self.size - self.left > NOTHING
        if over:
            return "short" if begun else "missing"
        if day > self.line.last:
            return "rest overdue" if begun else "overdue"
        if begun:
            return "part done"
        return "due" if day >= self.line.first else "not due yet"


@dataclass
class _Day:
    """The visits of one day, one operation and one green, as far as they count as times.

    Attributes:
        room: times that the day can still count for lines that leave the material open: it is one visit.
        rooms: times that it can still count with each material.
        lines: the line that the day last counted for, and when that was beside its window: with each material, and
            under "" of those that leave it open.
    """

    days: int
    room: float = 0.0
    rooms: dict[str, float] = field(default_factory=dict)
    lines: dict[str, tuple[_Open, Timing]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.room = float(self.days)

    def most(self, material: str, named: bool) -> float:
        """How many times it can still count with a material, for lines that name it or for lines that leave it open."""
        most = self.rooms.setdefault(material, float(self.days))
        return most if named else min(most, self.room)

    def take(self, material: str, named: bool, times: float) -> None:
        """Take off what it counted."""
        self.rooms[material] = self.most(material, True) - times
        if not named:
            self.room -= times


class _Log:
    """Lines of one green and operation, and what jobs, day by day, do of them."""

    def __init__(self, lines: list[_Open], allowed: Allowance, extras: Iterable[Extra] = ()) -> None:
        self.lines = lines
        self.allowed = allowed
        self.extras = list(extras)

    def copy(self) -> _Log:
        return _Log([replace(one, parts=list(one.parts)) for one in self.lines], self.allowed, self.extras)

    def take(self, jobs: Iterable[Done]) -> None:
        """Count jobs, which come by day, for the lines."""
        for of_day in grouped(jobs, lambda job: (job.last, job.first)).values():
            day = _Day(_days(of_day[0]))
            for same in grouped(of_day, lambda job: (job.material, _logged(job))).values():
                self._place(_Visit.of(same), day)

    def instead_of(self, line: Planned) -> tuple[Extra, ...]:
        """Extra work with another material in the window of the line or near it."""
        if not line.material or not self.extras:
            return ()
        others = (one for one in self.extras if one.job.material not in ("", line.material))
        near = replace(self.allowed, late_days=self.allowed.early_days)
        return tuple(one for one in others if _Visit.of(list(one.jobs)).timing(line, near))

    def _turns(self, visit: _Visit, unnamed: bool = False) -> Iterator[tuple[_Open, Timing]]:
        """Open lines a visit can count for, in their turn; with ``unnamed`` those whose material it may have been."""
        found = []
        for number, one in enumerate(self.lines):
            fits = bool(one.line.material) if unnamed else one.line.material in ("", visit.material)
            if fits and one.open and (when := visit.timing(one.line, self.allowed)):
                turn, timing = when
                rank = (turn, not one.line.material, one.line.last, one.line.first, number)
                found.append((rank, one, timing))
        for _, one, timing in sorted(found, key=lambda entry: entry[0]):
            yield one, timing

    def _place(self, visit: _Visit, day: _Day) -> None:
        filled = self._fill(visit, day)
        if visit.left <= NOTHING or self._touch(visit):
            return
        again = day.lines.get(visit.material) or day.lines.get("")
        if filled is not None:
            filled.exceed(visit)
        elif again is not None and self._unit(visit) == "times" and self._counted_already(visit, day):
            one, timing = again
            one.parts.append(Part(visit.jobs, visit.left, 0.0, timing))
        else:
            self._beyond(visit, day)

    def _fill(self, visit: _Visit, day: _Day) -> _Open | None:
        """Count the visit for lines in their turn: the line it filled last, where it filled any and some is left."""
        filled = None
        for one, timing in self._turns(visit):
            named, timed = bool(one.line.material), one.unit == "times"
            taken = min(visit.rest(one.unit), one.left, day.most(visit.material, named) if timed else inf)
            if taken <= NOTHING:
                continue
            one.left = rest_of(one.left, taken)
            one.parts.append(Part(visit.jobs, taken / visit.amounts[one.unit], taken, timing))
            visit.take(one.unit, taken)
            if timed:
                day.take(visit.material, named, taken)
                day.lines[one.line.material] = one, timing
            if one.open:
                continue  # nothing is left of the visit, or of its day
            filled = one
            if visit.rest(one.unit) <= self.allowed.over * one.size + NOTHING:
                one.exceed(visit)
        return filled

    def _counted_already(self, visit: _Visit, day: _Day) -> bool:
        """Whether its day counts already, by another record or another material, for the lines it could be of."""
        named = all(one.line.material for one in self._of_material(visit))
        return day.most(visit.material, named) <= NOTHING

    def _touch(self, visit: _Visit) -> bool:
        """Set a visit that lacks amount or material against the first line it may be of, if there is one.

        The first that no such visit is set against yet comes before those that have one.
        """
        turns = [turn for turn in self._turns(visit) if turn[0].unit not in visit.amounts]
        lacking: Lacking = "amount"
        if not turns and not visit.material:
            turns, lacking = list(self._turns(visit, unnamed=True)), "material"
        fresh = [turn for turn in turns if not turn[0].lacking]
        for one, timing in (fresh or turns)[:1]:
            one.lacking = one.lacking or lacking
            one.parts.append(Part(visit.jobs, visit.left, None, timing, lacking))
            return True
        return False

    def _of_material(self, visit: _Visit) -> list[_Open]:
        return [one for one in self.lines if one.line.material in ("", visit.material)]

    def _unit(self, visit: _Visit) -> Unit:
        """What a visit is counted in beyond the plan: as the lines it could be of, else as it was logged."""
        own: tuple[Unit, ...] = tuple(one.unit for one in self._of_material(visit))
        logged: tuple[Unit, ...] = ("kg", "l", "times")
        return next(unit for unit in (*own, *logged) if unit in visit.amounts)

    def _beyond(self, visit: _Visit, day: _Day) -> None:
        """Put down what is left of a visit as extra."""
        of_material = self._of_material(visit)
        why: Why = "nothing planned"
        if of_material:
            why = "before any window" if any(one.open for one in of_material) else "the plan is met"
        elif self.lines:
            why = "planned with another material"
        unit = self._unit(visit)
        amount = visit.rest(unit)
        if unit == "times":
            named = all(one.line.material for one in self.lines)
            amount = min(amount, day.most(visit.material, named))
            day.take(visit.material, named, amount)
        logged = unit != "times" or all(one.unit == "times" for one in self.lines)
        self.extras.append(Extra(visit.jobs, visit.left, unit, amount, why, logged))
