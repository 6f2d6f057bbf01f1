"""Slopes and Kendall's test at their borders; ranks of an interval counted another way."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.stats import norm

from pipeline.statistics.kendall import mann_kendall, score, score_variance, tie_sizes
from pipeline.statistics.trend import least_squares, theil_sen

Y = [5.1, 4.9, 5.6, 4.2, 4.8, 3.9, 4.4, 3.1, 3.6, 3.3, 2.9, 3.0]


def misses(n: int) -> list[float]:
    """Two-sided chance that the k-th slopes from both ends miss the true one, k from 0: orders by their inversions."""
    orders = np.ones(1)
    for size in range(2, n + 1):
        orders = np.convolve(orders, np.ones(size))
    return [0.0, *(2 * np.cumsum(orders) / math.factorial(n))]


@pytest.mark.parametrize("n", [5, 6, 8, 9, 12])
@pytest.mark.parametrize("alpha", [0.05, 0.1, 0.2, 0.5, 0.8])
def test_ranks_between_the_levels_that_few_years_attain(n: int, alpha: float) -> None:
    """The neighbours of the level, and between them in proportion to the normal quantile."""
    level = misses(n)
    k = max(i for i, miss in enumerate(level) if miss <= alpha)
    got = theil_sen(range(n), Y[:n], alpha=alpha)
    part = 0.0
    if level[k + 1] < 1:
        far, z, near = norm.isf(np.array([level[k], alpha, level[k + 1]]) / 2)
        part = (far - z) / (far - near)
    assert got.low_rank == pytest.approx(k + part)
    assert got.high_rank == pytest.approx(n * (n - 1) / 2 + 1 - k - part)
    assert got.confidence == pytest.approx(1 - alpha if part else 1 - level[k])


def test_four_years_have_no_interval_at_95_percent() -> None:
    got = theil_sen(range(4), Y[:4])
    assert (got.low_rank, got.high_rank, got.confidence) == (0.0, 7.0, 1.0)
    assert (got.low, got.high) == (-math.inf, math.inf)


def test_twenty_are_counted_out_and_twenty_one_are_not() -> None:
    draw = np.random.default_rng(1)
    counted, approximate = (theil_sen(range(n), draw.normal(size=n)) for n in (20, 21))
    assert (counted.method, approximate.method) == ("interpolated", "normal")
    assert (counted.confidence, approximate.confidence) == (0.95, 0.95)


@pytest.mark.parametrize(("x", "y"), [([1.0, 2.0, 3.0], [1.0, 2.0]), ([1.0, 2.0], [1.0, 2.0, 3.0])])
def test_each_value_has_its_time(x: list[float], y: list[float]) -> None:
    for slope in (theil_sen, least_squares):
        with pytest.raises(ValueError, match="differ in length"):
            slope(x, y)


def test_a_single_value_has_no_trend_and_no_spread() -> None:
    assert score_variance((1,), (1,)) == 0
    assert mann_kendall([3.0]).p == 1.0


def test_spread_with_three_tied_in_both_by_full_enumeration() -> None:
    x, y = np.array([1, 1, 1, 2, 3, 3.0]), [2, 2, 2, 5, 7, 7.0]
    spread = np.array([score(x, np.array(order)) for order in itertools.permutations(y)], float)
    assert score_variance(tie_sizes(x), tie_sizes(y)) == pytest.approx(spread.var())


def test_ties_in_time_alone_are_counted_out() -> None:
    """Of 120 orders the two that differ within the day in common rise as far, and two fall as far."""
    got = mann_kendall([1.0, 2.0, 3.0, 4.0, 5.0], [1.0, 1.0, 2.0, 3.0, 4.0])
    assert (got.s, got.method, got.p) == (9, "exact", pytest.approx(4 / 120))
