"""From a frozen due list to its PDF: what is overdue and due this week, totals by material, then green by green."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.common.grouped import grouped
from pipeline.common.money import rounded
from pipeline.common.words import listed, long_date
from pipeline.plan.against import TOLD
from pipeline.plan.cost import Sum
from pipeline.plan.due_list import DueItem, DueList, GreenDue, Total
from pipeline.plan.rates import HOUR_PLACES, Figure
from reports.due.data import csv_files
from reports.due.lead import LeadGroup, lead, nothing_soon
from reports.due.sources import Sources
from reports.page import remarks, text
from reports.page.document import Document, Pages
from reports.page.effort import PARTIAL
from reports.page.house_style import HouseStyle, Units
from reports.page.templating import fill
from reports.page.units import in_customary, rescaled

MOST_PAGES = 60
MOST_LINES = (500, 350, 200)
"""Lines printed: the first number with which the pages are no more than the most; the rest stands in due.csv."""
MOST_REASONS = 8
MOST_CODES = 20
"""Greens named in one sentence."""
STATES = {"overdue": "Overdue", "due": "Due now", "not known": "Done already?"}
"""Words of a state as printed; of what is still to come its days say enough."""
ELSE = "*"
"""Beside hours that do not come from where most of them come."""
UNKNOWN = "–"


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
    club: str
    day: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class WeatherRow:
    """The weather of the last days on record, and of which greens it is."""

    weather: str
    greens: str


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
    nothing_soon: str
    lead: tuple[LeadGroup, ...]
    totals: tuple[TotalRow, ...]
    weather: tuple[WeatherRow, ...]
    weather_told: str
    greens: tuple[GreenRows, ...]
    more: str
    nothing: str
    marks: tuple[str, ...]
    reasons: tuple[str, ...]
    missing: tuple[str, ...]
    sources: tuple[str, ...]
    cost_heading: str


def view(done: DueList, most: int = MOST_LINES[0], *, version: str, units: Units = "metric") -> DueReport:
    """The list with every figure formatted, and so many lines at most."""
    shown = list(_first(done.greens, most))
    greens, clubs = len(done.greens), len({one.club for one in done.greens})
    about = f"{text.count(greens, 'green')} of {text.count(clubs, 'club')}"
    if greens == 1:
        about = f"{text.name(done.greens[0].name, 60)}, {text.name(done.greens[0].club_name, 60)}"
    bare = [text.clean(one.green, 24) for one in done.greens if not one.items]
    sources, usual = Sources(), _usual(done)
    return DueReport(
        title=f"What is due to {text.day(done.until)}",
        heading="What is due",
        about=about,
        until=text.day(done.until),
        counted=_counted(done),
        running_head=f"What is due, {about}",
        **remarks.stamp(done.day, version),
        density="",
        matters=tuple(_matters(done)),
        nothing_soon=nothing_soon(done),
        lead=lead(done),
        totals=tuple(_total(one) for one in done.totals),
        weather=tuple(_weather(done.greens)),
        weather_told=text.clean(in_customary(TOLD, units)),
        greens=tuple(_green(one, done, sources, usual) for one in shown),
        more=text.more(len(done.items) - sum(len(one.items) for one in shown), "line", "due.csv"),
        nothing=f"Nothing is due on {_named(bare)}." if bare else "",
        marks=tuple(_marks(done, usual)),
        reasons=tuple(_reasons(done)),
        missing=tuple(text.clean(said, 300) for said in done.missing),
        sources=sources.texts,
        cost_heading=text.cost_heading(done.currency),
    )


def _counted(done: DueList) -> str:
    """Up to when records count; of a day that was asked for, that day: the records may end before it."""
    ends = [(text.clean(one.green, 24), one.day) for one in done.greens if one.day and one.day < done.day]
    if not done.on_record:
        return remarks.looked("Nothing is on record.", done.look)
    if done.look.as_of:
        return remarks.looked(f"As of {text.day(done.look.as_of)}", done.look)
    return remarks.looked(remarks.records_up_to(done.day, ends), done.look)


def _named(codes: Sequence[str]) -> str:
    left = len(codes) - MOST_CODES
    return listed([*codes[:MOST_CODES], *([f"{left} more"] if left > 0 else [])])


def _first(greens: Sequence[GreenDue], most: int) -> Iterator[GreenDue]:
    """Greens with something due, up to so many lines."""
    left = most
    for one in greens:
        if one.items and left > 0:
            yield replace(one, items=one.items[:left])
            left -= len(one.items)


def _matters(done: DueList) -> Iterator[str]:
    """How many things are listed and how they stand, in parts that add up, with the hours and cost of the works."""
    if not done.items:
        yield "Nothing is known to be due."
        return
    states = Counter(map(_state, done.items))
    told = (
        ("overdue", "overdue"),
        ("due", "of a programme due now"),
        ("not due yet", f"of a programme to come by {text.day(done.until)}"),
        ("not known", "perhaps done already (see each)"),
        ("", "asked for by targets or last works"),
    )
    parts = [f"{states[state]:,} {words}" for state, words in told if states[state]]
    on = len({item.green for item in done.items})
    yield f"{text.count(len(done.items), 'thing')} on {text.count(on, 'green')}: {listed(parts)}."
    if works := len(done.works):
        hours, cost = _sum(done.hours, HOUR_PLACES, ""), _sum(done.cost, 2, done.currency)
        yield f"{text.count(works, 'of them is a work', 'of them are works')}. Hours: {hours}. Cost: {cost}."


def _state(item: DueItem) -> str:
    return "overdue" if item.due.overdue else item.due.state


def _sum(one: Sum, decimals: int, currency: str) -> str:
    if one.value is None:
        return "not known of any"
    unit = text.clean(currency, 12) or "h"
    known = one.logged + one.by_rate
    of = "" if known == one.of else f", known for {known:,} of {one.of:,}"
    return f"{text.with_unit(text.number(rounded(one.value, decimals), decimals), unit)}{of}"


def _total(one: Total) -> TotalRow:
    places = {"kg": 0, "lb": 0, "t": 3, "short tons": 3}.get(one.unit, 1)  # 4.004 t are 5 packs of a tonne
    return TotalRow(
        text.clean(one.what, 90),
        "not known" if one.amount is None else text.quantity(one.amount, text.clean(one.unit, 12), places),
        text.clean(one.held, 60),
        f"{one.greens:,}",
        f"{one.unknown:,} of {text.count(one.lines, 'line')}" if one.unknown else "",
    )


def _weather(greens: Sequence[GreenDue]) -> Iterator[WeatherRow]:
    """The weather on record, the same of several greens once: those of a station have one."""
    alike = grouped((one for one in greens if one.items), lambda one: str(one.weather))
    for weather, own in alike.items():
        every = len(alike) == 1 and len(own) > 1
        named = "all greens listed" if every else _named([text.clean(one.green, 24) for one in own])
        yield WeatherRow(text.clean(weather, 400), named)


def _green(one: GreenDue, done: DueList, sources: Sources, usual: str) -> GreenRows:
    known = f"records up to {text.day(one.day)}" if one.day else "nothing on record"
    return GreenRows(
        text.name(one.name, 60),
        text.clean(one.green, 24),
        text.name(one.club_name or one.club, 80),
        "" if one.day == done.day else known,
        tuple(_row(item, sources, usual) for item in one.items),
    )


def _row(item: DueItem, sources: Sources, usual: str) -> Row:
    due = item.due
    return Row(
        STATES.get("overdue" if due.overdue else due.state, ""),
        due.overdue,
        _days(item),
        text.clean(due.what, 120),
        remarks.quantity_of(due.quantity, 320),
        text.sentence(sources.said(due.why, 400)),
        tuple(text.sentence(sources.said(said, 300)) for said in item.against),
        _hours(item, usual),
        _cost(item),
    )


def _days(item: DueItem) -> str:
    """The window of a line that is open or to come; by when, of anything else."""
    due = item.due
    if due.first and due.day:
        return f"to {text.short_day(due.day)}" if due.overdue else text.days(due.first, due.day)
    by = remarks.by_when(due.by, 80)
    if due.day:
        by = by.replace(long_date(due.day), text.short_day(due.day))
    return text.sentence(by).removesuffix(".")


def _usual(done: DueList) -> str:
    """Where the hours of most works come from."""
    found = Counter(item.hours.how for item in done.works if item.hours.known)
    return max(sorted(found), key=lambda how: found[how], default="by rate")


def _hours(item: DueItem, usual: str) -> str:
    """Hours, marked where they come from elsewhere than most; a dash where not known, nothing of what is no work."""
    if item.hours.value is None:
        return UNKNOWN if item.due.operation else ""
    return text.number(rounded(item.hours.value, HOUR_PLACES), HOUR_PLACES) + ("" if item.hours.how == usual else ELSE)


def _cost(item: DueItem) -> str:
    """Cost, marked where it is without machines; likewise."""
    if item.cost.value is None:
        return UNKNOWN if item.due.operation else ""
    return text.number(rounded(item.cost.value), 2) + (PARTIAL if _short(item.cost) else "")


def _short(cost: Figure) -> bool:
    return cost.known and cost.why.startswith("without")


def _marks(done: DueList, usual: str) -> Iterator[str]:
    """Where hours and cost come from, once, and what the marks beside some say."""
    ways = {"by rate": "by rate (area by passes over the output an hour)", "planned": "as the programme gives them"}
    hows = {item.hours.how for item in done.works if item.hours.known}
    if usual in hows:
        others = [f"{ELSE} {ways[how]}" for how in sorted(hows - {usual}) if how in ways]
        yield "; ".join([f"Hours are of all people, {ways.get(usual, usual)}", *others]) + "."
    if any(item.cost.known for item in done.works):
        short = f"; {PARTIAL} without machines, for which no rate holds" if any(map(_short, _costs(done))) else ""
        yield f"Cost is hours by the rates with materials by their prices, without VAT and carriage{short}."
    if any(not one.known for item in done.works for one in (item.hours, item.cost)):
        yield f"{UNKNOWN} not known: the reasons stand at the end."


def _costs(done: DueList) -> Iterator[Figure]:
    return (item.cost for item in done.works)


def _reasons(done: DueList) -> Iterator[str]:
    """Why hours and cost are not known, each reason once with how many works it is of."""
    found = {
        what: Counter(one.why for one in figures if not one.known)
        for what, figures in (("hours", [one.hours for one in done.works]), ("cost", list(_costs(done))))
    }
    alike = {why: number for why, number in found["hours"].items() if found["cost"][why] == number}
    told = [(number, why, "Hours and cost") for why, number in alike.items()]
    told += [
        (number, why, what.capitalize())
        for what, whys in found.items()
        for why, number in whys.items()
        if why not in alike
    ]
    for number, why, what in sorted(told, key=lambda one: (-one[0], one[2], one[1]))[:MOST_REASONS]:
        yield f"{what} not known of {text.count(number, 'work')}: {text.clean(why, 200)}."
    if (left := len(told) - MOST_REASONS) > 0:
        yield f"{text.count(left, 'further reason')} in the attached due.csv."


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
        report = view(shown, most, version=version, units=house.units)
        yield Pages(fill("due.html.j2", house, report=report, attached=attached))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda done: done.day,
    most_pages=lambda *_: MOST_PAGES,
    styles=("due.css",),
    endings=("closer.css", "wider.css"),
)
html, render = DOCUMENT.html, DOCUMENT.render
