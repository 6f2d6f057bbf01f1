"""The data of a handout as CSV: what to do, unrounded, and what was spent."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.first_page.handout import Handout
from pipeline.indicators.base.first_page import Action
from reports.page.attachments import Cell, CsvFile, in_order, tables

ACTION_COLUMNS = {
    "green": "code of the green",
    "finding": "numbers of the findings it answers; empty of routine",
    "what": "what to do",
    "who": "who decides about it",
    "low": "least amount, not rounded; empty where none is known",
    "high": "largest amount; empty where there is no upper end",
    "unit": "unit of the amounts; an action of several units has a row for each, its cost in the first",
    "first": "first day of it, year-month-day; empty where none is set",
    "last": "last day of it",
    "cost": "cost of what is priced, not rounded; empty where nothing is",
    "priced": "works of it that are priced",
    "of": "works of it that take money",
    "waits": "yes where its amount waits for an entry to be checked",
}
SPENT_COLUMNS = {
    "green": "code of the green",
    "season": "name of the season",
    "jobs": "jobs logged",
    "cost": "sum of the costs that jobs give, in the currency of the records; empty where none gives any",
    "with_cost": "jobs that give a cost",
    "hours": "sum of the hours that jobs give; empty where none gives any",
    "with_hours": "jobs that give hours",
}
DESCRIBED = {
    "actions.csv": ("What to do on each green", ACTION_COLUMNS),
    "spent.csv": ("What each green took, this season and the one before", SPENT_COLUMNS),
}


def csv_files(of: Handout) -> tuple[CsvFile, ...]:
    """The attachments of a handout, in order of their names (the PDF's name tree must be sorted)."""
    rows = {
        "actions.csv": [row for one, page in of.pages for action in page.actions for row in _action(one.green, action)],
        "spent.csv": list(_spent(of)),
    }
    return in_order(tables(DESCRIBED, rows))


def _action(green: str, one: Action) -> Iterator[tuple[Cell, ...]]:
    days = tuple(None if day is None else day.isoformat() for day in (one.first, one.last))
    for nth, (low, high, unit) in enumerate([(a.low, a.high, a.unit) for a in one.amounts] or [(None, None, "")]):
        cost = one.cost if nth == 0 else None
        answers = ", ".join(map(str, one.findings)) or None
        yield (green, answers, one.what, one.who, low, high, unit, *days, cost, one.priced, one.of,
               "yes" if one.waits else "")  # fmt: skip


def _spent(of: Handout) -> Iterator[tuple[Cell, ...]]:
    for one, page in of.pages:
        if page.spent is None:
            continue
        for name, cost, hours in (
            (page.spent.season, page.spent.cost, page.spent.hours),
            (page.spent.last_season, page.spent.last_cost, page.spent.last_hours),
        ):
            yield one.green, name, cost.jobs, cost.value, cost.known, hours.value, hours.known
