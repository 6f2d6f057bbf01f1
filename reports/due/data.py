"""The due list as CSV: every line with what stands against it, and the totals by material."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from pipeline.common.money import rounded
from pipeline.plan.due_list import DueList
from pipeline.plan.rates import Figure
from reports.page.attachments import Cell, CsvFile, in_order, tables

DESCRIBED: dict[str, tuple[str, dict[str, str]]] = {
    "due.csv": (
        "What is due on each green",
        {
            "club": "code of the club",
            "green": "code of the green",
            "records_up_to": "last day on record of the green, year-month-day, to which it is counted; empty for none",
            "state": "of a line of a programme: due, overdue, not due yet, or not known; empty for what targets ask",
            "what": "what is due",
            "material": "what is to be put on, as the register names it; empty where that is open",
            "quantity": "how much, in words",
            "low": "least quantity on the whole green; empty where the words give no number",
            "high": "most of it; empty where there is no upper end",
            "unit": "unit of low and high",
            "from": "first day of the window of a programme, year-month-day",
            "by": "by when, in words",
            "day": "the day, year-month-day; empty where it is a season",
            "why": "what asks for it",
            "against": "what stands against it",
            "weather": "what the weather records show of their last days; no forecast",
            "hours": "hours of all people; empty where not known",
            "hours_from": "where the hours come from, or why they are not known",
            "cost": "money in the currency of the records; empty where not known",
            "cost_from": "where the cost comes from, or why it is not known",
        },
    ),
    "totals.csv": (
        "What is due of each material on all greens",
        {
            "what": "the material; what is done, where that is open",
            "unit": "unit of the amount",
            "amount": "sum of what is known; empty where nothing is",
            "packs": "whole packs that hold it; empty where the register does not say what a pack holds",
            "packs_in_words": "the same with what a pack holds",
            "lines": "lines that it is of",
            "not_known": "lines of which no amount is known: they are not in the sum",
            "greens": "greens",
        },
    ),
}


def csv_files(done: DueList) -> tuple[CsvFile, ...]:
    """The attachments of a due list, in order of their names."""
    rows: dict[str, Iterable[Iterable[Cell]]] = {"due.csv": _due(done), "totals.csv": _totals(done)}
    return in_order(tables(DESCRIBED, rows))


def _due(done: DueList) -> Iterator[tuple[Cell, ...]]:
    for green in done.greens:
        for item in green.items:
            due = item.due
            first = due.first.isoformat() if due.first else None
            day = due.day.isoformat() if due.day else None
            until = green.day.isoformat() if green.day else None
            state = due.state or ("overdue" if due.overdue else None)
            much = (due.quantity, due.low, due.high, due.unit or None)
            yield (
                green.club, green.green, until, state, due.what, due.material or None, *much, first,
                due.by, day, due.why, " ".join(item.against) or None, green.weather, *_told(item.hours),
                *_told(item.cost),
            )  # fmt: skip


def _told(one: Figure) -> tuple[Decimal | None, str]:
    how = one.why if one.value is None else ": ".join(filter(None, (one.how, one.why)))
    return (None if one.value is None else rounded(one.value)), how


def _totals(done: DueList) -> Iterator[tuple[Cell, ...]]:
    for one in done.totals:
        yield (one.what, one.unit, one.amount, one.packs, one.held or None, one.lines, one.unknown, one.greens)
