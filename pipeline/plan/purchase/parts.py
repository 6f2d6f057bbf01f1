"""What is bought from what is needed: needs, stock and offers on one side, the order to each supplier on the other.

Amounts are kg or l as they are bought, money is in the workspace's currency without VAT, both as Decimal: no float
decides a cost, and none is printed. Pure: no store, no settings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from pipeline.common.amounts import Amount, AmountText
from pipeline.indicators.base.green_season import Evidence

Unit = Literal["kg", "l"]

MINOR = Decimal("0.0001")
"""Prices are counted in ten-thousandths of the currency: a price finer than that is not ordered by."""
SMALLEST = Decimal("0.001")
"""Amounts are counted in grams and millilitres, the nearest to what is planned (half up)."""
PENNY = Decimal("0.01")


@dataclass(frozen=True)
class Material:
    """What the register says of a material, as far as buying it needs.

    Attributes:
        name: as the register names it.
        sort: a word of schemas/codes/material_sort.toml; "" where the register does not say.
        density_kg_l: mass of one litre as bought, kg; None where it is not known.
        overspread_pct: what is ordered beyond what is planned, % (for what misses the green and stays in the spreader).
            No published figure was found; 0 unless somebody says otherwise.
        place: the line it was read from.
    """

    name: str
    sort: str
    density_kg_l: Decimal | None = None
    overspread_pct: Decimal = Decimal(0)
    place: Evidence | None = None


@dataclass(frozen=True)
class Need:
    """What one green is to get of a material.

    Attributes:
        material: as the register names it.
        amount: over the whole green; None where it cannot be said.
        unit: kg or l.
        drop: the depot or club that it is delivered to; "" where it is not known.
        green: code of the green.
        delivered_of_dry: mass as delivered over its dry mass where ``amount`` is dry, of a planned dressing; 1 where
            it is as delivered; None where it is dry and its moisture is not known.
        lacking: why there is no amount, in words ("the area of the green is not known").
        place: the line it was read from.
    """

    material: str
    amount: Decimal | None
    unit: Unit
    drop: str
    green: str
    delivered_of_dry: Decimal | None = Decimal(1)
    lacking: str = ""
    place: Evidence | None = None


@dataclass(frozen=True)
class Stock:
    """What lies at a depot or club already, or is on its way there: it serves the greens of that drop alone.

    Attributes:
        material: as the register names it.
        amount: what lies there.
        unit: kg or l.
        depot: where, as :attr:`Need.drop` names it.
        on_order: what is ordered and not delivered yet, in the same unit.
        place: the line it was read from.
    """

    material: str
    amount: Decimal
    unit: Unit
    depot: str
    on_order: Decimal = Decimal(0)
    place: Evidence | None = None


@dataclass(frozen=True)
class Offer:
    """A price of a supplier's.

    Attributes:
        material: as the register names it.
        supplier: who sells it.
        pack: kg or l in one pack, bag or load; None where it is not known.
        unit: kg or l.
        price: of one pack, without VAT; None where it is not known.
        from_packs: a price break: the price of all packs of this size in one order, over all drops, from so many on. A
            least number to order where there is no price from 1.
        carriage: what the supplier charges for one drop, whatever is in it, 0 where it is free; None where not known.
        place: the line it was read from.
    """

    material: str
    supplier: str
    pack: Decimal | None
    unit: Unit
    price: Decimal | None
    from_packs: int = 1
    carriage: Decimal | None = None
    place: Evidence | None = None


@dataclass(frozen=True)
class Line:
    """Packs of one size of one material in a delivery.

    Attributes:
        material: as the register names it.
        packs: how many.
        pack: kg or l in one, as offered.
        unit: kg or l, as offered.
        price: of one pack, the break in force.
        from_packs: the break that was reached; 1 where there is none.
        cost: packs × price, exact.
        place: the line of the price in force.
    """

    material: str
    packs: int
    pack: Decimal
    unit: Unit
    price: Decimal
    from_packs: int
    cost: Decimal
    place: Evidence | None = None

    @property
    def amount(self) -> Decimal:
        """What it is in all, in its unit."""
        return self.packs * self.pack


@dataclass(frozen=True)
class Delivery:
    """What one supplier brings to one drop.

    Attributes:
        supplier: who.
        drop: where to.
        lines: what, by material.
        carriage: charged once for it; None where it is not known.
    """

    supplier: str
    drop: str
    lines: tuple[Line, ...]
    carriage: Decimal | None

    @property
    def goods(self) -> Decimal:
        """Its packs, without carriage."""
        return sum((one.cost for one in self.lines), Decimal(0))


@dataclass(frozen=True)
class SupplierOrder:
    """The whole order to one supplier.

    Attributes:
        supplier: who.
        deliveries: by drop.
        goods: all packs, to the penny.
        carriage: of all drops, as far as it is known.
        net: goods and the carriage known.
        vat: rounded once for this order, half up, as one invoice would; None where the rate is not given.
        carriage_known: False where what is charged for carriage is not known: then ``net`` is short of it.
    """

    supplier: str
    deliveries: tuple[Delivery, ...]
    goods: Decimal
    carriage: Decimal
    net: Decimal
    vat: Decimal | None
    carriage_known: bool

    @property
    def gross(self) -> Decimal | None:
        """With VAT; None where the rate is not given."""
        return None if self.vat is None else self.net + self.vat


@dataclass(frozen=True)
class Balance:
    """Of one material at one drop: what is needed, where it comes from, and what is left over there.

    needed = from_stock + from_on_order + bought − left_of_bought.

    Attributes:
        material: as the register names it.
        drop: depot or club.
        unit: kg or l.
        planned: what the greens are to get, as delivered.
        overspread: what is added to that.
        needed: both.
        from_stock: taken from what lies there.
        from_on_order: taken from what is on its way.
        bought: in packs.
        left_of_stock: stays of what lies there.
        left_on_order: stays of what is on its way.
        left_of_bought: stays of the packs.
    """

    material: str
    drop: str
    unit: Unit
    planned: Decimal
    overspread: Decimal
    needed: Decimal
    from_stock: Decimal
    from_on_order: Decimal
    bought: Decimal
    left_of_stock: Decimal
    left_on_order: Decimal
    left_of_bought: Decimal


@dataclass(frozen=True)
class Share:
    """What one green gets of a material, with the allowance for overspread, and where it is from; exact to a gram.

    needed = from_stock + from_on_order + from_bought; the shares of all greens of a drop add up to its balance.
    """

    green: str
    material: str
    drop: str
    unit: Unit
    needed: Decimal
    from_stock: Decimal
    from_on_order: Decimal
    from_bought: Decimal


@dataclass(frozen=True)
class Stopped:
    """What is not ordered, and why: never the same as nothing needed.

    Attributes:
        material: as it was asked for; "" where none was named.
        drop: where to; "" where it is not known.
        greens: the greens that asked for it.
        reason: in words, without a full stop.
        places: the lines it rests on.
    """

    material: str
    drop: str
    greens: tuple[str, ...]
    reason: str
    places: tuple[Evidence, ...] = ()


@dataclass(frozen=True)
class Question:
    """What a person should look at before the order goes out.

    Attributes:
        text: one or two sentences.
        places: the lines it is about.
    """

    text: str
    places: tuple[Evidence, ...] = ()


@dataclass(frozen=True)
class Order:
    """What to order from whom, and all that it leaves out or doubts.

    Attributes:
        suppliers: the order to each.
        balances: by material and drop, stock that nothing asks for among them.
        shares: the split per green.
        stopped: what is not ordered.
        questions: what to look at first.
        net: of all suppliers, with the carriage that is known.
        vat: sum of the suppliers' VAT, so that what is printed adds up; None where the rate is not given.
        over_least: what the order may cost more than the least possible, proved; 0: it is the least.
        settled: whether all else that decides between orders of one cost is settled too: least left over, then fewest
            packs, then names. Where not, another machine may find another order of the same cost.
    """

    suppliers: tuple[SupplierOrder, ...]
    balances: tuple[Balance, ...]
    shares: tuple[Share, ...]
    stopped: tuple[Stopped, ...]
    questions: tuple[Question, ...]
    net: Decimal
    vat: Decimal | None
    over_least: Decimal
    settled: bool

    @property
    def gross(self) -> Decimal | None:
        """With VAT; None where the rate is not given."""
        return None if self.vat is None else self.net + self.vat

    @property
    def proof(self) -> str:
        """Whether it is the least, in words."""
        if not self.over_least:
            return "No order costs less" + (
                ", as far as carriage is known: proved." if self.carriage_not_known else ": proved."
            )
        share = 100 * self.over_least / self.net
        over = money(rounded(self.over_least))
        return AmountText("An order that costs less, by ", over, f" ({share:.3f} %) at most, is not ruled out.")

    @property
    def carriage_not_known(self) -> tuple[str, ...]:
        """Suppliers in the order whose carriage is not known: the sums are short of it."""
        return tuple(one.supplier for one in self.suppliers if not one.carriage_known)

    @property
    def complete(self) -> bool:
        """Whether the sums are all that is asked for: nothing stopped, all carriage known."""
        return not self.stopped and not self.carriage_not_known


def rounded(money: Decimal) -> Decimal:
    """Money to the penny, half up (away from zero at exactly half)."""
    return money.quantize(PENNY, ROUND_HALF_UP)


def said(number: Decimal) -> str:
    """A number as a person writes it: 1,000 or 12.5, no zeros behind."""
    text = f"{number:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def weighed(amount: Decimal, unit: str, *, bare: bool = False) -> Amount:
    """A mass or volume inside a text, with the digits it has: 12.5 kg."""
    places = len(said(amount).partition(".")[2])
    return Amount(float(amount), unit, f",.{places}f", bare=bare, carries=max(places, 1))


CURRENCY = "currency"
"""What stands for the currency of a sum in a text until it is known (:func:`in_currency`)."""


def money(amount: Decimal) -> Amount:
    """Money inside a text, as a person writes it: 1,040.00, and 0.035 where it is finer than a penny."""
    places = max(2, len(said(amount).partition(".")[2]))
    return Amount(float(amount), CURRENCY, f",.{places}f")


def in_currency(text: str, currency: str) -> str:
    """A text whose sums of money are in a currency, by its code."""
    if not isinstance(text, AmountText):
        return text
    return text.turned(lambda one: replace(one, unit=currency) if one.unit == CURRENCY else one)


def places_of(records: Sequence[Material | Need | Stock | Offer]) -> tuple[Evidence, ...]:
    """Where records stand, each line once, by file and line."""
    found = {one.place for one in records if one.place is not None}
    return tuple(sorted(found, key=lambda place: (place.file, place.line, place.kind, place.load_id)))
