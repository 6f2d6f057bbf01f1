"""From a frozen due list to its PDF: totals by material, then what is due by club and green."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.common.grouped import grouped
from pipeline.common.money import rounded
from pipeline.common.words import listed
from pipeline.indicators.base.green_season import Due
from pipeline.plan.cost import Sum
from pipeline.plan.due_list import DueItem, DueList, GreenDue, Total
from pipeline.plan.rates import Figure
from reports.due.data import csv_files
from reports.page import remarks, text
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle
from reports.page.templating import fill
from reports.page.units import in_customary, rescaled

MOST_PAGES = 60
MOST_LINES = (500, 350, 200)
"""Lines printed: the first number with which the pages are no more than the most; the rest stands in due.csv."""
MOST_REASONS = 8
STATES = {"overdue": "Overdue", "due": "Due", "not due yet": "Not due yet", "not known": "Not known", "": ""}


@dataclass(frozen=True)
class Row:
    """One thing that is due, as printed."""

    state: str
    late: bool
    by: str
    what: str
    quantity: str
    why: str
    against: tuple[str, ...]
    hours: str
    cost: str


@dataclass(frozen=True)
class GreenRows:
    """What is due on a green, as printed."""

    green: str
    code: str
    day: str
    weather: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class ClubRows:
    """The greens of a club, as printed."""

    club: str
    greens: tuple[GreenRows, ...]


@dataclass(frozen=True)
class TotalRow:
    """What is due of a material on all greens, as printed."""

    what: str
    amount: str
    packs: str
    greens: str
    unknown: str


@dataclass(frozen=True)
class DueReport:
    """A due list as printed; every field is final text."""

    title: str
    heading: str
    about: str
    until: str
    counted: str
    running_head: str
    created: str
    version: str
    density: str
    matters: tuple[str, ...]
    totals: tuple[TotalRow, ...]
    clubs: tuple[ClubRows, ...]
    more: str
    nothing: str
    reasons: tuple[str, ...]
    missing: tuple[str, ...]
    cost_heading: str


def view(done: DueList, most: int = MOST_LINES[0], *, version: str) -> DueReport:
    """The list with every figure formatted, and so many lines at most."""
    shown = list(_first(done.greens, most))
    greens, clubs = len(done.greens), len({one.club for one in done.greens})
    about = f"{text.count(greens, 'green')} of {text.count(clubs, 'club')}"
    if greens == 1:
        about = f"{text.name(done.greens[0].name, 60)}, {text.name(done.greens[0].club_name, 60)}"
    bare = [text.clean(one.green, 24) for one in done.greens if not one.items]
    ends = [(text.clean(one.green, 24), one.day) for one in done.greens if one.day and one.day < done.day]
    return DueReport(
        title=f"What is due to {text.day(done.until)}",
        heading="What is due",
        about=about,
        until=text.day(done.until),
        counted=remarks.looked(
            remarks.records_up_to(done.day, ends) if done.on_record else "Nothing is on record.", done.look
        ),
        running_head=f"What is due, {about}",
        **remarks.stamp(done.day, version),
        density="",
        matters=tuple(_matters(done)),
        totals=tuple(_total(one) for one in done.totals),
        clubs=tuple(_club(name, own) for name, own in grouped(shown, lambda one: one.club_name or one.club).items()),
        more=text.more(len(done.items) - sum(len(one.items) for one in shown), "line", "due.csv"),
        nothing=f"Nothing is due on {listed(bare[:20])}{f' and {len(bare) - 20} more' if len(bare) > 20 else ''}."
        if bare
        else "",
        reasons=tuple(_reasons(done)),
        missing=tuple(text.clean(said, 300) for said in done.missing),
        cost_heading=text.cost_heading(done.currency),
    )


def _first(greens: Sequence[GreenDue], most: int) -> Iterator[GreenDue]:
    """Greens with something due, up to so many lines."""
    left = most
    for one in greens:
        if one.items and left > 0:
            yield replace(one, items=one.items[:left])
            left -= len(one.items)


def _matters(done: DueList) -> Iterator[str]:
    """How much is overdue, due and not known, on how many greens, and hours and cost of it."""
    states = Counter(map(_state, done.items))
    on = Counter(state for state, _ in {(_state(item), item.green) for item in done.items})
    told = (
        ("overdue", "is overdue", "are overdue"),
        ("due", "of a programme is due", "of a programme are due"),
        ("not due yet", f"opens by {text.day(done.until)}", f"open by {text.day(done.until)}"),
        ("", "is asked for by a target or a last work", "are asked for by targets or last works"),
    )
    for state, one, many in told:
        if number := states[state]:
            yield f"{text.count(number, 'thing')} {one if number == 1 else many}, on {text.count(on[state], 'green')}."
    if number := states["not known"]:
        yield f"Of {text.count(number, 'line')} it is not known whether it is done: see each."
    if not done.items:
        yield "Nothing is known to be due."
        return
    yield f"Hours: {_sum(done.hours, 1, '')}. Cost: {_sum(done.cost, 2, done.currency)}."


def _state(item: DueItem) -> str:
    return "overdue" if item.due.overdue else item.due.state


def _sum(one: Sum, decimals: int, currency: str) -> str:
    if one.value is None:
        return f"not known of any of {text.count(one.of, 'work')}" if one.of else "none"
    unit = text.clean(currency, 12) or "h"
    said = text.with_unit(text.number(rounded(one.value, decimals), decimals), unit)
    return f"{said} ({one.said})" if one.said else said


def _total(one: Total) -> TotalRow:
    places = {"kg": 0, "lb": 0, "t": 3, "short tons": 3}.get(one.unit, 1)  # 4.004 t are 5 packs of a tonne
    return TotalRow(
        text.clean(one.what, 90),
        "not known" if one.amount is None else text.quantity(one.amount, text.clean(one.unit, 12), places),
        text.clean(one.held, 60),
        f"{one.greens:,}",
        f"{one.unknown} of {text.count(one.lines, 'line')}" if one.unknown else "",
    )


def _club(name: str, greens: Sequence[GreenDue]) -> ClubRows:
    return ClubRows(text.name(name, 80), tuple(_green(one) for one in greens))


def _green(one: GreenDue) -> GreenRows:
    return GreenRows(
        text.name(one.name, 60),
        text.clean(one.green, 24),
        f"records up to {text.day(one.day)}" if one.day else "nothing on record",
        text.clean(one.weather, 400),
        tuple(_row(item) for item in one.items),
    )


def _row(item: DueItem) -> Row:
    due = item.due
    return Row(
        STATES["overdue" if due.overdue else due.state],
        due.overdue,
        text.sentence(remarks.by_when(due.by, 80)).removesuffix("."),
        text.clean(due.what, 120),
        remarks.quantity_of(due.quantity, 320),
        text.clean(due.why, 400),
        tuple(text.clean(said, 300) for said in item.against),
        _figure(item.hours, 1, due),
        _figure(item.cost, 2, due),
    )


def _figure(one: Figure, decimals: int, due: Due) -> str:
    """Hours or money, marked where it is by rate; empty of what is no work."""
    if one.value is None:
        return "not known" if due.operation else ""
    shown = text.number(rounded(one.value, decimals), decimals)
    return f"{shown} by rate" if one.how == "by rate" else shown


def _reasons(done: DueList) -> Iterator[str]:
    """Why hours and cost are not known, each reason once with how many works it is of."""
    for what, figures in (("Hours", [one.hours for one in done.works]), ("Cost", [one.cost for one in done.works])):
        found = Counter(one.why for one in figures if one.value is None)
        for why, number in sorted(found.items(), key=lambda pair: (-pair[1], pair[0]))[:MOST_REASONS]:
            yield f"{what} not known of {text.count(number, 'work')}: {text.clean(why, 200)}."
        left = len(found) - MOST_REASONS
        if left > 0:
            yield f"{what}: {text.count(left, 'further reason')} in the attached due.csv."


def _in_units(done: DueList, house: HouseStyle) -> DueList:
    """The list in the units of the house; what is attached stays in SI."""
    if house.units == "metric":
        return done
    greens = tuple(
        replace(one, weather=in_customary(one.weather, house.units), items=tuple(_item(i, house) for i in one.items))
        for one in done.greens
    )
    return replace(done, greens=greens, totals=tuple(_total_in_units(one, house) for one in done.totals))


def _total_in_units(one: Total, house: HouseStyle) -> Total:
    return rescaled(replace(one, held=in_customary(one.held, house.units)), "amount")


def _item(item: DueItem, house: HouseStyle) -> DueItem:
    said = tuple(in_customary(one, house.units) for one in item.against)
    quantity, why = in_customary(item.due.quantity, house.units), in_customary(item.due.why, house.units)
    return replace(item, due=replace(item.due, quantity=quantity, why=why), against=said)


def _drafts(done: DueList, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    shown = _in_units(done, house)
    for most in MOST_LINES:
        yield Pages(fill("due.html.j2", house, report=view(shown, most, version=version), attached=attached))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda done: done.day,
    most_pages=lambda *_: MOST_PAGES,
    styles=("due.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
