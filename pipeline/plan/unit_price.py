"""What a material costs a club on a day: the part of a pack that is used, of a pack no larger than what is needed.

A work is priced for itself, by how much of the material it needs within its window (of what is due, by what is left of
it): one line then costs the same wherever it is shown, whatever else is listed beside it, and no line is asked for the
price of a load that other lines, or other clubs, would have to share. Of the packs that suppliers offer

- the one whose size the register of materials names is taken, where it names one that is offered;
- else of those no larger than the need the one that is cheapest by the kilogram or litre, and where all are larger the
  smallest; at most a whole larger pack is asked for, where one holds the need for less money.

So a kilogram of a smaller work is never cheaper than one of a larger, a work in two parts never cheaper than in one,
and more never costs less. A price break is not used: only prices of a single pack. Carriage is no part of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Context, Decimal
from functools import cached_property

from pipeline.common.grouped import grouped
from pipeline.common.money import rounded
from pipeline.common.words import long_date
from pipeline.plan.market import Price, prices_on
from pipeline.plan.rates import exact
from pipeline.plan.works import Unit

Pack = tuple[Unit, float]
"""What one pack holds, and in which unit."""
ROUNDING = Decimal("1e-9")
"""Share of a need by which a pack may be above it and still be no larger: 25 kg from a rate may be 24.9999999999."""
_WHOLE = Context(prec=20)
"""A pack's price over its mass may have no end (100 for 30 kg); 30 kg at it are 100 again, and a half stays a half."""


@dataclass(frozen=True)
class UnitPrice:
    """What a kilogram or litre of a material costs in packs of a size, without VAT and carriage.

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
class Asked:
    """What a club is asked for some of a material.

    Attributes:
        money: rounded.
        by: the price that it is by.
        whole: whether it is the price of a whole pack, which holds more than is needed.
    """

    money: Decimal
    by: UnitPrice
    whole: bool = False


@dataclass(frozen=True)
class Offers:
    """The packs of a material in one unit that can be had one by one on a day.

    Attributes:
        packs: a price each; at least one.
        named: whether they are of the size that the register names: then the need decides nothing.
    """

    packs: tuple[UnitPrice, ...]
    named: bool = False

    def asked(self, amount: Decimal | float) -> Asked:
        """What is asked for an amount, kg or l."""
        need = exact(amount)
        by = min(self._fitting(need), key=_cheapest)
        money = _WHOLE.multiply(need, by.each)
        larger = [] if self.named else [one for one in self.packs if exact(one.pack) >= need]
        whole = min(larger, key=lambda one: (one.price, one.supplier, one.pack), default=by)
        if larger and whole.price < money:
            return Asked(rounded(whole.price), whole, whole=True)
        return Asked(rounded(money), by)

    def _fitting(self, need: Decimal) -> Sequence[UnitPrice]:
        if self.named:
            return self.packs
        fit = [one for one in self.packs if exact(one.pack) <= need * (1 + ROUNDING)]
        least = min(one.pack for one in self.packs)
        return fit or [one for one in self.packs if one.pack == least]


def _cheapest(one: UnitPrice) -> tuple[Decimal, str, float]:
    return one.each, one.supplier, one.pack


Prices = Mapping[tuple[str, Unit], Offers]
"""What can be had of each material, in kilograms or litres, on a day."""


class DayPrices(dict[tuple[str, Unit], Offers]):
    """The same, which knows besides since when each material has a price of any kind.

    Attributes:
        first: the first day on which a price of a material holds; ``date.min`` where it has no day.
    """

    first: Mapping[str, date]

    def __init__(self, offers: Iterable[tuple[tuple[str, Unit], Offers]], first: Mapping[str, date]) -> None:
        """What can be had, and since when anything of it has a price."""
        super().__init__(offers)
        self.first = first


def unpriced(prices: Prices, material: str, day: date) -> str:
    """Why a material that can not be had on a day has no price: on no day, not yet, or of no single pack."""
    if not isinstance(prices, DayPrices):
        return f"{material} has no price"
    since = prices.first.get(material)
    if since is None:
        return f"{material} has no price on any day"
    if since > day:
        return f"{material} has no price before {long_date(since)}"
    return f"{material} has prices, but none of a single pack in the unit that it is planned in"


@dataclass(frozen=True)
class PriceBook:
    """Prices of all days, asked by the day.

    Attributes:
        every: the prices.
        named: of each material the pack that the register names, where it names one.
    """

    every: tuple[Price, ...]
    named: Mapping[str, Pack]
    _made: dict[date, Prices] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def _first(self) -> dict[str, date]:
        """The first day of a price of each material."""
        every = grouped(self.every, lambda one: one.material)
        return {material: min(_since(one) for one in same) for material, same in every.items()}

    def on(self, day: date) -> Prices:
        """What can be had of each material on a day."""
        since = max((begun for one in self.every if (begun := _since(one)) <= day), default=date.min)
        if since not in self._made:
            self._made[since] = DayPrices(_offers(prices_on(self.every, since), self.named), self._first)
        return self._made[since]

    def without_single(self, materials: Iterable[str], day: date) -> tuple[str, ...]:
        """Those of the materials that have prices on a day, and none that is plainly of a single pack."""
        held = {one.material for one in prices_on(self.every, day)}
        single = {material for material, _ in self.on(day)}
        return tuple(sorted({one for one in materials if one in held and one not in single}))


def _since(one: Price) -> date:
    return one.holds_from or date.min


def _offers(held: Sequence[Price], named: Mapping[str, Pack]) -> Iterator[tuple[tuple[str, Unit], Offers]]:
    """The packs of each material that can be had one by one, at one price.

    A price of 0 is not known, as the order has it: taken for nothing it would win every comparison.
    """
    packs = grouped(held, lambda one: (one.material, one.supplier, one.pack_kg, one.pack_l))
    alone = [[one for one in same if one.from_packs <= 1] for same in packs.values()]
    single = [made for some in alone if len(some) == 1 and (made := _of(some[0])) is not None]
    for key, some in grouped(single, lambda one: (one.material, one.unit)).items():
        own = tuple(one for one in some if named.get(one.material) == (one.unit, one.pack))
        yield key, Offers(own or tuple(some), bool(own))


def _of(one: Price) -> UnitPrice | None:
    unit: Unit = "kg" if one.pack_kg else "l"
    pack = one.pack_kg or one.pack_l
    if not pack or one.price <= 0:
        return None
    each = one.price / exact(pack)
    return UnitPrice(one.material, unit, each, pack, one.price, one.supplier, one.holds_from)
