"""What to do, as the first page prints it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.common.grouped import grouped
from pipeline.common.words import listed
from pipeline.first_page.actions import OTHER, folded
from pipeline.first_page.deciders import DECIDERS
from pipeline.first_page.found import asks
from pipeline.indicators.base.first_page import Action, Closed, FirstPage
from pipeline.indicators.base.green_season import GreenSeason
from reports.condition.first.level import FirstLevel
from reports.page import text
from reports.page.actions import amount_of, amount_unknown, cost_of, details, doubts, in_tens, less_of, total_of, when
from reports.page.house_style import Units
from schemas.codes import code_list

NOTHING_DUE = "Nothing is due, and no finding asks for work."
SEVERAL = "see below"
"""Who decides about works told together that are not all one's: the line below the table says whose each is."""
MOST_HELP = 110
"""Characters of what usually helps, in whole sentences, the first one at least."""
MOST_DETAIL, MOST_OF_TWO = 33, 66
"""Characters of the small line below an action, and of two lines where it has no amount or fills hollows."""


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
    told = (other_line(shown), unanswered_line(of, level.found), closed_line(of), looks_line(of, whole=level.looks))
    note = " ".join(filter(None, told))
    return ActionTable(heading(of, season), rows, label, total, note, "" if rows else NOTHING_DUE)


def heading(of: FirstPage, season: GreenSeason) -> str:
    """The heading, with the months that the table's belong to: a committee reads it in another year."""
    if not of.season_due:
        return "What to do"
    later = int(of.season_due) - int(season.season)
    first, last = (f"{day:%B} {day.year + later}" for day in (season.season_start, season.season_end))
    return f"What to do, {first} to {last}"


def other_line(shown: Sequence[Action]) -> str:
    """Which works stand in one row together, in a sentence, and whose each is where they are not all one's."""
    parts = [part for one in shown if one.what == OTHER for part in one.parts]
    if not parts:
        return ""
    by_who = grouped(parts, lambda one: one.who)
    told = [
        f"{_works_of(some)}{f' ({text.inside(who)})' if len(by_who) > 1 else ''}"
        for who, some in sorted(by_who.items(), key=lambda pair: DECIDERS.index(pair[0]))
    ]
    return f"{OTHER}: {text.clean('; '.join(told) if len(by_who) > 1 else told[0], 240)}."


def _works_of(some: Sequence[Action]) -> str:
    names = (text.inside(code_list("operation")[name].label) for one in some for name in one.operations)
    return listed(list(dict.fromkeys(names)))


def unanswered_line(of: FirstPage, found: int) -> str:
    """Of which findings no work is an answer, and what usually helps then, in sentences; "" where each has one.

    Args:
        of: the first page.
        found: findings that are printed.
    """
    answered = {number for one in of.actions for number in one.findings}
    every = enumerate(of.found[:found], start=1)
    left = [(number, one) for number, one in every if asks(one) and number not in answered]
    told = [
        f"No work here answers finding {number}; what usually helps: {text.inside(helps)}"
        for number, one in left
        if (helps := text.sentences(one.helps, MOST_HELP) if one.helps else "")
    ]
    bare = [str(number) for number, one in left if not one.helps]
    if bare:
        told.append(f"No work here answers finding{'' if len(bare) == 1 else 's'} {listed(bare)}.")
    return " ".join(told)


def closed_line(of: FirstPage) -> str:
    """When the green is closed within the days set for works, and why, a sentence each; "" where it is not."""
    return " ".join(_closed(one) for one in of.closed)


def _closed(one: Closed) -> str:
    why = f" ({text.clean(one.why, 60)})" if one.why else ""
    names = [text.inside(code_list("operation")[name].label) for name in one.operations]
    return f"Closed {text.days(one.first, one.last)}{why}, within the days set for {listed(names)}."


def looks_line(of: FirstPage, *, whole: bool = True) -> str:
    """What is to be looked at or measured, in a sentence; "" where nothing is.

    Args:
        of: the first page.
        whole: whether it is told why too; what is to be done always is.
    """
    looks = [one if whole else one.partition(": ")[0] for one in of.looks]
    told = "; ".join(text.inside(text.clean(one, 160)) for one in looks)
    return f"Beside that: {told}." if told else ""


def _printed(every: Sequence[Action], found: int) -> Iterator[Action]:
    """The actions beside so many findings; what answers one that is not printed stands as routine."""
    return (beside(one, found) for one in every)


def beside(one: Action, found: int) -> Action:
    """An action beside so many findings: the others have no number."""
    printed, less = ([number for number in numbers if number <= found] for numbers in (one.findings, one.less))
    return replace(one, findings=tuple(printed), less=tuple(less))


def row(one: Action, level: FirstLevel, currency: str, units: Units) -> ActionRow:
    """An action as a row of the table."""
    return ActionRow(
        number=", ".join(map(str, one.findings)),
        what=text.clean(one.what, 60),
        detail=detail(one, units, whole=level.details != "open") if _has_detail(one, level) else less_of(one),
        amount=amount_of(one, units),
        when=when(one),
        cost=cost_of(one, currency),
        who=one.who if len({part.who for part in one.parts}) < 2 else SEVERAL,
    )


def _has_detail(one: Action, level: FirstLevel) -> bool:
    return level.details == "all" or (level.details in ("answering", "open") and bool(one.findings))


def detail(one: Action, units: Units, *, whole: bool = True) -> str:
    """The small print, what is open of it first, then how it is put on and of what.

    Args:
        one: the action.
        units: units of display.
        whole: whether how it is done stands there too.
    """
    most = MOST_OF_TWO if one.hollows is not None or amount_unknown(one) else MOST_DETAIL
    if one.who == "Licensed person" and len(one.operations) == 1:
        return "whether and with what, by the label"
    kept = ""
    for part in details(one, units) if whole or one.hollows else doubts(one):
        told = f"{kept}; {part}" if kept else part
        if len(told) <= most:
            kept = told
    return kept
