"""What is to be had at which drop, what was bought of it, and what that costs."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from time import monotonic

from pipeline.plan.purchase.offers import Break, Ware
from pipeline.plan.purchase.ways import Rank

Place = tuple[str, str]
"""Drop and material."""
Packs = Mapping[tuple[Place, Rank], int]
"""How many of what where; none that are 0."""
Part = dict[Place, int]
"""Places that are bought for together, in order, with their amounts."""


@dataclass(frozen=True)
class Bought:
    """Packs, and how good they are.

    Attributes:
        packs: by place and ware.
        at_least: what any order costs at least, in ten-thousandths, proved.
        settled: whether everything that decides between orders of one cost is settled too.
    """

    packs: Packs
    at_least: int
    settled: bool


@dataclass(frozen=True)
class Market:
    """What is to be had, and by when it has to be decided.

    Attributes:
        wares: of each material, in order.
        carriage: a drop of each supplier.
        until: when to stop, by the monotonic clock.
    """

    wares: Mapping[str, tuple[Ware, ...]]
    carriage: Mapping[str, int]
    until: float = math.inf

    def seconds(self, parts: float = 1) -> float:
        """Time left, shared by so many parts still to do."""
        return max(0.0, self.until - monotonic()) / max(1.0, parts)

    def ware(self, rank: Rank) -> Ware:
        """The ware of that name."""
        return next(one for one in self.wares[rank[0]] if one.rank == rank)

    def loose(self) -> Market:
        """The same with every pack at its lowest price from one on, whatever it takes to get it."""
        return replace(self, wares={material: tuple(map(cheapest, some)) for material, some in self.wares.items()})

    def as_priced(self, packs: Packs) -> bool:
        """Whether packs reach the breaks that make their lowest price."""
        for rank, number in total_packs(packs).items():
            ware = self.ware(rank)
            reached = ware.in_force(number)
            if reached is None or reached.price > min(one.price for one in ware.breaks):
                return False
        return True


def cost_of(packs: Packs, market: Market) -> int:
    """What packs cost with carriage, at the breaks they reach over all drops."""
    cost = 0
    for rank, number in total_packs(packs).items():
        reached = market.ware(rank).in_force(number)
        assert reached is not None, "fewer than can be ordered"
        cost += number * reached.price
    return cost + sum(market.carriage[supplier] for _, supplier in {(drop, rank[1]) for (drop, _), rank in packs})


def total_packs(packs: Packs) -> dict[Rank, int]:
    """Packs of each ware over all drops."""
    numbers: dict[Rank, int] = defaultdict(int)
    for (_, rank), number in packs.items():
        numbers[rank] += number
    return numbers


def cheapest(ware: Ware) -> Ware:
    """The ware at its lowest price, from one pack on."""
    lowest = min(ware.breaks, key=lambda one: (one.price, one.packs))
    return at_once(ware, lowest)


def at_once(ware: Ware, one: Break) -> Ware:
    """The ware at the price of one break, from one pack on."""
    return replace(ware, breaks=(replace(one, packs=1),))


def tied(ware: Ware) -> bool:
    """Whether what a pack costs depends on how many are bought elsewhere."""
    return len(ware.breaks) > 1 or ware.breaks[0].packs > 1
