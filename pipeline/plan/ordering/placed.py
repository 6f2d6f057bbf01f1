"""An order with all that its files say: what it is of, where things go, and what decided."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pipeline.plan.purchase.parts import Order, Unit


@dataclass(frozen=True)
class ToGreen:
    """What a green and its club are called."""

    green: str
    name: str
    club: str
    club_name: str


@dataclass(frozen=True)
class PackOf:
    """What one pack of a material holds by the register, for lists of what is loaded."""

    material: str
    size: Decimal
    unit: Unit


@dataclass(frozen=True)
class PlacedOrder:
    """The content of an order's files.

    Attributes:
        name: what it is called; no two orders that were loaded as stock are called alike.
        folder: the same as the name of a folder.
        day: the day whose records, prices and stock it counts.
        season: the season it is of, or the seasons.
        of: what was asked for, in words.
        currency: code of the currency.
        vat_pct: rate of VAT, %, where sums are told with it; None where they are told without.
        depots: place of the order → what the records of stock call it: of a club its code.
        greens: the greens that get something.
        packs: packs of the register.
        decided: how it was decided, a sentence each.
        order: what is ordered, stopped and asked.
    """

    name: str
    folder: str
    day: date
    season: str
    of: str
    currency: str
    vat_pct: Decimal | None
    depots: tuple[tuple[str, str], ...]
    greens: tuple[ToGreen, ...]
    packs: tuple[PackOf, ...]
    decided: tuple[str, ...]
    order: Order

    def reference(self, supplier: str) -> str:
        """What the order to a supplier is called, in the stock as well."""
        return f"{supplier}, {self.name}"


def pack_at(made: PlacedOrder, material: str, drop: str, unit: Unit) -> Decimal | None:
    """The pack that amounts of a material are counted out in at a drop, in this unit.

    The one that is bought there, where all are of one size; the register's where none is bought; else None.
    """
    sizes = {
        (line.pack, line.unit)
        for supplier in made.order.suppliers
        for delivery in supplier.deliveries
        if delivery.drop == drop
        for line in delivery.lines
        if line.material == material
    }
    sizes = sizes or {(one.size, one.unit) for one in made.packs if one.material == material}
    if len(sizes) != 1:
        return None
    ((size, of),) = sizes
    return size if of == unit else None


def nothing_asked(made: PlacedOrder) -> bool:
    """Whether no green asks for anything, and nothing was stopped."""
    return not made.order.shares and not made.order.stopped and not made.order.suppliers
