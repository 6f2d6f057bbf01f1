"""What to do, as the first page prints it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.common.words import listed
from pipeline.first_page.actions import OTHER, folded
from pipeline.indicators.base.first_page import Action, FirstPage
from pipeline.indicators.base.green_season import GreenSeason
from reports.condition.first.level import FirstLevel
from reports.page import text
from reports.page.actions import amount_of, cost_of, details, in_tens, total_of, when
from reports.page.house_style import Units
from schemas.codes import code_list

NOTHING_DUE = "Nothing is due, and no finding asks for work."
MOST_DETAIL, MOST_OF_HOLLOWS = 33, 66
"""Characters of the small line below an action, and of two below the filling of hollows, which no due list has."""


@dataclass(frozen=True)
class ActionRow:
    """One action as printed."""

    number: str
    what: str
    detail: str
    amount: str
    when: str
    cost: str
    who: str


@dataclass(frozen=True)
class ActionTable:
    """The table of actions: rows, the label and sum below, and what stands beside it.

    ``empty`` stands there where there is no row.
    """

    heading: str
    rows: tuple[ActionRow, ...]
    total_label: str
    total: str
    note: str
    empty: str


def table(of: FirstPage, level: FirstLevel, season: GreenSeason, units: Units) -> ActionTable:
    """The table of a first page."""
    currency = season.currency
    shown = folded(tuple(in_tens(_printed(of.actions, level.found))), level.actions)
    rows = tuple(row(one, level, currency, units) for one in shown)
    label, total = total_of(shown, currency)
    note = " ".join(filter(None, (other_line(shown), looks_line(of) if level.looks else looks_left(of))))
    return ActionTable(heading(of, season), rows, label, total, note, "" if rows else NOTHING_DUE)


def heading(of: FirstPage, season: GreenSeason) -> str:
    """The heading, with the months that the table's belong to: a committee reads it in another year."""
    if not of.season_due:
        return "What to do"
    later = int(of.season_due) - int(season.season)
    first, last = (f"{day:%B} {day.year + later}" for day in (season.season_start, season.season_end))
    return f"What to do, {first} to {last}"


def other_line(shown: Sequence[Action]) -> str:
    """Which works stand in one row together, in a sentence; "" where none do."""
    codes = [name for one in shown if one.what == OTHER for name in one.operations]
    names = dict.fromkeys(text.inside(code_list("operation")[name].label) for name in codes)
    return f"{OTHER}: {text.clean(listed(list(names)), 200)}." if names else ""


def looks_line(of: FirstPage) -> str:
    """What is to be looked at or measured, in a sentence; "" where nothing is."""
    looks = "; ".join(text.inside(text.clean(one, 160)) for one in of.looks)
    return f"Beside that: {looks}." if looks else ""


def looks_left(of: FirstPage) -> str:
    """Where that stands which there is no room for; "" where nothing is to be looked at."""
    return "To look at: see notes.csv." if of.looks else ""


def _printed(every: Sequence[Action], found: int) -> Iterator[Action]:
    """The actions beside so many findings; what answers one that is not printed stands as routine."""
    return (beside(one, found) for one in every)


def beside(one: Action, found: int) -> Action:
    """An action beside so many findings: the others have no number."""
    return replace(one, findings=tuple(number for number in one.findings if number <= found))


def row(one: Action, level: FirstLevel, currency: str, units: Units) -> ActionRow:
    """An action as a row of the table."""
    return ActionRow(
        number=", ".join(map(str, one.findings)),
        what=text.clean(one.what, 60),
        detail=detail(one, units) if _has_detail(one, level) else "",
        amount=amount_of(one, units),
        when=when(one),
        cost=cost_of(one, currency),
        who=one.who,
    )


def _has_detail(one: Action, level: FirstLevel) -> bool:
    return level.details == "all" or (level.details == "answering" and bool(one.findings))


def detail(one: Action, units: Units) -> str:
    """The small print, what is not known of it first, then how it is put on and of what."""
    most = MOST_OF_HOLLOWS if one.hollows is not None else MOST_DETAIL
    if one.who == "Licensed person" and len(one.operations) == 1:
        return "whether and with what, by the label"
    kept = ""
    for part in details(one, units):
        told = f"{kept}; {part}" if kept else part
        if len(told) <= most:
            kept = told
    return kept
