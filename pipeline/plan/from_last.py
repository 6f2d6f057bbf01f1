"""Last season's works a year on: the same operation in the week of the job, with what was put on then."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from math import ceil, fsum

from pipeline.common.grouped import grouped
from pipeline.common.words import counted, long_date, period
from pipeline.plan.entries import NOTHING, PUT_ON, Entry, Found, LeftOut, Logged, Place, RateUnit
from pipeline.plan.templates.model import LICENSED
from pipeline.plan.works import Planned, Unit
from pipeline.workspace.settings import Season

LAST = "last season's works"
NO_AMOUNT = "the log gives no amount"
WHOLE = 1 - 1e-9
"""Share from which on a job is of the whole green."""


@dataclass(frozen=True)
class _Moved:
    """A job and the days of its window a year on.

    Attributes:
        job: the job.
        first: first day of the window.
        last: last day of it.
        records: how many records of the log it is.
    """

    job: Logged
    first: date
    last: date
    records: int = 1


def from_last(jobs: Iterable[Logged], place: Place, season: Season, day: date) -> Found:
    """The works of the season before, a year on, as far as they are still to come, and those left out.

    A work with an amount is planned for itself, in the week of its day. Works that are only counted (mowing) are put
    together by month. Records of one day, work and material are one work, for a day counts as one time when the plan is
    laid beside the log; a work that took several days is several, as it was then.

    Args:
        jobs: of the season before.
        place: the green.
        season: the season that is planned.
        day: the day from which on it is planned.
    """
    entries, left = [], []
    counts: list[_Moved] = []
    for job, records in _by_visit(jobs):
        moved = _moved(job, season, records)
        if LICENSED & {job.done.operation, job.sort}:
            left.append(LeftOut(job.done.operation, LAST, _licensed(job)))
        elif moved.last < day:
            left.append(LeftOut(job.done.operation, LAST, f"its days are past: {period(moved.first, moved.last)}"))
        elif _only_counted(job):
            counts.append(moved)
        else:
            entries.append(_entry(moved, place))
    return (*entries, *_by_month(counts, place, season, day)), tuple(left)


def _by_visit(jobs: Iterable[Logged]) -> Iterator[tuple[Logged, int]]:
    """The jobs in order of days, those of one day, work and material that log the same sorts of amount as one."""

    def visit(one: Logged) -> tuple[object, ...]:
        done = one.done
        return (done.first, done.last, done.operation, done.material, done.kg is None, done.l is None)

    ordered = sorted(jobs, key=lambda one: (one.done.first, one.done.operation, one.done.material))
    for same in grouped(ordered, visit).values():
        if same[0].done.first < same[0].done.last:  # of jobs known to a month only, each may be of a day of its own
            yield from ((one, 1) for one in same)
        else:
            yield _as_one(same), len(same)


def _as_one(same: Sequence[Logged]) -> Logged:
    """Several records of a visit as one job: amounts and parts added up, and of how it was done what all agree on."""
    first, works = same[0], [one.done for one in same]
    if len(same) == 1:
        return first
    return replace(
        first,
        done=replace(
            first.done,
            kg=None if first.done.kg is None else fsum(one.kg or 0.0 for one in works),
            l=None if first.done.l is None else fsum(one.l or 0.0 for one in works),
            part=min(1.0, fsum(one.part for one in works)),
        ),
        depth_mm=first.depth_mm if len({one.depth_mm for one in same}) == 1 else None,
        passes=first.passes if len({one.passes for one in same}) == 1 else None,
        asked_about=next((one.asked_about for one in same if one.asked_about), ""),
    )


def _licensed(job: Logged) -> str:
    when = period(job.done.first, job.done.last)
    return f"of {when}: whether it is done again a licensed person decides by the label"


def _only_counted(job: Logged) -> bool:
    """Whether only that the job was done is planned again."""
    if job.done.operation == "irrigation":  # the water of a year follows its weather
        return True
    return not job.done.material and job.done.kg is None and job.done.l is None and job.done.operation not in PUT_ON


def _moved(job: Logged, season: Season, records: int = 1) -> _Moved:
    """The job a year on: the week from Monday to Sunday of its day; of a job of a period that period."""
    done = job.done
    first, last = _year_on(done.first), _year_on(done.last)
    if done.first == done.last:
        first -= timedelta(days=first.weekday())
        last = first + timedelta(days=6)
    return _Moved(job, max(first, season.start), min(last, season.end), records)


def _year_on(day: date) -> date:
    """The same day of the next year; 28 February for the 29th."""
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return day.replace(year=day.year + 1, day=28)


def _entry(moved: _Moved, place: Place) -> Entry:
    done = moved.job.done
    unit: Unit = "l" if done.kg is None and done.l is not None else "kg"
    size = done.l if unit == "l" else done.kg
    lacking = ""
    if _only_counted(moved.job):
        unit, size = "times", 1.0
    elif moved.job.asked_about:
        size, lacking = None, f"its entry is to be checked first: {moved.job.asked_about}"
    elif size is None:
        lacking = NO_AMOUNT
    per: RateUnit = "ml/m²" if unit == "l" else "g/m²"
    area = place.area_on(moved.first)
    treated = area * done.part if area else None
    rate = size * 1000 / treated if size is not None and treated and unit != "times" else None
    part = f", on {done.part:.0%} of the green" if done.part < WHOLE else ""
    work = Planned(
        green=place.green,
        operation=done.operation,
        first=moved.first,
        last=moved.last,
        unit=unit,
        size=size,
        material=done.material,
        depth_mm=moved.job.depth_mm,
        passes=moved.job.passes,
        basis=f"as {_when(done.first, done.last)}{_put_on(size, unit)}{_in_records(moved)}{part}{_water([moved])}",
    )
    return Entry(work, moved.job.sort, rate, per, nitrogen_pct=moved.job.nitrogen_pct, lacking=lacking)


def _when(first: date, last: date) -> str:
    return f"on {long_date(first)}" if first == last else f"in {period(first, last)}"


def _in_records(moved: _Moved) -> str:
    return f" in {moved.records} records" if moved.records > 1 else ""


def _put_on(size: float | None, unit: Unit) -> str:
    if size is None or unit == "times":
        return ""
    return f": {size / 1000:.3g} t" if unit == "kg" and size >= 1000 else f": {size:,.4g} {unit}"


def _water(jobs: Sequence[_Moved]) -> str:
    """The water that was put on then, for the next year's is up to its weather; "" where none is known."""
    litres = [one.job.done.l for one in jobs if one.job.done.operation == "irrigation" and one.job.done.l is not None]
    return f", {fsum(litres):,.0f} l in all as far as logged; the weather decides" if litres else ""


def _by_month(counts: Sequence[_Moved], place: Place, season: Season, day: date) -> Iterator[Entry]:
    """Works that are only counted, together where they are one operation, depth and passes of one month."""

    def key(one: _Moved) -> tuple[int, int, str, float, float]:
        then = one.job.done.first
        return (then.year, then.month, one.job.done.operation, one.job.depth_mm or 0.0, one.job.passes or 0.0)

    for (year, month, operation, depth, passes), group in groupby(sorted(counts, key=key), key):
        jobs = list(group)
        if len(jobs) == 1:
            yield _entry(jobs[0], place)
            continue
        first = date(year + 1, month, 1)
        last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
        times = float(ceil(fsum(one.job.done.part for one in jobs) - NOTHING))
        then = [one.job.done.first for one in jobs]
        work = Planned(
            green=place.green,
            operation=operation,
            first=max(first, season.start),
            last=min(last, season.end),
            unit="times",
            size=times,
            depth_mm=depth or None,
            passes=passes or None,
            basis=f"as {counted(len(jobs), 'time')} from {long_date(min(then))} to {long_date(max(then))}"
            + _water(jobs)
            + (" (as far as those weeks are still to come)" if first < day else ""),
        )
        yield Entry(work, times=times)
