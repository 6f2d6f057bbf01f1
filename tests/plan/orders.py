"""Orders that are gone through another way: every price break, delivery and pack, by a table."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import combinations, product

from pipeline.plan.purchase.order import order
from pipeline.plan.purchase.parts import Material, Need, Offer, Order

MATERIALS = (Material("feed", "fertiliser"), Material("seed", "seed"))
BEYOND = (10**9, 10**9)


def made(needs: Sequence[Need], offers: Sequence[Offer], **options: object) -> Order:
    """The order for needs without stock."""
    return order(needs, (), offers, MATERIALS, vat_pct=None, **options)  # type: ignore[arg-type]


def cost_and_left(one: Order) -> tuple[Decimal, Decimal]:
    """What an order costs, to the last digit, and what it leaves over."""
    deliveries = [delivery for supplier in one.suppliers for delivery in supplier.deliveries]
    cost = sum((delivery.goods + (delivery.carriage or 0) for delivery in deliveries), Decimal(0))
    return cost, sum((balance.left_of_bought for balance in one.balances), Decimal(0))


def small_order(number: int) -> tuple[list[Need], list[Offer]]:
    """A small order, always the same for its number: one or two drops and materials, breaks and carriage."""
    draw = random.Random(number)  # noqa: S311 (fixed orders)
    drops = ("A", "B")[: draw.randint(1, 2)]
    names = ("feed", "seed")[: draw.randint(1, 2)]
    needs = [Need(name, Decimal(draw.randint(1, 13)), "kg", drop, "g") for name in names for drop in drops]
    carriage = {supplier: Decimal(draw.choice((0, 0, 3, 7))) for supplier in ("north", "south")}
    offers = []
    for name in names:
        for supplier in ("north", "south"):
            for size in draw.sample((2, 3, 5, 8), draw.randint(1, 2 if supplier == "north" else 1)):
                price = Decimal(size * draw.randint(80, 120)) / 100
                at = sorted({draw.choice((1, 1, 1, 2)), *draw.sample((3, 4, 5), draw.randint(0, 2))})
                for step, packs in enumerate(at):
                    less = price - step * Decimal("0.11") * size
                    offers.append(Offer(name, supplier, Decimal(size), "kg", less, packs, carriage[supplier]))
    return needs, offers


def by_table(needs: Sequence[Need], offers: Sequence[Offer]) -> tuple[Decimal, Decimal]:
    """Least cost and then least left over, through every choice of deliveries and a table of what is still needed."""
    drops = sorted({one.drop for one in needs})
    suppliers = sorted({one.supplier for one in offers})
    carriage = {one.supplier: int((one.carriage or 0) * 10_000) for one in offers}
    best = BEYOND
    choices = [set(some) for number in range(len(suppliers) + 1) for some in combinations(suppliers, number)]
    for open_ in product(choices, repeat=len(drops)):
        cost, mass = sum(carriage[supplier] for some in open_ for supplier in some), 0
        for material in sorted({one.material for one in needs}):
            amounts = tuple(
                int(one.amount or 0) for drop in drops for one in needs if (one.material, one.drop) == (material, drop)
            )
            covered = _covered(amounts, [one for one in offers if one.material == material], open_)
            cost, mass = cost + covered[0], mass + covered[1]
        best = min(best, (cost, mass))
    needed = sum(one.amount or Decimal(0) for one in needs)
    return Decimal(best[0]) / 10_000, best[1] - needed


def _covered(amounts: tuple[int, ...], offers: Sequence[Offer], open_: Sequence[set[str]]) -> tuple[int, int]:
    """Least cost and mass that cover a material's amounts, ware by ware: a table by what each drop still needs."""
    still: dict[tuple[int, ...], tuple[int, int]] = {amounts: (0, 0)}
    for supplier, size in sorted({(one.supplier, int(one.pack or 0)) for one in offers}):
        prices = {
            one.from_packs: int((one.price or 0) * 10_000)
            for one in offers
            if (one.supplier, one.pack) == (supplier, size)
        }
        after: dict[tuple[int, ...], tuple[int, int]] = {}
        for needed, (cost, mass) in still.items():
            for numbers in _numbers(amounts, size, max(prices), [supplier in some for some in open_]):
                total = sum(numbers)
                reached = [packs for packs in prices if packs <= total]
                if total and not reached:
                    continue
                left = tuple(max(0, one - size * number) for one, number in zip(needed, numbers, strict=True))
                there = (cost + (total * prices[max(reached)] if total else 0), mass + size * total)
                after[left] = min(after.get(left, BEYOND), there)
        still = after
    return still.get((0,) * len(amounts), BEYOND)


def _numbers(amounts: tuple[int, ...], size: int, highest: int, may: Sequence[bool]) -> Iterator[tuple[int, ...]]:
    """Packs at each drop that can be of use: as many as cover it, or as reach the highest break."""
    most = [max(-(-one // size), highest) if allowed else 0 for one, allowed in zip(amounts, may, strict=True)]
    return product(*(range(one + 1) for one in most))
