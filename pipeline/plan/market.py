"""Prices, stock, rates, the calendar and what the register says of materials, as the store holds them; read only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from pipeline.common.grouped import grouped
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.rates import RateOf
from pipeline.store.store import Store

Occasion = Literal["closed", "match"]


@dataclass(frozen=True)
class Price:
    """What a supplier asks for one pack of a material, without VAT.

    Attributes:
        material: as the register names it.
        supplier: who sells it.
        pack_kg: mass of a pack or load; None where it is told by volume.
        pack_l: volume of a pack; None where it is told by mass.
        price: of one pack, in the workspace's currency.
        from_packs: packs of it in one order from which the price holds.
        carriage: for one delivery; None where it is not known, which is not 0.
        holds_from: first day; None from the start.
        place: the line it was read from.
    """

    material: str
    supplier: str
    pack_kg: float | None
    pack_l: float | None
    price: Decimal
    from_packs: int
    carriage: Decimal | None
    holds_from: date | None
    place: Evidence


@dataclass(frozen=True)
class InStock:
    """Some of a material that is there, or on order.

    Attributes:
        material: as the register names it.
        depot: where it lies, or is to come; "" where it is not said.
        kg: mass; None where it is told by volume, or not known.
        l: volume; None where it is told by mass, or not known.
        counted_on: day of the count, or on which the order still was one.
        on_order: whether it has not come yet.
        expected: day on which an order is to come; None where not said.
        unsized: why neither mass nor volume is known; "" where one is.
        place: the line it was read from.
        instead_of: earlier days on which an order without a number was one still: taken to be the same.
    """

    material: str
    depot: str
    kg: float | None
    l: float | None  # noqa: E741 (the litre)
    counted_on: date
    on_order: bool
    expected: date | None
    unsized: str
    place: Evidence
    instead_of: tuple[date, ...] = ()


@dataclass(frozen=True)
class Rate:
    """What an hour or a kilometre costs, without VAT, or what area an hour's work comes to.

    Attributes:
        of: what it is the rate of.
        operation: work it holds for; "" for any.
        machine: machine it holds for; "" for any.
        amount: money an hour, or a kilometre of mileage; None of an output.
        output_m2_h: area of green an hour; None of money.
        holds_from: first day; None from the start.
        place: the line it was read from.
    """

    of: RateOf
    operation: str
    machine: str
    amount: Decimal | None
    output_m2_h: float | None
    holds_from: date | None
    place: Evidence


@dataclass(frozen=True)
class Kept:
    """Days on which greens are closed or played on.

    Attributes:
        greens: the greens; None for every green.
        first: first day.
        last: last day.
        occasion: closed, or a match.
        title: what is on, "" where not said.
        place: the line it was read from.
    """

    greens: frozenset[str] | None
    first: date
    last: date
    occasion: Occasion
    title: str
    place: Evidence

    def takes(self, green: str, day: date) -> bool:
        """Whether it takes this green on this day."""
        return self.first <= day <= self.last and (self.greens is None or green in self.greens)


def _place(row: Mapping[str, Any], kind: str) -> Evidence:
    return Evidence(row["file"], row["line"], kind, row["load_id"])


def prices(store: Store) -> tuple[Price, ...]:
    """Every price in force, of all days, by material, supplier and pack."""
    return tuple(
        Price(
            **{name: row[name] for name in ("material", "supplier", "pack_kg", "pack_l", "price", "from_packs")},
            carriage=row["carriage"],
            holds_from=row["holds_from"],
            place=_place(row, "price"),
        )
        for row in store.current("price").iter_rows(named=True)
    )


def prices_on(every: Iterable[Price], day: date) -> tuple[Price, ...]:
    """The prices that hold on a day: of each material, supplier and pack those of the latest day from which any holds.

    A new list takes the place of the whole former one: a price break of last year does not hold beside this year's.
    """
    begun = [one for one in every if (one.holds_from or date.min) <= day]
    lists = grouped(begun, lambda one: (one.material, one.supplier, one.pack_kg, one.pack_l))
    return tuple(one for same in lists.values() for one in _latest(same))


def _latest(same: list[Price]) -> list[Price]:
    since = max(one.holds_from or date.min for one in same)
    return [one for one in same if (one.holds_from or date.min) == since]


_STOCK = """
SELECT s.*, m.material IS NOT NULL AS in_register, m.pack_kg, m.pack_l FROM stock AS s
LEFT JOIN material_by_day AS m ON m.material = s.material
    AND (m.holds_from IS NULL OR s.counted_on >= m.holds_from)
    AND (m.holds_until IS NULL OR s.counted_on < m.holds_until)
"""


def stock_on(store: Store, day: date) -> tuple[InStock, ...]:
    """What is there and what is on order, as known on a day, by material and depot.

    The latest count of a material in a depot holds. What was on order before the day of that count is taken to have
    come: it is counted with it, and would else be there twice. So would an order that is told of on several days: of
    those of one number the latest holds, and of those without one, which is told on the line.
    """
    by = ("material", "depot", "counted_on")
    rows = store.frame(f"SELECT * FROM ({_STOCK}) WHERE counted_on <= $day", day=day, by=by)  # noqa: S608
    found = []
    for same in grouped(rows.iter_rows(named=True), lambda row: (row["material"], row["depot"])).values():
        counted = max((row["counted_on"] for row in same if not row["on_order"]), default=date.min)
        found += [_in_stock(row) for row in same if row["counted_on"] == counted and not row["on_order"]]
        orders = grouped((row for row in same if _still(row, counted)), lambda row: row["reference"])
        found += [_latest_of(one) for one in orders.values()]
    return tuple(found)


def _latest_of(orders: list[dict[str, Any]]) -> InStock:
    """The latest row of an order; its earlier days beside it where nothing but the material says that it is one."""
    *former, last = sorted(orders, key=lambda row: row["counted_on"])
    days = () if last["reference"] else tuple(row["counted_on"] for row in former)
    return replace(_in_stock(last), instead_of=days)


def _still(row: Mapping[str, Any], counted: date) -> bool:
    """Whether a row is an order that was still one on the day of the latest count, or was made since."""
    return bool(row["on_order"]) and bool(row["counted_on"] >= counted)


def _in_stock(row: Mapping[str, Any]) -> InStock:
    kg, litres, packs = row["mass_kg"], row["volume_l"], row["packs"]
    if packs is not None and row["pack_kg"] is not None:
        kg = packs * row["pack_kg"]
    elif packs is not None and row["pack_l"] is not None:
        litres = packs * row["pack_l"]
    known = "the register does not say what a pack of it holds" if row["in_register"] else "it is not in the register"
    return InStock(
        material=row["material"],
        depot=row["depot"] or "",
        kg=kg,
        l=litres,
        counted_on=row["counted_on"],
        on_order=bool(row["on_order"]),
        expected=row["expected"],
        unsized="" if kg is not None or litres is not None else f"packs of {row['material']} are counted, and {known}",
        place=_place(row, "stock"),
    )


def rates(store: Store) -> tuple[Rate, ...]:
    """Every rate in force, of all days, by what, work and machine."""
    return tuple(
        Rate(
            of=row["rate_of"],
            operation=row["operation"] or "",
            machine=row["machine"] or "",
            amount=row["amount"],
            output_m2_h=row["output_m2_h"],
            holds_from=row["holds_from"],
            place=_place(row, "rate"),
        )
        for row in store.current("rate").iter_rows(named=True)
    )


def rates_on(store: Store, day: date) -> tuple[Rate, ...]:
    """The rates that hold on a day, one each of what, work and machine."""
    begun = [one for one in rates(store) if (one.holds_from or date.min) <= day]
    lists = grouped(begun, lambda one: (one.of, one.operation, one.machine))
    return tuple(max(same, key=lambda one: one.holds_from or date.min) for same in lists.values())


_CALENDAR = """
SELECT c.*, g.green AS of_club FROM calendar AS c LEFT JOIN green_by_day AS g ON g.club = c.club
    AND (g.holds_from IS NULL OR c.from_day >= g.holds_from) AND (g.holds_until IS NULL OR c.from_day < g.holds_until)
WHERE c.home_or_away IS DISTINCT FROM 'away' OR c.occasion <> 'match'
"""

_OF_LINE = ("load_id", "line", "green", "club", "from_day", "occasion", "title")
"""What tells the lines of the calendar apart, also several of one line of a file."""


def calendar(store: Store) -> tuple[Kept, ...]:
    """Days on which greens are closed or played on; matches away take no green, and are left out."""
    rows = store.frame(_CALENDAR, by=("from_day", "file", "line", "of_club"))
    lines = grouped(rows.iter_rows(named=True), lambda row: tuple(row[name] for name in _OF_LINE))
    return tuple(_kept(same) for same in lines.values())


def _kept(same: list[dict[str, Any]]) -> Kept:
    row = same[0]
    greens = None if row["green"] is None and row["club"] is None else frozenset(_whose(same))
    return Kept(
        greens, row["from_day"], row["to_day"] or row["from_day"], row["occasion"], row["title"] or "",
        _place(row, "calendar"),
    )  # fmt: skip


def _whose(same: list[dict[str, Any]]) -> Iterable[str]:
    return (green for row in same if (green := row["green"] or row["of_club"]))


def depots_in_stock(store: Store) -> tuple[str, ...]:
    """Depots that the records of stock name, by name."""
    rows = store.rows("SELECT DISTINCT depot FROM stock WHERE depot IS NOT NULL ORDER BY depot")
    return tuple(depot for (depot,) in rows)


def last_counted(store: Store) -> date | None:
    """The last day on which stock was counted or ordered; None where none is recorded."""
    ((day,),) = store.rows("SELECT max(counted_on) FROM stock")
    return day  # type: ignore[no-any-return]


def order_references(store: Store) -> tuple[str, ...]:
    """What the orders are called that the records of stock hold, by name."""
    rows = store.rows("SELECT DISTINCT reference FROM stock WHERE reference IS NOT NULL ORDER BY reference")
    return tuple(reference for (reference,) in rows)
