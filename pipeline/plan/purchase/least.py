"""Integer programmes with whole numbers throughout: the least of one sum, then of the next, proved or with its bound.

Every cost, size and limit is a whole number (money in ten-thousandths, mass in grams), so no rounding decides what is
cheaper. The solver works in floating point; its answer is rounded and gone through again in whole numbers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from time import monotonic
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Terms = Mapping[int, int]
"""A sum: number of the variable → its whole factor."""

MOST_AT_ONCE = 10**7
"""Largest value of two sums taken as one (the first times more than the second can be): the solver tells values one
apart by floating point, and ten millionths of a sum is well within what it keeps."""
OPTIMAL, TIME_OUT, NOTHING_FITS = 0, 1, 2
"""scipy's ``milp``: its words for how it ended."""


class NotExactError(ArithmeticError):
    """The solver's answer breaks a row when gone through in whole numbers."""


class NothingFitsError(ValueError):
    """No values keep all rows."""


@dataclass(frozen=True)
class Found:
    """The best values found.

    Attributes:
        values: of each variable.
        at_least: what the first sum is at least, proved; where it is the sum of ``values``, that is the least.
        proved: whether every sum is the least, each after those before it.
    """

    values: tuple[int, ...]
    at_least: int
    proved: bool


@dataclass
class Programme:
    """Whole variables from 0 to a limit, and rows that bound sums of them.

    Attributes:
        most: the limit of each variable.
        rows: sums with what they are at least and at most; None where they have no such bound.
    """

    most: list[int] = field(default_factory=list)
    rows: list[tuple[Terms, int | None, int | None]] = field(default_factory=list)

    def variable(self, most: int) -> int:
        """The number of a new variable, whole, from 0 to ``most``."""
        self.most.append(most)
        return len(self.most) - 1

    def row(self, terms: Terms, low: int | None = None, high: int | None = None) -> None:
        """Bound a sum; its factors are divided by what they have in common, and the bounds rounded inward."""
        shared = math.gcd(*terms.values()) or 1
        divided = {one: factor // shared for one, factor in terms.items()}
        self.rows.append(
            (divided, None if low is None else -(-low // shared), None if high is None else high // shared)
        )

    def least(self, sums: Sequence[Terms], seconds: float = math.inf) -> Found | None:
        """The least of the first sum, then of the second among those, and so on; None where time ran out before any.

        Neighbouring sums whose values are small are taken as one, weighted so that the first still goes first.

        Args:
            sums: what is to be least, in order.
            seconds: time for all of them.

        Raises:
            NothingFitsError: no values keep all rows.
            NotExactError: the solver's answer fails the check in whole numbers.
        """
        until = monotonic() + seconds
        shared = math.gcd(*sums[0].values()) or 1
        merged, weight = self._merged(sums)
        rows = list(self.rows)
        found: Found | None = None
        for one in merged:
            values, bound = self._solved(one, rows, until - monotonic())
            if values is None:
                return None if found is None else Found(found.values, found.at_least, proved=False)
            worth = value(one, values)
            at_least = shared * (bound // weight) if found is None else found.at_least
            found = Found(values, at_least, proved=bound >= worth)
            if not found.proved:
                break
            rows.append((one, None, worth))
        return found

    def _merged(self, sums: Sequence[Terms]) -> tuple[list[Terms], int]:
        """The sums, small neighbours as one; and what the first sum was multiplied by in the first of them."""
        merged: list[Terms] = []
        weight, reach = 1, 0
        for terms in sums:
            shared = math.gcd(*terms.values()) or 1
            small = {one: factor // shared for one, factor in terms.items() if factor}
            over = sum(max(0, factor) * self.most[one] for one, factor in small.items())
            own = sum(abs(factor) * self.most[one] for one, factor in small.items())
            if merged and own == over and reach * (own + 1) + own <= MOST_AT_ONCE:
                last = merged[-1]
                both = {one: last.get(one, 0) * (own + 1) + small.get(one, 0) for one in sorted({*last, *small})}
                merged[-1], reach = both, reach * (own + 1) + own
                weight *= own + 1 if len(merged) == 1 else 1
            else:
                merged.append(small)
                reach = own
        return merged, weight

    def _solved(self, terms: Terms, rows: Rows, seconds: float) -> tuple[tuple[int, ...] | None, int]:
        """The values that make a sum least, and what it is at least; None where time ran out before any were found."""
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        if seconds <= 0:
            return None, 0
        count = len(self.most)
        costs = np.zeros(count)
        for one, factor in terms.items():
            costs[one] = factor
        lows = [-math.inf if low is None else low for _, low, _ in rows]
        highs = [math.inf if high is None else high for _, _, high in rows]
        options: Any = {"mip_rel_gap": 0.0} | ({"time_limit": seconds} if math.isfinite(seconds) else {})
        constraints = LinearConstraint(_matrix(rows, count), lows, highs) if rows else ()
        done = milp(
            costs,
            integrality=np.ones(count, dtype=np.int8),
            bounds=Bounds(0, self.most),
            constraints=constraints,
            options=options,
        )
        if done.status == NOTHING_FITS:
            raise NothingFitsError("no values keep all rows")
        if done.status not in (OPTIMAL, TIME_OUT):
            raise NotExactError(f"the solver ended with: {done.message}")
        if done.x is None:
            return None, 0
        values = tuple(int(one) for one in np.rint(done.x))
        _check(values, self.most, rows)
        worth = value(terms, values)
        return values, worth if done.status == OPTIMAL else min(worth, _whole_bound(done.mip_dual_bound))


Rows = Sequence[tuple[Terms, int | None, int | None]]


def value(terms: Terms, values: Sequence[int]) -> int:
    """A sum of the values, in whole numbers."""
    return sum(factor * values[one] for one, factor in terms.items())


def _whole_bound(bound: float) -> int:
    """The least whole number a sum can be where a solver says it is at least ``bound``, with room for its rounding."""
    return math.ceil(bound - 1e-6 * max(1.0, abs(bound) * 1e-3)) if math.isfinite(bound) else -(10**18)


def _check(values: Sequence[int], most: Sequence[int], rows: Rows) -> None:
    if any(not 0 <= one <= limit for one, limit in zip(values, most, strict=True)):
        raise NotExactError("a value of the solver's is beyond its limit")
    for terms, low, high in rows:
        reached = value(terms, values)
        if (low is not None and reached < low) or (high is not None and reached > high):
            raise NotExactError(f"the solver's answer makes a sum {reached}, which is to be from {low} to {high}")


def _matrix(rows: Rows, count: int) -> csr_array:
    from scipy.sparse import csr_array

    starts, places, factors = [0], [], []
    for terms, _, _ in rows:
        places += list(terms)
        factors += [float(factor) for factor in terms.values()]
        starts.append(len(places))
    return csr_array((factors, places, starts), shape=(len(rows), count))
