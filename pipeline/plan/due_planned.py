"""What a programme asks of a green next: its lines that are due, overdue or not due yet, in words and numbers.

Nothing that was done is asked for. A line that a job may have done, whose amount, material or day is not known, is not
called overdue: it is said what may have done it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from pipeline.agronomy.dressing import packs
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import counted, listed, long_date, often, period, window, work_with
from pipeline.indicators.base.green_records import LATE_LOG_DAYS, GreenRecords
from pipeline.indicators.base.green_season import Due
from pipeline.plan.basis import in_sources
from pipeline.plan.by_season import SeasonMatched, by_season
from pipeline.plan.due_log import Programme, programmes, season_holding
from pipeline.plan.entries import done_in
from pipeline.plan.lines import Extra, Line
from pipeline.plan.works import Done, Planned
from pipeline.workspace.settings import Season
from schemas.codes import code_list

KG_OF_T = 1000.0
TO_DO = ("due", "part done", "not due yet", "overdue", "rest overdue")
"""States of lines that something is still to be done of, beyond question."""
MAY_BE_DONE = ("done, amount not logged", "done, material not logged", "may be done")
MOST_NAMED = 2
"""Jobs named that may have done a line; more are counted."""


@dataclass(frozen=True)
class PlannedDue:
    """A line of a programme of which something is, or may be, still to be done.

    Attributes:
        line: the line as it stands.
        season: the season it is of.
        log: what is known of that season's log.
        since: jobs of a line that goes on though it was done, for how often is not said; None of any other.
    """

    line: Line
    season: Season
    log: Log
    since: Sequence[Done] | None = None

    @cached_property
    def due(self) -> Due:
        """What is to be done, in words and numbers: made when it is first asked for, for a list shows few of them."""
        made = _due(self.line, self.log)
        return made if self.since is None else _with_logged(made, self.line, self.since, self.log.day)

    @property
    def doubted(self) -> bool:
        """Whether it is not known if it is still to be done."""
        return self.line.state != "not due yet" and bool(_doubt(self.line, self.log))

    @property
    def left(self) -> Planned:
        """What is left of it, as a work: what is done takes its share of times and hours with it."""
        work, share = self.line.planned, self.line.missing / self.line.size
        hours = None if work.hours is None else work.hours * share
        size = None if work.size is None else work.size * share
        return replace(work, size=size, hours=hours, times=None if work.times is None else work.times * share)


@dataclass(frozen=True)
class Log:
    """What is known of a season's log: its last day, whether it says nothing at all, and rejected rows of jobs."""

    day: date
    last_job: date | None
    silent: bool
    rejected: int


def planned_due(
    records: GreenRecords, until: Season, ahead: date | None = None, own: Programme | None = None
) -> tuple[PlannedDue, ...]:
    """Lines of the green's programmes of which something is still to be done, by season and window.

    They are of the season of the last day on record and those after it up to one, and of later ones where their window
    opens before it ends: an autumn renovation that opens in September is of the season that begins in October. Of a
    season that is over nothing is due any more. Everything logged counts, whatever day a document speaks of.

    Args:
        records: of the green, with everything logged.
        until: the last season looked at; that of the last day on record, where it lies before that.
        ahead: a later day, by which windows of later seasons may open.
        own: its programmes beside its log, where they were read out with those of other greens.
    """
    if not records.planned.height:
        return ()
    (own,) = programmes([records], [until]) if own is None else (own,)
    day = records.last_day
    first = season_holding(until, day)
    last = until if until.start > first.start else first
    opens = max(last.end, ahead or last.end)
    last = _that_opens_by(own, last, opens)
    beside = by_season(own.planned, own.done, day, first, last)
    found = (line for one in beside for line in _of_season(one, own, records))
    return tuple(line for line in found if line.line.planned.first <= opens)


def _that_opens_by(own: Programme, last: Season, opens: date) -> Season:
    """The last season of a line whose window opens by a day, where it is later than one."""
    ends = [one.last for one in own.planned if one.first <= opens and one.last > last.end]
    return season_holding(last, max(ends)) if ends else last


def _of_season(one: SeasonMatched, own: Programme, records: GreenRecords) -> Iterator[PlannedDue]:
    log = _log(one.season, own, records)
    for line in one.matched.lines:
        if line.planned.given_up is not None:
            continue
        if line.state in (*TO_DO, *MAY_BE_DONE):
            yield PlannedDue(line, one.season, log)
        elif _goes_on(line, log.day):
            yield PlannedDue(line, one.season, log, own.done)


def _goes_on(line: Line, day: date) -> bool:
    """Whether a line is open that one job would else have done: how often is not said, and its window is open still."""
    return line.planned.times is None and line.done and line.planned.last >= day


def _with_logged(due: Due, line: Line, done: Sequence[Done], day: date) -> Due:
    """What is due of such a line, with how often it is logged in its window so far."""
    work = line.planned
    times = done_in([job for job in done if job.green == work.green], work.operation, work.first, day)
    return replace(due, quantity=AmountText(due.quantity, f", {_times(times)} logged since {long_date(work.first)}"))


def _log(season: Season, programme: Programme, records: GreenRecords) -> Log:
    """What is known of the log of a season, by the last day on record."""
    day = records.last_day
    own = [last for first, last in programme.days if first <= season.end and last >= season.start]
    rows = [row for row in records.rejected.to_dicts() if row["kind"] == "job"] if records.rejected.height else []
    rejected = sum(
        (row["first"] or season.start) <= season.end and (row["last"] or season.end) >= season.start for row in rows
    )
    never = records.first_logged is None
    begun = (day - season.start).days > LATE_LOG_DAYS
    return Log(day, max(own, default=None), not own and not rejected and (begun or never), rejected)


def _due(line: Line, log: Log) -> Due:
    work = line.planned
    label = code_list("operation")[work.operation].label
    doubt = "" if line.state == "not due yet" else _doubt(line, log)
    late = line.state in ("overdue", "rest overdue")
    overdue = late and not doubt
    unit, part = _unit(work)
    known = work.size is not None and not doubt
    low = line.missing * part if known and unit else None
    return Due(
        work_with(label, work.material),
        AmountText(f"not known: {doubt}, planned: ", _quantity(line)) if doubt else _quantity(line),
        _by(work, open_now=line.state != "not due yet" and not doubt, passed=overdue),
        AmountText(_why(work), *_beside(line, log, late=late)),
        work.last,
        low,
        low,
        unit,
        line.matched * part if known and unit else None,
        overdue,
        "as delivered" if unit == "t" else "",
        work.operation,
        state="not known" if doubt else "overdue" if overdue else "due" if work.first <= log.day else "not due yet",
        first=work.first,
        material=work.material,
        lacking=work.unsized if unit else "",
    )


def _unit(work: Planned) -> tuple[str, float]:
    """The unit a line is added up in, and what turns its own into it; "" for what is counted in times."""
    if work.unit == "times":
        return "", 1.0
    return ("t", 1 / KG_OF_T) if work.unit == "kg" and work.operation == "top_dressing" else (work.unit, 1.0)


def _by(work: Planned, *, open_now: bool, passed: bool) -> str:
    if passed:
        return f"by {long_date(work.last)} (passed)"
    return f"by {long_date(work.last)}" if open_now else window(work.first, work.last)


def _doubt(line: Line, log: Log) -> str:
    """Why it is not known whether a line is still to be done; "" where it is known."""
    if line.state == "done, amount not logged":
        return f"{_jobs(line)} may have done all of it: no amount is logged"
    if line.state == "done, material not logged":
        return f"{_jobs(line)} may have done it: no material is logged"
    if line.state == "may be done":
        return f"{_jobs(line)} may have done it: the day is not known"
    if log.silent:
        return "no job of the season is logged"
    if line.instead and line.state in ("overdue", "rest overdue"):
        return f"{_others(line.instead)} may have been put on in its place"
    return ""


def _jobs(line: Line) -> str:
    """The jobs that may have done a line, in words."""
    parts = [part for part in line.parts if part.lacking] or list(line.perhaps)
    days = list(dict.fromkeys(period(part.jobs[0].first, part.jobs[0].last) for part in parts))
    label = code_list("operation")[line.planned.operation].label.lower()
    more = [f"{len(days) - MOST_NAMED} more"] if len(days) > MOST_NAMED else []
    return f"{label} of {listed([*days[:MOST_NAMED], *more])}"


def _others(instead: Iterable[Extra]) -> str:
    """Work with another material that may stand in for a line."""
    said = [f"{one.job.material} of {period(one.job.first, one.job.last)}" for one in instead]
    return listed(list(dict.fromkeys(said))[:MOST_NAMED])


def _quantity(line: Line) -> AmountText:
    """How much is still to be done: mass or volume with packs, or how often; where some is done, of how much."""
    work = line.planned
    how = [AmountText(", ", Amount(work.depth_mm, "mm"), " deep")] if work.depth_mm else []
    how += [AmountText(f", {counted(round(work.passes), 'pass', 'passes')}")] if work.passes and work.passes > 1 else []
    if work.size is None:
        times = f"{_times(line.missing)}, " if work.times and work.times > 1 else ""
        what = "" if work.unit == "times" else "amount not known: "
        return AmountText(times, f"{what}{work.unsized}", *how)
    if work.unit == "times":
        if line.matched:
            return AmountText(f"{line.missing:.2g} more of {_times(line.size)}", *how)
        whole_times = abs(line.missing - round(line.missing)) < 1e-9
        return AmountText(often(round(line.missing)) if whole_times else _times(line.missing), *how)
    whole = AmountText(", the rest of ", _amount(work, line.size)) if line.matched else ""
    doses = f" in {_times(work.times)}" if work.times and work.times > 1 and not line.matched else ""
    return AmountText(_amount(work, line.missing), _packed(work, line.missing), doses, whole, *how)


def _times(number: float) -> str:
    if abs(number - round(number)) < 1e-9:
        return counted(round(number), "time")
    return f"{number:.2g} times"


def _amount(work: Planned, amount: float) -> Amount:
    if _unit(work)[0] == "t":
        return Amount(round(amount / KG_OF_T, 3), "t", ",g", carries=3)
    return Amount(amount, work.unit, ",.0f" if amount >= 100 else ",.3g", carries=1 if work.unit == "l" else None)


def _packed(work: Planned, amount: float) -> AmountText:
    """The same in packs: so many, where that is a whole number of them, else from how many."""
    if not work.pack:
        return AmountText("")
    number = int(packs(amount, work.pack))
    whole = abs(number * work.pack - amount) <= 1e-6 * amount
    noun = "pack" if number == 1 else "packs"
    return AmountText(f" ({'' if whole else 'from '}{number:,} {noun} of ", Amount(work.pack, work.unit, ",g"), ")")


def _why(work: Planned) -> AmountText:
    """The programme and its basis, as they were loaded."""
    source = f"Programme {work.programme}" if work.programme else "Planned"
    basis = work.basis.strip().rstrip(".")
    if not basis:
        return AmountText(f"{source}.")
    return AmountText(source, ": ", in_sources(basis), ".")


def _beside(line: Line, log: Log, *, late: bool) -> Iterator[str | AmountText]:
    """What is known of it beside its programme."""
    if line.matched and line.unit != "times":
        days = list(dict.fromkeys(period(part.jobs[0].first, part.last) for part in line.parts if part.amount))
        done = AmountText(_amount(line.planned, line.matched))
        more = f" and {counted(len(days) - MOST_NAMED, 'more day')}" if len(days) > MOST_NAMED else ""
        yield AmountText(" Done: ", done, f", {listed(days[:MOST_NAMED])}{more}.")
    if line.instead and not late:
        yield f" Logged and not planned: {_others(line.instead)}."
    if late and log.last_job is not None:
        yield f" Jobs are logged to {long_date(log.last_job)}."
    if late and log.rejected:
        yield " A job that was rejected and is not yet corrected may be it."
