"""The integer programme of a part of an order, by the packs or by the ways that are known to be best."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from pipeline.plan.purchase.least import Programme
from pipeline.plan.purchase.market import Bought, Market, Part, Place, tied
from pipeline.plan.purchase.offers import Ware
from pipeline.plan.purchase.ways import Rank, Way, name_weight


class _Model:
    """The integer programme of a part: packs at each place, breaks that are reached, deliveries that are made."""

    def __init__(self, part: Part, market: Market, ways: Mapping[Place, tuple[Way, ...]]) -> None:
        self.programme = Programme()
        self.packs: dict[int, tuple[Place, tuple[tuple[Rank, int], ...]]] = {}
        self.cost: dict[int, int] = {}
        self.mass: dict[int, int] = {}
        self.number: dict[int, int] = {}
        self.names: dict[int, int] = {}
        self.apart = 0
        self._market = market
        self._deliveries: dict[tuple[str, str], int] = {}
        self._of_ware: dict[Rank, list[tuple[int, int]]] = defaultdict(list)
        for at, (place, amount) in enumerate(part.items()):
            if place in ways:
                self._one_of(place, ways[place])
            else:
                self._any_packs(at, place, amount)
        for rank, numbers in self._of_ware.items():
            self._broken(market.ware(rank), [one for one, _ in numbers], sum(useful for _, useful in numbers))

    def _one_of(self, place: Place, ways: Sequence[Way]) -> None:
        """One of the ways known to be best from some choice of suppliers; sums count from the least of them."""
        cost, mass, number, names = (
            min(getattr(way, one) for way in ways) for one in ("cost", "mass", "number", "names")
        )
        chosen: dict[int, int] = {}
        comes_from: dict[str, dict[int, int]] = defaultdict(dict)
        for way in ways:
            one = self.programme.variable(1)
            chosen[one] = 1
            self.packs[one] = place, way.packs
            self.cost[one], self.mass[one] = way.cost - cost, way.mass - mass
            self.number[one], self.names[one] = way.number - number, way.names - names
            for rank, _ in way.packs:
                comes_from[rank[1]][one] = 1
        self.programme.row(chosen, low=1, high=1)
        for supplier in sorted(comes_from):
            self._delivered(place[0], supplier, comes_from[supplier], 1)
        self.apart += cost

    def _any_packs(self, at: int, place: Place, amount: int) -> None:
        """Any packs that cover the amount."""
        sizes = {}
        for order, ware in enumerate(self._market.wares[place[1]], start=1):
            useful = -(-amount // ware.size)
            most = max([useful, *(one.packs for one in ware.breaks if tied(ware))])
            one = self.programme.variable(most)
            self.packs[one] = place, ((ware.rank, 1),)
            self.mass[one] = sizes[one] = ware.size
            self.number[one] = 1
            self.names[one] = name_weight(order, ware, at)
            self._delivered(place[0], ware.supplier, {one: 1}, most)
            if tied(ware):
                self._of_ware[ware.rank].append((one, useful))
            else:
                self.cost[one] = ware.breaks[0].price
        self.programme.row(sizes, low=amount)

    def _delivered(self, drop: str, supplier: str, packs: Mapping[int, int], most: int) -> None:
        """Packs, at most so many, come with a delivery that is paid for."""
        carriage = self._market.carriage[supplier]
        if not carriage:
            return
        if (drop, supplier) not in self._deliveries:
            self._deliveries[drop, supplier] = made = self.programme.variable(1)
            self.cost[made] = carriage
        self.programme.row({**packs, self._deliveries[drop, supplier]: -most}, high=0)

    def _broken(self, ware: Ware, numbers: Sequence[int], useful: int) -> None:
        """All packs of a ware are at one of its breaks, the one that their number falls to."""
        at_break: dict[int, int] = {}
        reached: dict[int, int] = {}
        highest = max(useful, ware.breaks[-1].packs)
        for one, above in zip(ware.breaks, (*(one.packs - 1 for one in ware.breaks[1:]), highest), strict=True):
            count, there = self.programme.variable(above), self.programme.variable(1)
            at_break[count] = reached[there] = 1
            self.cost[count] = one.price
            self.programme.row({count: 1, there: -above}, high=0)
            self.programme.row({count: 1, there: -one.packs}, low=0)
        self.programme.row(reached, high=1)
        self.programme.row({**at_break, **dict.fromkeys(numbers, -1)}, low=0, high=0)

    def least(self, seconds: float) -> Bought | None:
        """Least cost, then least mass, then fewest packs, then by name; None where nothing is found in time."""
        found = self.programme.least([self.cost, self.mass, self.number, self.names], seconds)
        if found is None:
            return None
        packs: dict[tuple[Place, Rank], int] = {}
        for one, (place, some) in self.packs.items():
            for rank, number in some if found.values[one] else ():
                packs[place, rank] = packs.get((place, rank), 0) + number * found.values[one]
        return Bought(packs, found.at_least + self.apart, found.proved)


def least_of(part: Part, market: Market, seconds: float, ways: Mapping[Place, tuple[Way, ...]]) -> Bought | None:
    """The best for a part that is found in so many seconds; None where nothing is."""
    if len(part) == 1 and all(len(ways.get(place, ())) == 1 for place in part):
        ((place, _),) = part.items()
        (way,) = ways[place]
        paid = sum(market.carriage[supplier] for supplier in {rank[1] for rank, _ in way.packs})
        return Bought({(place, rank): number for rank, number in way.packs}, way.cost + paid, settled=True)
    return _Model(part, market, ways).least(seconds)
