"""Ways to cover an amount of one material: for each choice of suppliers the best packs, by a table of amounts.

Whether to open a delivery of a supplier's is decided for a drop as a whole. Given which are open, every material of the
drop is covered by itself, and the best cover from any choice of its suppliers is one of these ways: an exact dynamic
programme over amounts finds them for all drops at once, and spares the integer programme the packs.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations

from pipeline.plan.purchase.offers import Ware

Rank = tuple[str, str, int, str, Decimal]
"""What names a ware: :attr:`Ware.rank`."""
MOST_STEPS = 50_000
"""Rows of a table at most: amounts in steps of what all packs have in common; 0 for no tables at all."""
MOST_SUPPLIERS = 5
"""Suppliers with carriage of which every choice is gone through at most: 32 choices."""
NAMES = 1009
"""A prime: what is left of a tie after the order of names is decided by a checksum of them below it."""
MOST_WORK = 10**9
"""Rows × packs × choices of a table with breaks at most: some seconds."""
LARGEST = 2**62
"""Above every sum in a table, which are 64-bit whole numbers."""


@dataclass(frozen=True)
class Way:
    """Packs that cover an amount.

    Attributes:
        packs: how many of each ware.
        cost: of them, without carriage.
        mass: g or ml in them.
        names: what decides between ways that are alike in all else.
    """

    packs: tuple[tuple[Rank, int], ...]
    cost: int
    mass: int
    names: int

    @property
    def number(self) -> int:
        """Packs in all."""
        return sum(packs for _, packs in self.packs)


def name_weight(order: int, ware: Ware, at: int = 0) -> int:
    """What a pack of a ware weighs where two orders are alike in cost, mass and number: earlier names weigh less.

    Args:
        order: its place among the wares of the material, from 1.
        ware: the ware.
        at: the number of the place it is bought for, where several are bought for together.
    """
    name = f"{at} {ware.material} {ware.supplier} {ware.size}"
    return order * NAMES + zlib.crc32(name.encode()) % NAMES


def ways(
    amounts: Iterable[int], wares: Sequence[Ware], carriage: Mapping[str, int]
) -> dict[int, tuple[Way, ...]] | None:
    """The best ways to cover each amount, one for each choice of suppliers, each once; None where a table is too long.

    Best is least cost, then least mass, then fewest packs, then by name. A supplier without carriage is in each choice.

    Args:
        amounts: g or ml, above 0.
        wares: of the material, each at one price from one pack on.
        carriage: a drop of each supplier.
    """
    wanted = sorted(set(amounts))
    step = math.gcd(*(one.size for one in wares))
    choices = _choices(wares, carriage)
    steps = -(-wanted[-1] // step)
    if steps > MOST_STEPS or not choices:
        return None
    table = _Table(wares, choices, step, steps)
    return {amount: table.ways(-(-amount // step)) for amount in wanted} if table.fits else None


def ways_at_breaks(amount: int, wares: Sequence[Ware], carriage: Mapping[str, int]) -> tuple[Way, ...] | None:
    """The same for one amount of a material bought nowhere else, with all its breaks; None where it is too long.

    Ware by ware: the least for what is still to cover, through every number of its packs that can be of use.
    """
    import numpy as np

    step = math.gcd(*(one.size for one in wares))
    choices, steps = _choices(wares, carriage), -(-amount // step)
    sizes = [one.size // step for one in wares]
    most = [max(-(-steps // size), ware.breaks[-1].packs) for ware, size in zip(wares, sizes, strict=True)]
    weights = [name_weight(order, one) for order, one in enumerate(wares, start=1)]
    over_mass = sum(number * size for number, size in zip(most, sizes, strict=True)) + 1
    over_names = sum(most) * max(weights) + 1
    dearest = sum(number * max(each.price for each in ware.breaks) for number, ware in zip(most, wares, strict=True))
    largest = max(dearest * over_mass + over_mass, sum(most) * (over_names + max(weights)))
    if not choices or steps * sum(most) * len(choices) > MOST_WORK or largest >= LARGEST // 4 or not MOST_STEPS:
        return None
    least = np.full((steps + 1, len(choices)), LARGEST // 2)
    least[0] = 0
    names = np.zeros_like(least)
    chosen = []
    still = np.arange(steps + 1)
    for ware, size, number, weight in zip(wares, sizes, most, weights, strict=True):
        before, before_names, taken = least, names, np.zeros(least.shape, np.int32)
        closed = np.array([LARGEST // 4 * (ware.supplier not in some) for some in choices])
        for packs in range(1, number + 1):
            reached = ware.in_force(packs)
            if reached is None:
                continue
            rows = np.maximum(still - packs * size, 0)
            cost = before[rows] + (packs * reached.price * over_mass + packs * size) + closed
            name = before_names[rows] + packs * (over_names + weight)
            better = (cost < least) | ((cost == least) & (name < names))
            least, names, taken = (np.where(better, *two) for two in ((cost, least), (name, names), (packs, taken)))
        chosen.append(taken)
    found = set()
    for choice in np.flatnonzero(least[steps] < LARGEST // 4):
        numbers, left = [0] * len(wares), steps
        for at in reversed(range(len(wares))):
            numbers[at] = int(chosen[at][left, choice])
            left = max(0, left - numbers[at] * sizes[at])
        found.add(_way(wares, numbers, weights))
    return tuple(sorted(found, key=_best_first))


def _choices(wares: Sequence[Ware], carriage: Mapping[str, int]) -> list[set[str]]:
    """Every choice of suppliers, those without carriage in each; none where there are too many."""
    paid = sorted({one.supplier for one in wares if carriage[one.supplier]})
    if len(paid) > MOST_SUPPLIERS:
        return []
    free = {one.supplier for one in wares} - set(paid)
    choices = [free | set(some) for number in range(len(paid) + 1) for some in combinations(paid, number)]
    return [some for some in choices if some]


def _best_first(way: Way) -> tuple[object, ...]:
    return way.cost, way.mass, way.number, way.names, way.packs


def _way(wares: Sequence[Ware], numbers: Sequence[int], weights: Sequence[int]) -> Way:
    some = [(ware, number, weight) for ware, number, weight in zip(wares, numbers, weights, strict=True) if number]
    cost = 0
    for ware, number, _ in some:
        reached = ware.in_force(number)
        assert reached is not None
        cost += number * reached.price
    return Way(
        tuple((ware.rank, number) for ware, number, _ in some),
        cost,
        sum(number * ware.size for ware, number, _ in some),
        sum(number * weight for _, number, weight in some),
    )


class _Table:
    """The best last pack for every amount in steps, and every choice of suppliers.

    Attributes:
        fits: whether its sums stay within 64 bits.
    """

    def __init__(self, wares: Sequence[Ware], choices: Sequence[set[str]], step: int, steps: int) -> None:
        self._wares, self._choices, self._step = wares, choices, step
        self._sizes = [one.size // step for one in wares]
        self._weights = [name_weight(order, one) for order, one in enumerate(wares, start=1)]
        shared = math.gcd(*(one.breaks[0].price for one in wares))
        over_mass = steps + max(self._sizes) + 1
        over_names = steps * max(self._weights) + 1
        first = [one.breaks[0].price // shared * over_mass + size for one, size in zip(wares, self._sizes, strict=True)]
        second = [over_names + weight for weight in self._weights]
        self.fits = max(first) * steps < LARGEST // 2 and max(second) * steps < LARGEST // 2
        if self.fits:
            self._fill(first, second, steps)

    def _fill(self, first: list[int], second: list[int], steps: int) -> None:
        import numpy as np

        count = len(self._choices)
        may = np.array([[ware.supplier in some for some in self._choices] for ware in self._wares])
        add_first = np.where(may, np.array(first)[:, None], LARGEST // 2)
        add_second = np.broadcast_to(np.array(second)[:, None], may.shape)
        sizes = np.array(self._sizes)
        best_first = np.zeros((steps + 1, count), np.int64)
        best_second = np.zeros((steps + 1, count), np.int64)
        self._last = np.zeros((steps + 1, count), np.int16)
        columns = np.arange(count)
        for amount in range(1, steps + 1):
            before = np.maximum(amount - sizes, 0)
            sum_first = best_first[before] + add_first
            least = sum_first.min(axis=0)
            sum_second = np.where(sum_first == least, best_second[before] + add_second, LARGEST)
            last = sum_second.argmin(axis=0)
            best_first[amount], best_second[amount], self._last[amount] = least, sum_second[last, columns], last

    def ways(self, amount: int) -> tuple[Way, ...]:
        """The ways to cover so many steps, cheapest first."""
        found = {self._way(amount, choice) for choice in range(len(self._choices))}
        return tuple(sorted(found, key=_best_first))

    def _way(self, amount: int, choice: int) -> Way:
        numbers = [0] * len(self._wares)
        while amount > 0:
            last = int(self._last[amount, choice])
            numbers[last] += 1
            amount -= self._sizes[last]
        return _way(self._wares, numbers, self._weights)
