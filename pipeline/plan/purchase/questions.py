"""What a person should look at before an order goes out: carriage not known, packs hardly used, stock elsewhere."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from time import monotonic

from pipeline.common.amounts import AmountText, in_list
from pipeline.common.words import counted, listed
from pipeline.plan.purchase.buying import bought
from pipeline.plan.purchase.market import Bought, Market, Place, cost_of
from pipeline.plan.purchase.needs import Cell
from pipeline.plan.purchase.offers import Catalogue, Ware
from pipeline.plan.purchase.parts import MINOR, SMALLEST, Balance, Material, Question, money, places_of, weighed

HARDLY_USED = 4
"""The last pack is asked about where less than one in so many parts of it is used (common practice, no source)."""
NAMED = 5
"""Drops that a question names one by one."""
MOSS = "moss_treatment"
"""The sort of material of which some are sold as plant protection products."""


@dataclass(frozen=True)
class Purchase:
    """What was bought of a catalogue.

    Attributes:
        goods: all that was to be had.
        amounts: what was to be bought.
        market: the wares and carriage it was bought by; carriage that is not known is 0.
        found: packs, and how good they are.
        cost: what they cost, in ten-thousandths.
    """

    goods: Catalogue
    amounts: Mapping[Place, int]
    market: Market
    found: Bought
    cost: int

    @cached_property
    def of_place(self) -> Mapping[Place, tuple[tuple[Ware, int], ...]]:
        """Wares and packs of each place, in order."""
        by_place: dict[Place, list[tuple[Ware, int]]] = defaultdict(list)
        for (place, rank), packs in self.found.packs.items():
            by_place[place].append((self.market.ware(rank), packs))
        return {place: tuple(some) for place, some in by_place.items()}

    def lots(self) -> Iterator[tuple[Place, Ware, int]]:
        """Place, ware and packs, in order."""
        for place, some in self.of_place.items():
            for ware, packs in some:
                yield place, ware, packs

    def amount(self, place: Place) -> int:
        """What is bought for a place, g or ml."""
        return sum(packs * ware.size for ware, packs in self.of_place.get(place, ()))


def questions(
    purchase: Purchase,
    cells: Sequence[Cell],
    balances: Sequence[Balance],
    materials: Mapping[str, Material],
    until: float,
) -> list[Question]:
    """What to look at first.

    Args:
        purchase: what is bought.
        cells: what it is bought for.
        balances: what is left over.
        materials: by name.
        until: when a comparison has to be done, by the monotonic clock.
    """
    return [
        *_carriage(purchase, until),
        *_hardly_used(purchase, cells),
        *_for_a_break(purchase, cells),
        *_elsewhere(balances),
        *_moss(balances, materials),
    ]


def _carriage(purchase: Purchase, until: float) -> list[Question]:
    """What carriage that is not known leaves open: named, with what the order costs without those suppliers."""
    known = purchase.goods.carriage
    drops: dict[str, set[str]] = defaultdict(set)
    bought_there: set[str] = set()
    for (drop, material), ware, _ in purchase.lots():
        if known[ware.supplier] is None:
            drops[ware.supplier].add(drop)
            bought_there.add(material)
    if not drops:
        return []
    who = listed([f"{supplier} ({counted(len(drops[supplier]), 'drop')})" for supplier in sorted(drops)])
    said_first = f"Carriage is not known from {who}: it is counted as nothing, and the sums are short of it."
    named = sorted(supplier for supplier in drops)
    places = places_of([
        entry.offer
        for some in purchase.goods.wares.values() for ware in some for entry in ware.breaks if ware.supplier in named
    ])  # fmt: skip
    return [Question(AmountText(f"{said_first} ", _compared(purchase, bought_there, until)), places)]


def _compared(purchase: Purchase, materials: Iterable[str], until: float) -> str:
    """What the order would cost from suppliers whose carriage is known, as far as they have what is needed."""
    known = purchase.goods.carriage
    only = {
        material: tuple(one for one in some if known[one.supplier] is not None) or some
        for material, some in purchase.market.wares.items()
    }
    alone = sorted(one for one in materials if not _any_known(only[one], known))
    if set(alone) == set(materials):
        return "Nobody whose carriage is known offers the same."
    left = until - monotonic()
    market = Market(only, purchase.market.carriage)
    other = bought(purchase.amounts, market, left)
    more = (cost_of(other.packs, market) - purchase.cost) * MINOR
    if more < 0:
        less = money(-more)
        return AmountText(
            "From suppliers whose carriage is known the order costs ", less, " less: time ran out on this one."
        )
    exact = "" if other.at_least == cost_of(other.packs, market) else ", at most"
    but = f" (not counting {listed(alone)}, which nobody else offers)" if alone else ""
    return AmountText(
        "From suppliers whose carriage is known the order would cost ",
        money(more),
        f" more{exact}{but}: carriage above that in all makes this order the dearer one.",
    )


def _any_known(wares: Iterable[Ware], known: Mapping[str, int | None]) -> bool:
    return any(known[one.supplier] is not None for one in wares)


def _hardly_used(purchase: Purchase, cells: Iterable[Cell]) -> list[Question]:
    """Packs of which hardly anything is used: a person may rather spread a little less, and must say so."""
    told: dict[str, list[str]] = defaultdict(list)
    by_cell = {(cell.drop, cell.material): cell for cell in cells if cell.to_buy}
    for place, cell in by_cell.items():
        some = purchase.of_place.get(place, ())
        least = min((ware for ware, _ in some), key=lambda one: one.size)
        used = least.size - (purchase.amount(place) - cell.to_buy)
        if 0 < used * HARDLY_USED < least.size:
            share = Decimal(100 * used) / cell.in_all
            told[cell.material].append(AmountText(
                f"{cell.drop} ", weighed(used * SMALLEST, cell.unit, bare=True), " of ",
                weighed(least.size * SMALLEST, cell.unit), f" ({share:.1f} % of the ",
                weighed(cell.in_all * SMALLEST, cell.unit), " needed)",
            ))  # fmt: skip
    return [
        Question(
            AmountText(
                f"{material}: of the last pack less than a quarter is used: ",
                _first_of(texts),
                ". One pack fewer puts less on the greens than planned: it is left out only if you say so.",
            ),
            places_of([need for (_, one), cell in by_cell.items() if one == material for need in cell.needs][:NAMED]),
        )
        for material, texts in sorted(told.items())
    ]


def _for_a_break(purchase: Purchase, cells: Iterable[Cell]) -> list[Question]:
    """Whole packs beyond what is needed: a price break or a least number makes them cheaper than fewer."""
    told: dict[str, list[str]] = defaultdict(list)
    for cell in cells:
        some = purchase.of_place.get((cell.drop, cell.material), ()) if cell.to_buy else ()
        left = purchase.amount((cell.drop, cell.material)) - cell.to_buy
        if some and left >= min(ware.size for ware, _ in some):
            told[cell.material].append(AmountText(f"{cell.drop} ", weighed(left * SMALLEST, cell.unit)))
    return [
        Question(
            AmountText(
                f"{material}: more whole packs are ordered than are needed, left over are ",
                _first_of(texts),
                ". A price break or the least number that can be ordered asks for them.",
            )
        )
        for material, texts in sorted(told.items())
    ]


def _elsewhere(balances: Iterable[Balance]) -> list[Question]:
    """What stays at one drop, or is on its way there and not needed, while the same is bought for another."""
    by_material: dict[tuple[str, str], list[Balance]] = defaultdict(list)
    for one in balances:
        by_material[one.material, one.unit].append(one)
    found = []
    for (material, unit), some in sorted(by_material.items()):
        left = [AmountText(weighed(one.left_of_stock, unit), f" at {one.drop}") for one in some if one.left_of_stock]
        coming = [
            AmountText(weighed(one.left_on_order, unit), f" on its way to {one.drop}")
            for one in some
            if one.left_on_order
        ]
        buying = [one.drop for one in some if one.bought]
        if (left or coming) and buying:
            stay = "are left unused" if coming else "stay in stock"
            found.append(Question(AmountText(
                f"{material}: ", _first_of([*left, *coming]), f" {stay}, while it is bought for ", _first_of(buying),
                ". Stock is not moved between drops here.",
            )))  # fmt: skip
    return found


def _moss(balances: Iterable[Balance], materials: Mapping[str, Material]) -> list[Question]:
    names = sorted({one.material for one in balances if one.bought and materials[one.material].sort == MOSS})
    return [
        Question(
            f"{name} is a moss treatment: some are sold as plant protection products, which are never ordered here. "
            "Look at its label, and correct its sort in the register of materials if it is one.",
            places_of([materials[name]]),
        )
        for name in names
    ]


def _first_of(texts: Sequence[str]) -> AmountText:
    """The first few, and how many more."""
    more = len(texts) - NAMED
    return in_list([*texts[:NAMED], f"{more:,} more"] if more > 0 else texts)
