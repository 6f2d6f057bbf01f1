"""What a kilogram or a litre of a material costs a club, from the prices of packs that hold on a day.

A club is asked for what is used of a pack, not for whole packs: of several the one whose size the register of materials
names, else the one that is cheapest by the kilogram or litre; of price breaks the price of a single pack. Carriage is
no part of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from pipeline.common.grouped import grouped
from pipeline.plan.cost import Prices
from pipeline.plan.market import Price, prices_on
from pipeline.plan.rates import exact
from pipeline.plan.works import Unit

Pack = tuple[Unit, float]
"""What one pack holds, and in which unit."""


@dataclass(frozen=True)
class UnitPrice:
    """What a kilogram or litre of a material costs, without VAT and carriage.

    Attributes:
        material: as the register names it.
        unit: kilogram or litre.
        each: money for one, not rounded.
        pack: what the pack holds that it is the price of, in ``unit``.
        price: of that pack.
        supplier: who sells it.
        holds_from: first day of that price; None from the start.
    """

    material: str
    unit: Unit
    each: Decimal
    pack: float
    price: Decimal
    supplier: str
    holds_from: date | None


@dataclass(frozen=True)
class PriceBook:
    """Prices of all days, asked by the day.

    Attributes:
        every: the prices.
        named: of each material the pack that the register names, where it names one.
    """

    every: tuple[Price, ...]
    named: Mapping[str, Pack]
    _made: dict[date, dict[tuple[str, Unit], UnitPrice]] = field(default_factory=dict, compare=False, repr=False)

    def on(self, day: date) -> Mapping[tuple[str, Unit], UnitPrice]:
        """What a kilogram or litre of each material costs on a day."""
        since = max((begun for one in self.every if (begun := _since(one)) <= day), default=date.min)
        if since not in self._made:
            self._made[since] = dict(_unit_prices(prices_on(self.every, since), self.named))
        return self._made[since]

    def plain(self, day: date) -> Prices:
        """The same as costs are worked out by it."""
        return {key: one.each for key, one in self.on(day).items()}

    def without_single(self, materials: Iterable[str], day: date) -> tuple[str, ...]:
        """Those of the materials that have prices on a day, and none that is plainly of a single pack."""
        held = {one.material for one in prices_on(self.every, day)}
        single = {material for material, _ in self.on(day)}
        return tuple(sorted({one for one in materials if one in held and one not in single}))


def _since(one: Price) -> date:
    return one.holds_from or date.min


def _unit_prices(held: Sequence[Price], named: Mapping[str, Pack]) -> Iterator[tuple[tuple[str, Unit], UnitPrice]]:
    """The price of a kilogram or litre of each material that a single pack can be had of, at one price.

    A price of 0 is not known, as the order has it: taken for nothing it would win every comparison.
    """
    packs = grouped(held, lambda one: (one.material, one.supplier, one.pack_kg, one.pack_l))
    alone = [[one for one in same if one.from_packs <= 1] for same in packs.values()]
    single = [made for some in alone if len(some) == 1 and (made := _of(some[0])) is not None]
    for key, some in grouped(single, lambda one: (one.material, one.unit)).items():
        own = [one for one in some if named.get(one.material) == (one.unit, one.pack)]
        yield key, min(own or some, key=lambda one: (one.each, one.supplier, one.pack))


def _of(one: Price) -> UnitPrice | None:
    unit: Unit = "kg" if one.pack_kg else "l"
    pack = one.pack_kg or one.pack_l
    if not pack or one.price <= 0:
        return None
    each = one.price / exact(pack)
    return UnitPrice(one.material, unit, each, pack, one.price, one.supplier, one.holds_from)
