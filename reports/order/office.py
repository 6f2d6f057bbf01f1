"""From a placed order to the office's PDF: what is not ordered and what to ask first, then what is bought and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from pipeline.common.grouped import grouped
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.ordering.placed import PlacedOrder
from pipeline.plan.purchase.parts import Balance, Delivery, Line, SupplierOrder
from reports.order.amounts import amount, heading_of, money, pack, rounded_note, worded
from reports.order.data import office_files
from reports.page import remarks, text
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle, Units
from reports.page.templating import fill

MOST_PAGES = 400
"""An order is printed whole: it is worked from."""
MOST_ROWS = 1_000
"""Rows of one table; a row takes some 20 ms. What is more stands in the attached CSV."""
MOST_PLACES = 300
"""Places of one supplier's order that are printed, likewise."""
MOST_GREENS = 6
"""Greens named beside what is not ordered."""
NOT_KNOWN = "not known"


@dataclass(frozen=True)
class StopRow:
    """What is not ordered, as printed."""

    material: str
    place: str
    greens: str
    reason: str
    source: str


@dataclass(frozen=True)
class AskedRow:
    """A question and the lines it is about."""

    text: str
    source: str


@dataclass(frozen=True)
class SumRow:
    """The sums of one supplier, or of all."""

    supplier: str
    places: str
    goods: str
    carriage: str
    before_vat: str
    vat: str
    gross: str


@dataclass(frozen=True)
class OrderLine:
    """A line of an order."""

    material: str
    packs: str
    pack: str
    price: str
    sum: str
    note: str


@dataclass(frozen=True)
class Drop:
    """What a supplier brings to a place."""

    place: str
    lines: tuple[OrderLine, ...]
    carriage: str


@dataclass(frozen=True)
class SupplierTable:
    """The order to one supplier."""

    supplier: str
    reference: str
    drops: tuple[Drop, ...]
    more: str


@dataclass(frozen=True)
class BalanceRow:
    """Of one material at a place."""

    material: str
    needed: str
    stock: str
    coming: str
    bought: str
    left: str


@dataclass(frozen=True)
class BalancePlace:
    """What a place needs and has left over."""

    place: str
    rows: tuple[BalanceRow, ...]


@dataclass(frozen=True)
class OfficeReport:
    """An order as the office reads it; every field is final text."""

    title: str
    name: str
    heading: str
    of: str
    day: str
    running_head: str
    created: str
    version: str
    density: str
    currency: str
    with_vat: bool
    stopped: tuple[StopRow, ...]
    stopped_more: str
    questions: tuple[AskedRow, ...]
    sums: tuple[SumRow, ...]
    total: SumRow | None
    short_of: str
    suppliers: tuple[SupplierTable, ...]
    balances: tuple[BalancePlace, ...]
    balances_more: str
    rounded: str
    decided: tuple[str, ...]


def view(made: PlacedOrder, *, version: str, units_: Units = "metric") -> OfficeReport:
    """The order with every amount and sum formatted."""
    order = made.order
    asked_for = [one for one in order.balances if one.needed or one.bought]
    other = len(order.balances) - len(asked_for)
    more = text.more(len(asked_for) - MOST_ROWS, "row", "balances.csv")
    if other:
        stock = text.count(other, "further line of stock", "further lines of stock")
        more += f" {stock} that no green asks for: balances.csv, attached."
    return OfficeReport(
        title=f"Order for the office: {text.clean(made.name, 120)}",
        name=text.clean(made.name, 120),
        heading="Order",
        of=text.clean(made.of, 300),
        day=text.day(made.day),
        running_head=heading_of(made.name),
        **remarks.stamp(made.day, version),
        density="",
        currency=text.clean(made.currency, 12),
        with_vat=order.vat is not None,
        stopped=tuple(_stopped(made, units_))[:MOST_ROWS],
        stopped_more=text.more(len(order.stopped) - MOST_ROWS, "line", "asked.csv"),
        questions=tuple(
            AskedRow(text.sentence(text.clean(worded(one.text, made.currency, units_), 900)), _source(one.places))
            for one in order.questions
        ),
        sums=tuple(_sums(made, one) for one in order.suppliers),
        total=_total(made) if order.suppliers else None,
        short_of=_short_of(made),
        suppliers=tuple(_supplier(made, one, units_) for one in order.suppliers),
        balances=tuple(
            BalancePlace(text.clean(place, 80), tuple(_balance(one, units_) for one in some))
            for place, some in grouped(asked_for[:MOST_ROWS], lambda one: one.drop).items()
        ),
        balances_more=more.strip(),
        rounded=rounded_note((part for one in asked_for for part in _parts(one)), units_),
        decided=tuple(text.clean(worded(one, made.currency, units_), 400) for one in made.decided),
    )


def _parts(one: Balance) -> tuple[Decimal, ...]:
    return (one.needed, one.from_stock, one.from_on_order, one.bought, one.left_of_bought)


def _source(places: Sequence[Evidence]) -> str:
    told = [f"{text.clean(one.file, 60)}, line {one.line}" for one in places[:2]]
    more = [f"{len(places) - 2:,} more"] if len(places) > 2 else []
    return "; ".join([*told, *more])


def _stopped(made: PlacedOrder, units_: Units) -> Iterator[StopRow]:
    for one in made.order.stopped:
        left = len(one.greens) - MOST_GREENS
        greens = ", ".join(text.clean(green, 24) for green in one.greens[:MOST_GREENS])
        yield StopRow(
            text.clean(one.material, 80) or "none named",
            text.clean(one.drop, 60),
            f"{greens}{f' and {left:,} more' if left > 0 else ''}",
            text.sentence(text.clean(worded(one.reason, made.currency, units_), 400)),
            _source(one.places),
        )


def _sums(made: PlacedOrder, one: SupplierOrder) -> SumRow:
    def shown(of: object) -> str:
        return "" if of is None else money(of, made.currency)  # type: ignore[arg-type]

    known = [delivery for delivery in one.deliveries if delivery.carriage is not None]
    carriage = shown(one.carriage) if known else NOT_KNOWN
    if known and not one.carriage_known:
        carriage += " and not known"
    return SumRow(
        text.clean(one.supplier, 60),
        text.count(len(one.deliveries), "place"),
        shown(one.goods),
        carriage,
        shown(one.net),
        shown(one.vat),
        shown(one.gross),
    )


def _total(made: PlacedOrder) -> SumRow:
    order, currency = made.order, made.currency
    carriage = sum(one.carriage for one in order.suppliers)
    return SumRow(
        "In all",
        "",
        money(order.net - carriage, currency),
        money(carriage + 0 * order.net, currency),
        money(order.net, currency),
        "" if order.vat is None else money(order.vat, currency),
        "" if order.gross is None else money(order.gross, currency),
    )


def _short_of(made: PlacedOrder) -> str:
    """What the sums are without."""
    parts = []
    if unknown := made.order.carriage_not_known:
        parts.append(f"the carriage of {', '.join(text.clean(one, 60) for one in unknown)}")
    if made.order.stopped:
        parts.append("what is not ordered")
    return f"The sums are without {' and '.join(parts)}." if parts else ""


def _supplier(made: PlacedOrder, one: SupplierOrder, units_: Units) -> SupplierTable:
    drops = tuple(_drop(made, delivery, units_) for delivery in one.deliveries[:MOST_PLACES])
    more = text.more(len(one.deliveries) - len(drops), "place", "lines.csv")
    return SupplierTable(text.clean(one.supplier, 60), text.clean(made.reference(one.supplier), 160), drops, more)


def _drop(made: PlacedOrder, one: Delivery, units_: Units) -> Drop:
    carriage = NOT_KNOWN if one.carriage is None else money(one.carriage, made.currency)
    return Drop(text.clean(one.drop, 80), tuple(_line(made, line, units_) for line in one.lines), carriage)


def _line(made: PlacedOrder, one: Line, units_: Units) -> OrderLine:
    note = f"price from {one.from_packs:,} packs on, all places together" if one.from_packs > 1 else ""
    return OrderLine(
        text.clean(one.material, 80), f"{one.packs:,}", pack(one, units_), money(one.price, made.currency),
        money(one.cost, made.currency), note,
    )  # fmt: skip


def _balance(one: Balance, units_: Units) -> BalanceRow:
    def shown(of: object) -> str:
        return amount(of, one.unit, units_) if of else "–"  # type: ignore[arg-type]

    left = [
        f"{amount(of, one.unit, units_)} {where}"
        for of, where in (
            (one.left_of_bought, "of the packs"),
            (one.left_of_stock, "in stock"),
            (one.left_on_order, "on order"),
        )
        if of
    ]
    over = f" (with {amount(one.overspread, one.unit, units_)} overspread)" if one.overspread else ""
    return BalanceRow(
        text.clean(one.material, 80),
        shown(one.needed) + over,
        shown(one.from_stock),
        shown(one.from_on_order),
        shown(one.bought),
        ", ".join(left) or "–",
    )


def _drafts(made: PlacedOrder, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    yield Pages(
        fill("order-office.html.j2", house, report=view(made, version=version, units_=house.units), attached=attached)
    )


DOCUMENT = Document(
    drafts=_drafts,
    attached=office_files,
    day=lambda made: made.day,
    most_pages=lambda *_: MOST_PAGES,
    styles=("order.css",),
    endings=("closer.css", "wider.css"),
)
html, render = DOCUMENT.html, DOCUMENT.render
