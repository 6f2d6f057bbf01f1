"""Kendall's S: whether later values tend to be higher, with its exact or approximate chance distribution.

The score S counts pairs that rise less pairs that fall. Under "no trend" every order of the values is equally
likely; that makes the distribution of S known without any assumption on the values.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Up to here the chance distribution of S is counted out. Printed tables stop at 10 (Gilbert 1987, Statistical Methods
# for Environmental Pollution Monitoring, 16.4); to 20 it costs a millisecond once, and an interval then has the
# confidence it states, where the normal approximation misses it by a point or two.
EXACT_MAX_N = 20

Method = Literal["exact", "normal"]


@dataclass(frozen=True, slots=True)
class MannKendall:
    """The Mann–Kendall test of one series.

    Attributes:
        s: rising pairs less falling pairs; pairs tied in time or value count 0.
        variance: variance of S under no trend, corrected for ties in both time and value.
        z: S moved one towards zero, over its standard deviation (continuity correction); 0 where S is 0.
        p: two-sided probability of an S as far from zero.
        n: number of values.
        method: "exact" (distribution counted out) or "normal" (tie-corrected approximation).
    """

    s: int
    variance: float
    z: float
    p: float
    n: int
    method: Method


def finite(values: ArrayLike, name: str) -> NDArray[np.float64]:
    """One-dimensional float array of the values.

    Raises:
        ValueError: a value is missing or not finite, or the values are not one-dimensional. Missing values are
            dropped, and said so, by whoever reads the records; here nothing is guessed.
    """
    try:
        array = np.asarray(values, dtype=np.float64)
    except TypeError as error:
        raise ValueError(f"{name}: a value is missing or not a number") from error
    if array.ndim != 1:
        raise ValueError(f"{name}: expected one dimension, got {array.ndim}")
    if not np.isfinite(array).all():
        raise ValueError(f"{name}: a value is missing or not finite")
    return array


def tie_sizes(values: ArrayLike) -> tuple[int, ...]:
    """Sizes of the groups of equal values, smallest group first; all ones where no two are equal.

    Args:
        values: any numbers.

    Source: definition.
    """
    return tuple(sorted(int(c) for c in np.unique(np.asarray(values), return_counts=True)[1]))


def score(x: NDArray[np.float64], y: NDArray[np.float64]) -> int:
    """Kendall's S of y against x: concordant less discordant pairs.

    Args:
        x: times or positions.
        y: values.

    Source: Kendall 1938, Biometrika 30:81–93.
    """
    rise = np.sign(y[None, :] - y[:, None]) * np.sign(x[None, :] - x[:, None])
    return int(rise.sum()) // 2


def score_variance(x_ties: Sequence[int], y_ties: Sequence[int]) -> float:
    """Variance of S under no trend, from the sizes of the tied groups of each variable.

    Args:
        x_ties: sizes of the groups of equal times.
        y_ties: sizes of the groups of equal values.

    Source: Kendall 1975, Rank Correlation Methods, ch. 4; as in Gilbert 1987, eq. 16.4, when only y is tied.
    """
    n = sum(x_ties)

    def total(ties: Sequence[int], term: int) -> float:
        t = np.asarray(ties, dtype=np.float64)
        terms = (t * (t - 1) * (2 * t + 5), t * (t - 1), t * (t - 1) * (t - 2))
        return float(terms[term].sum())

    variance = (n * (n - 1) * (2 * n + 5) - total(x_ties, 0) - total(y_ties, 0)) / 18
    if n > 1:
        variance += total(x_ties, 1) * total(y_ties, 1) / (2 * n * (n - 1))
    if n > 2:
        variance += total(x_ties, 2) * total(y_ties, 2) / (9 * n * (n - 1) * (n - 2))
    return max(variance, 0.0)


@lru_cache(maxsize=4096)
def exact_distribution(ties: tuple[int, ...]) -> tuple[tuple[int, float], ...]:
    """Every S that can occur and its probability, highest S first, when one variable has ties of these sizes.

    The number of orders with k falling pairs is the coefficient of q^k in the Gaussian multinomial
    [n]!/([t1]!·[t2]!·…) (MacMahon); without ties this is Kendall's own table. S is then (all untied pairs) − 2k.

    Args:
        ties: sizes of the groups of equal values of the one variable that has any.

    Source: Kendall 1938, Biometrika 30:81–93; MacMahon's count of orders by inversions (from memory).
    """
    n = sum(ties)
    pairs = (n * n - sum(t * t for t in ties)) // 2
    counts = [1] + [0] * pairs
    for i in range(1, n + 1):  # times (1 − q^i)
        for k in range(pairs, i - 1, -1):
            counts[k] -= counts[k - i]
    for i in (i for t in ties for i in range(1, t + 1)):  # over (1 − q^i)
        for k in range(i, pairs + 1):
            counts[k] += counts[k - i]
    orders = sum(counts)
    return tuple((pairs - 2 * k, count / orders) for k, count in enumerate(counts))


@lru_cache(maxsize=4096)
def exact_upper_tail(s: int, ties: tuple[int, ...]) -> float:
    """P(S ≥ s) under no trend, counted out, when one variable has ties of these sizes.

    Args:
        s: Kendall's S.
        ties: sizes of the groups of equal values of the one variable that has any.

    Source: sum over `exact_distribution`.
    """
    return min(1.0, math.fsum(p for value, p in exact_distribution(ties) if value >= s))


def normal_upper_tail(z: float) -> float:
    """P(Z ≥ z) of the standard normal.

    Args:
        z: standard normal deviate.

    Source: definition of the complementary error function.
    """
    return 0.5 * math.erfc(z / math.sqrt(2))


def continuity_z(s: int, variance: float) -> float:
    """S moved one towards zero over its standard deviation; 0 where S is 0 or cannot vary.

    Args:
        s: Kendall's S.
        variance: its variance under no trend.

    Source: Gilbert 1987, Statistical Methods for Environmental Pollution Monitoring, 16.4.
    """
    return 0.0 if s == 0 or variance == 0 else (s - math.copysign(1, s)) / math.sqrt(variance)


def mann_kendall(y: ArrayLike, x: ArrayLike | None = None) -> MannKendall:
    """Mann–Kendall test of y against x (against its own order where x is None).

    Up to twenty values the distribution of S is counted out, ties included, as long as only one of x and y has ties;
    otherwise the tie-corrected normal approximation with continuity correction is used. The result says which.

    Args:
        y: values in the order of time, or with their times.
        x: time of each value; None where they stand in order.

    Source: Mann 1945; Kendall 1975; EPA 2009 Unified Guidance, ch. 17.

    Raises:
        ValueError: a value is missing, or the lengths differ, or there are none.
    """
    values = finite(y, "y")
    times = np.arange(values.size, dtype=np.float64) if x is None else finite(x, "x")
    if values.size != times.size or values.size == 0:
        raise ValueError("x and y must have the same length, at least 1")
    n = values.size
    s = score(times, values)
    x_ties, y_ties = tie_sizes(times), tie_sizes(values)
    variance = score_variance(x_ties, y_ties)
    one_sided_ties = y_ties if max(x_ties) == 1 else x_ties if max(y_ties) == 1 else None
    method: Method = "normal"
    if n <= EXACT_MAX_N and one_sided_ties is not None:
        method = "exact"
        rising, falling = exact_upper_tail(s, one_sided_ties), exact_upper_tail(-s, one_sided_ties)
    elif variance == 0:
        rising = falling = 1.0
    else:
        rising = normal_upper_tail((s - 1) / math.sqrt(variance))
        falling = normal_upper_tail((-s - 1) / math.sqrt(variance))
    return MannKendall(
        s=s,
        variance=variance,
        z=continuity_z(s, variance),
        p=min(1.0, 2 * min(rising, falling)),
        n=n,
        method=method,
    )


def smallest_p(n: int) -> float:
    """Smallest two-sided p that n untied values can give at all: 2/n!.

    Below the level asked for, no series of this length can show a trend, however steep.

    Args:
        n: number of values.

    Raises:
        ValueError: n is below 1.

    Source: one order of n! gives the highest S.
    """
    if n < 1:
        raise ValueError("n must be at least 1")
    return min(1.0, 2 / math.factorial(n))
