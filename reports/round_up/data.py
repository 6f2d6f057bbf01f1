"""The data of a round-up as CSV: every green, figure, lag, due thing, gap, hour and cost, with the files and lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pipeline.indicators.base.judgement import judgement
from pipeline.summaries.club_season import Effort, RoundUp
from reports.page.attachments import Cell, CsvFile, in_order, tables

GREEN = {"club": "code of the club", "green": "code of the green"}
EFFORT = {
    "jobs": "jobs logged in the season",
    "hours": "sum of the hours that jobs give, h; empty where none gives any",
    "jobs_with_hours": "jobs that give hours; fewer than jobs means that the true sum is larger",
    "cost": "sum of the costs that jobs give, in the currency of the records; empty where none gives any",
    "jobs_with_cost": "jobs that give a cost",
}
RECORDS = {"records": "files and the lines in them that this comes from, the first line is 1"}
DESCRIBED: dict[str, tuple[str, dict[str, str]]] = {
    "behind.csv": (
        "Running totals that lag their planned line",
        GREEN
        | {
            "what": "what is put on",
            "unit": "unit of done, planned and goal",
            "done": "total up to the last day counted of the green's records",
            "planned": "planned line on that day, straight from nothing to the target's lower end",
            "goal": "end of the planned line",
            "share_behind": "planned less done, as a share of the goal",
            "note": "what a reader must know beside the total",
        }
        | RECORDS,
    ),
    "due.csv": (
        "What is due next on every green",
        GREEN
        | {
            "what": "what is due",
            "quantity": "how much, in words",
            "low": "least quantity on the whole green; empty where the words give no number",
            "high": "most of it",
            "applied": "logged already in the season it is due in and taken off low and high",
            "unit": "unit of low, high and applied",
            "basis": "of dressing: low, high and applied are as delivered, moisture and all; empty for anything else",
            "by": "by when, in words",
            "day": "the day, year-month-day; empty where it is a season",
            "passed": "yes where that day lies before the last day of records and nothing logged since has met it",
            "why": "what asks for it",
        },
    ),
    "effort.csv": (
        "Hours and cost of every green by kind of work",
        GREEN | {"operation": "kind of work"} | EFFORT | RECORDS,
    ),
    "figures.csv": (
        "The key figures of every green against their targets",
        GREEN
        | {
            "name": "machine name; its suffix is the unit",
            "label": "name as printed",
            "band": "depth or other band",
            "value": "the figure, not rounded; empty where the records cannot carry one",
            "unit": "unit of value, interval and targets",
            "low": "lower end of the interval",
            "high": "upper end of the interval",
            "n": "number of records behind it",
            "target_low": "lower end of the target",
            "target_high": "upper end of the target",
            "target_source": "where the target comes from",
            "standing": "within, below, above, too early, no target, too few or not comparable",
            "judgement": "what is said of it: on target, close, off, too early to say, too few to say or no target",
            "questioned": "how many of its records stand under a warning that is open",
            "method": "how the figure was made",
            "note": "what a reader must know beside it",
        }
        | RECORDS,
    ),
    "gaps.csv": (
        "Where records are missing",
        GREEN | {"kind": "kind of gap", "detail": "what is known of it", "records": "records it is about"},
    ),
    "greens.csv": (
        "Every green in one line",
        GREEN
        | {
            "club_name": "name of the club",
            "green_name": "name of the green",
            "region": "region of the club",
            "area_m2": "playing area, m²; empty where it is not recorded",
            "records_up_to": "last day counted of its records, year-month-day",
            "last_visit": "day of the last job on record, year-month-day; the first it can have been",
            "last_visit_to": "last day it can have been, where only the month or year is known; empty else",
            "days_worked": "days with a job in the season",
        }
        | EFFORT,
    ),
}


def csv_files(whole: RoundUp) -> tuple[CsvFile, ...]:
    """The attachments of a round-up, in order of their names (the PDF's name tree must be sorted)."""
    rows: dict[str, Iterable[Iterable[Cell]]] = {
        "behind.csv": _behind(whole),
        "due.csv": _due(whole),
        "effort.csv": _effort(whole),
        "figures.csv": _figures(whole),
        "gaps.csv": _gaps(whole),
        "greens.csv": _greens(whole),
    }
    return in_order(tables(DESCRIBED, rows))


def _sums(effort: Effort) -> tuple[Cell, ...]:
    return (effort.jobs, effort.hours, effort.with_hours, effort.cost, effort.with_cost)


def _behind(whole: RoundUp) -> Iterator[tuple[Cell, ...]]:
    for line in whole.greens:
        for lag in line.behind:
            totals = (lag.unit, lag.done, lag.planned, lag.goal, lag.share)
            yield (line.club, line.green, lag.what, *totals, lag.note, lag.records)


def _due(whole: RoundUp) -> Iterator[tuple[Cell, ...]]:
    for line in whole.greens:
        for due in line.due:
            day = due.day.isoformat() if due.day else None
            passed = "yes" if due in line.overdue else "no"
            amount = (due.quantity, due.low, due.high, due.applied, due.unit, due.basis)
            yield (line.club, line.green, due.what, *amount, due.by, day, passed, due.why)


def _effort(whole: RoundUp) -> Iterator[tuple[Cell, ...]]:
    for line in whole.greens:
        for work in line.work:
            yield (line.club, line.green, work.operation, *_sums(work.effort), work.records)


def _figures(whole: RoundUp) -> Iterator[tuple[Cell, ...]]:
    for line in whole.greens:
        for key in line.figures:
            i = key.indicator
            value = (i.name, i.label, i.band, i.value, i.unit, i.low, i.high, i.n)
            goal = (i.target_low, i.target_high, i.target_source, i.standing)
            said = (judgement(i), len(i.questioned))
            yield (line.club, line.green, *value, *goal, *said, i.method, i.note, key.records)


def _gaps(whole: RoundUp) -> Iterator[tuple[Cell, ...]]:
    for line in whole.greens:
        for gap in line.gaps:
            yield (line.club, line.green, gap.kind, gap.detail, gap.records)


def _greens(whole: RoundUp) -> Iterator[tuple[Cell, ...]]:
    for line in whole.greens:
        last = line.last_visit.isoformat() if line.last_visit else None
        last_to = line.last_visit_to.isoformat() if line.last_visit_to else None
        names = (line.club_name, line.green_name, line.region, line.area_m2, line.as_of.isoformat())
        yield (line.club, line.green, *names, last, last_to, line.days_worked, *_sums(line.effort))
