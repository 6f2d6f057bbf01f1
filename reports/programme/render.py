"""From a frozen programme with its price to its PDF: what is done and what it costs first, then every line and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from pipeline.common.amounts import Amount
from pipeline.common.grouped import grouped
from pipeline.common.money import rounded
from pipeline.common.words import listed, often
from pipeline.plan.cost import Sum
from pipeline.plan.entries import LICENSED_PRACTICE
from pipeline.plan.priced import OfGreen, PricedProgramme, hours_of, net_of, unknown_parts
from pipeline.plan.quotation import QuotedLine
from pipeline.plan.rates import HOUR_PLACES, Rate
from pipeline.plan.unit_price import UnitPrice
from pipeline.plan.works import HOW_OFTEN
from reports.page import remarks, text, units
from reports.page.document import Document, Pages
from reports.page.effort import PARTIAL
from reports.page.house_style import HouseStyle, Units
from reports.page.templating import fill
from reports.programme.data import csv_files
from reports.programme.wording import basis_of, held, how, in_words, left_out, noted_in, said, size_words, what
from schemas.codes import code_list

MOST_PAGES = 200
"""A programme is printed whole, however many lines it has."""
MOST_WHY, MOST_NOTE, MOST_LEFT = 1200, 1200, 24
CAUTIONS = (
    "The label of a product, the law of the place and what a licensed person decides come before any line of this "
    "programme.",
    LICENSED_PRACTICE,
    "Windows are days between which a work is meant to be done; the state of the green and the weather decide the day.",
)
"""Stand in every programme, whatever its lines are."""
BY_USE = (
    "Materials are charged by what is used, at the price a {} or {} of a pack named below: the one that the register "
    "of materials names, else one no larger than the line needs, and at most a whole larger pack. Whole packs bought "
    "come to more, and delivery is not in it."
)


@dataclass(frozen=True)
class MonthRow:
    """A month as printed: the works that begin in it in plain words, its hours and its price."""

    month: str
    works: str
    hours: str
    price: str


@dataclass(frozen=True)
class MoneyRow:
    """A sum of the price."""

    name: str
    sum: str
    strong: bool = False


@dataclass(frozen=True)
class LineRow:
    """A line of the programme as printed."""

    when: str
    work: str
    how: str
    notes: str
    amount: str
    why: str
    hours: str
    price: str


@dataclass(frozen=True)
class GreenTable:
    """The lines of one green with their sum."""

    heading: str
    rows: tuple[LineRow, ...]
    hours: str
    price: str


@dataclass(frozen=True)
class PriceRow:
    """A price or rate that was used."""

    name: str
    what: str
    amount: str
    since: str


@dataclass(frozen=True)
class ProgrammeReport:
    """A programme with its price as printed; every field is final text."""

    title: str
    heading: str
    about: str
    season: str
    period: str
    origin: str
    issued: str
    running_head: str
    created: str
    version: str
    density: str
    long_name: bool
    matters: tuple[str, ...]
    without: tuple[str, ...]
    price_heading: str
    months: tuple[MonthRow, ...]
    total_hours: str
    total_price: str
    money: tuple[MoneyRow, ...]
    partial: str
    tables: tuple[GreenTable, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    prices: tuple[PriceRow, ...]
    rates: tuple[PriceRow, ...]
    by_use: str
    not_planned: tuple[str, ...]
    not_planned_more: str


def view(made: PricedProgramme, *, version: str, units_: Units = "metric") -> ProgrammeReport:
    """The programme with every figure formatted."""
    name, season = text.name(made.name), text.name(made.season.name)
    notes = _Notes()
    tables = tuple(_table(made, green, notes, units_) for green in made.greens)
    left = list(left_out(made.not_planned, units_))
    first, last = text.day(made.season.start), text.day(made.season.end)
    return ProgrammeReport(
        title=f"Programme and price: {_whose(made)}, season {season}",
        heading=text.name(made.club) if made.club else name,
        about=_about(made),
        season=season,
        period=f"{first} – {last}",
        origin=_origin(made),
        issued=_issued(made),
        running_head=f"{text.clean(_whose(made), 60)}, programme and price",
        **remarks.stamp(made.day, version),
        density="",
        long_name=len(made.club or name) > remarks.LONG_NAME,
        matters=tuple(_matters(made)),
        without=tuple(text.sentence(text.clean(one, MOST_NOTE)) for one in made.quotation.without),
        price_heading=f"Price, {text.currency_sign(text.clean(made.currency, 12))}",
        months=tuple(_month(month, lines, units_) for month, lines in made.months.items()),
        total_hours=_hours(made.hours),
        total_price=_net(made.lines),
        money=tuple(_money(made, units_)),
        partial=_partial(made),
        tables=tables,
        notes=notes.texts,
        cautions=CAUTIONS,
        prices=tuple(_price(one, made.currency, units_) for one in made.prices),
        rates=tuple(_rate(one, made.currency, units_) for one in made.rates),
        by_use=" ".join(filter(None, [_by_use(units_) if made.prices else "", _unused(made)])),
        not_planned=tuple(left[:MOST_LEFT]),
        not_planned_more=text.more(len(left) - MOST_LEFT, "work", "not-planned.csv"),
    )


class _Notes:
    """Notes of lines, each once, told by its number."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def number(self, words: str) -> str:
        """The number of a note; "" of none."""
        shown = text.sentence(text.clean(words, MOST_NOTE)) if words.strip() else ""
        return str(self._numbers.setdefault(shown, len(self._numbers) + 1)) if shown else ""

    @property
    def texts(self) -> tuple[str, ...]:
        """The notes in the order of their numbers."""
        return tuple(self._numbers)


def _about(made: PricedProgramme) -> str:
    """The green it is of, or of how many it is."""
    return _of_green(made.greens[0]) if made.club else text.count(len(made.greens), "green")


def _of_green(green: OfGreen) -> str:
    """A green by its name and code: many are called nothing but Green."""
    called = text.name(green.name)
    return called if green.name == green.code else f"{called} {text.clean(green.code, 24)}"


def _whose(made: PricedProgramme) -> str:
    """Green and club, or the club."""
    return f"{_of_green(made.greens[0])}, {text.name(made.club)}" if made.club else text.name(made.name)


def _issued(made: PricedProgramme) -> str:
    """The day of issue and how long the price holds."""
    until = made.valid_until
    valid = "How long the price holds is not stated." if until is None else f"The price holds until {text.day(until)}."
    return f"Issued on {text.day(made.issue_day)}. {valid}"


def _by_use(units_: Units) -> str:
    return BY_USE.format(*(("kg", "litre") if units_ == "metric" else ("lb", "gallon")))


def _origin(made: PricedProgramme) -> str:
    if made.loaded:
        return f"Of the lines loaded into the records; records up to {text.day(made.day)}."
    return f"As planned from {text.day(made.day)} on; these lines are not loaded into the records yet."


def _matters(made: PricedProgramme) -> Iterator[str]:
    """The programme in a few sentences: how much work, how many hours, what it costs."""
    if not made.lines:
        yield "Nothing is planned."
        return
    over = f" on {text.count(len(made.greens), 'green')}" if len(made.greens) > 1 else ""
    yield f"{text.count(len(made.lines), 'line')} of work{over}, from {_first_to_last(made)}."
    yield "The price is of these lines alone: work that is not listed here is not in it."
    hours = made.hours
    if hours.value is None:
        yield "Hours: not known, for the programme gives none and no output an hour is loaded."
    else:
        said = (
            "" if hours.complete else f", known for {hours.logged + hours.by_rate:,} of {text.count(hours.of, 'line')}"
        )
        shown = text.number(rounded(hours.value, HOUR_PLACES), HOUR_PLACES)
        yield f"Hours of all people together: {shown}{said}."
    yield _price_words(made)


def _first_to_last(made: PricedProgramme) -> str:
    first = min(line.planned.first for line in made.lines)
    return f"{text.day(first)} to {text.day(max(line.planned.last for line in made.lines))}"


def _price_words(made: PricedProgramme) -> str:
    price = made.quotation
    if price.before_vat == 0 and price.without:
        return "Price: not known; what is missing for it is named below."
    vat = price.vat is not None
    net = f"{_money_words(price.before_vat, made.currency)} without VAT"
    gross = f"{_money_words(price.total, made.currency)} with VAT of {_percent(price.vat_pct)}" if vat else ""
    told = [gross, net] if made.with_vat and gross else [net, *([gross] if gross else [])]
    least = "" if price.complete or not _lacks_money(made) else "; it is without what is named below"
    return f"Price: {', '.join(told)}{least}."


def _lacks_money(made: PricedProgramme) -> bool:
    """Whether more than VAT is missing from the price."""
    return any(not one.startswith("VAT") for one in made.quotation.without)


def _percent(value: Decimal | None) -> str:
    return f"{value.normalize():f}{text.NARROW}%" if value is not None else ""


def _money_words(value: Decimal, currency: str) -> str:
    return text.with_unit(text.number(value, 2), text.clean(currency, 12))


def _money(made: PricedProgramme, units_: Units) -> Iterator[MoneyRow]:
    """The price by sort, its sum, VAT and the whole."""
    price = made.quotation
    yield MoneyRow("Labour", _cell(price.labour, known=any(line.labour is not None for line in made.lines)))
    yield MoneyRow("Machines", _cell(price.machine, known=any(line.machine is not None for line in made.lines)))
    yield MoneyRow("Materials", _cell(price.material, known=any(line.material is not None for line in made.lines)))
    if price.travel is not None and made.travel_km is not None:
        yield MoneyRow(f"Travel, {units.distance(made.travel_km, units_)}", text.number(price.travel, 2))
    yield MoneyRow("Price without VAT", text.number(price.before_vat, 2), strong=True)
    if price.vat is not None:
        yield MoneyRow(f"VAT of {_percent(price.vat_pct)}", text.number(price.vat, 2))
        yield MoneyRow("Price with VAT", text.number(price.total, 2), strong=True)


def _cell(value: Decimal, *, known: bool) -> str:
    return text.number(value, 2) if known else "not known"


def _partial(made: PricedProgramme) -> str:
    if not any(unknown_parts(line) for line in made.lines) and made.hours.complete:
        return ""
    return f"{PARTIAL} a part of it is not known; what is missing is named under the price. – nothing of it is known."


def _hours(found: Sum) -> str:
    """Hours, marked where some lines have none."""
    if found.value is None:
        return "–"
    return text.number(rounded(found.value, HOUR_PLACES), HOUR_PLACES) + ("" if found.complete else PARTIAL)


def _net(lines: Sequence[QuotedLine]) -> str:
    """The price of lines, marked where a part of it is not known."""
    net, lacks = net_of(lines), any(map(unknown_parts, lines))
    return "–" if lacks and not net else text.number(net, 2) + (PARTIAL if lacks else "")


def _month(month: date, lines: Sequence[QuotedLine], units_: Units) -> MonthRow:
    alike = grouped((line.planned for line in lines), lambda one: (one.operation, one.material, one.unit))
    works = [in_words(same, month, units_) for same in alike.values()]
    words = text.sentence("; ".join([*works[:1], *map(text.inside, works[1:])]))
    return MonthRow(f"{month:%B} {month.year}", words, _hours(hours_of(lines)), _net(lines))


def _table(made: PricedProgramme, green: OfGreen, notes: _Notes, units_: Units) -> GreenTable:
    lines = made.of_green(green.code)
    area = Amount(green.area_m2, "m²", ",.0f") if green.area_m2 else None
    size = "area not recorded" if area is None else said(area, units_)
    called = text.name(green.name)
    code = f" ({text.clean(green.code, 24)})" if green.name != green.code else ""
    rows = tuple(_line(line, notes, units_) for line in lines)
    return GreenTable(f"{called}{code}, {size}", rows, _hours(hours_of(lines)), _net(lines) if lines else "–")


def _line(line: QuotedLine, notes: _Notes, units_: Units) -> LineRow:
    one = line.planned
    unknown = HOW_OFTEN if one.times is None else "not known"
    amount = unknown if one.size is None else size_words(one.size, one, units_)
    if one.unit != "times" and one.times and one.times > 1:
        amount += f" in all, {often(round(one.times))}"
    return LineRow(
        when=text.days(one.first, one.last),
        work=what(one),
        how=how(one, units_),
        notes=notes.number(noted_in(one, units_)),
        amount=amount.replace(text.HARD, " "),
        why=text.sentence(text.clean(basis_of(one, units_), MOST_WHY)) if one.basis else "No basis is given.",
        hours=_hours(hours_of([line])),
        price=_net([line]),
    )


def _price(one: UnitPrice, currency: str, units_: Units) -> PriceRow:
    pack = held(one.pack, one.unit, units_)
    each, per = units.price_each(one.each, one.unit, units_)
    return PriceRow(
        text.clean(one.material, 60),
        f"{pack} of {text.clean(one.supplier, 40)} at {_money_words(one.price, currency)}",
        f"{text.with_unit(text.number(each, 4), text.clean(currency, 12))} a {per}",
        text.day(one.holds_from) if one.holds_from else "the start",
    )


def _unused(made: PricedProgramme) -> str:
    """Materials that have prices which are not used, and why."""
    if not made.unused_prices:
        return ""
    named = listed([text.clean(one, 60) for one in made.unused_prices])
    return f"Of {named} no price is plainly that of a single pack, and none is used."


def _rate(one: Rate, currency: str, units_: Units) -> PriceRow:
    names = {"labour": "Labour", "machine": "Machine", "mileage": "Mileage", "output": "Output"}
    work = code_list("operation")[one.operation].label if one.operation else "any work"
    what = listed([work, *([text.clean(one.machine, 40)] if one.machine else [])])
    if one.output_m2_h:
        amount = f"{said(Amount(one.output_m2_h, 'm²', ',.4g'), units_)} an hour"
    elif one.amount is None:
        amount = "not given"
    elif one.of == "mileage":
        each, per = units.price_each(one.amount, "km", units_)
        amount = f"{text.with_unit(text.number(each, 2 if per == 'km' else 4), text.clean(currency, 12))} a {per}"
    else:
        amount = f"{_money_words(one.amount, currency)} an hour"
    return PriceRow(names[one.of], what, amount, text.day(one.holds_from) if one.holds_from else "the start")


def _drafts(made: PricedProgramme, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    report = view(made, version=version, units_=house.units)
    dated = replace(house, issued_iso=made.issue_day.isoformat())  # its day of issue stands with the price
    yield Pages(fill("programme.html.j2", dated, report=report, attached=attached))


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda made: made.day,
    most_pages=lambda *_: MOST_PAGES,
    styles=("programme.css",),
    endings=("closer.css", "wider.css"),
)
html, render = DOCUMENT.html, DOCUMENT.render
