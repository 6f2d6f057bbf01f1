"""Slopes and trend tests against scipy, pymannkendall, statsmodels and full enumeration."""

from __future__ import annotations

import itertools
from collections import Counter

import numpy as np
import pymannkendall
import pytest
from scipy import stats

from pipeline.statistics.kendall import exact_distribution, exact_upper_tail, mann_kendall, score, smallest_p, tie_sizes
from pipeline.statistics.trend import least_squares, theil_sen
from tests.outside_checks import outside
from tests.thorough import beyond


def _series(seed: int, n: int, decimals: int = 6) -> tuple[np.ndarray, np.ndarray]:
    """Uneven times and values with a slope and noise; few decimals make ties."""
    draw = np.random.default_rng(seed)
    x = np.sort(draw.uniform(0, 10, n))
    return x, np.round(0.1 * x + draw.normal(0, 0.5, n), decimals)


@outside("library", "scipy.stats.theilslopes")
@pytest.mark.parametrize("n", [4, 5, 7, 10, 11, 25, 60])
def test_theil_sen_as_scipy(n: int) -> None:
    x, y = _series(n, n)
    ours = theil_sen(x, y)
    assert ours.slope == pytest.approx(stats.theilslopes(y, x).slope, abs=1e-12)


@outside("library", "scipy.stats.theilslopes")
@pytest.mark.parametrize("n", [25, 60])
def test_theil_sen_interval_within_a_rank_of_scipy(n: int) -> None:
    """scipy rounds the ranks, we interpolate: each of our ends lies within one slope of scipy's."""
    x, y = _series(n, n)
    ours = theil_sen(x, y)
    theirs = stats.theilslopes(y, x, 0.95)
    i, j = np.triu_indices(n, k=1)
    slopes = np.sort((y[j] - y[i]) / (x[j] - x[i]))
    for end, other in ((ours.low, theirs.low_slope), (ours.high, theirs.high_slope)):
        k = int(np.searchsorted(slopes, other))
        assert slopes[max(k - 1, 0)] - 1e-12 <= end <= slopes[min(k + 1, slopes.size - 1)] + 1e-12


@outside("library", "scipy.stats.kendalltau, exact")
@pytest.mark.parametrize("n", [3, 4, 6, 8, 10])
def test_exact_p_as_scipy_kendalltau(n: int) -> None:
    """Without ties scipy counts the same distribution out."""
    x, y = _series(100 + n, n)
    assert mann_kendall(y, x).p == pytest.approx(stats.kendalltau(x, y, method="exact").pvalue, abs=1e-12)


@outside("library", "scipy.stats.kendalltau, exact")
@pytest.mark.parametrize("n", [3, 5, 8])
def test_tails_of_the_exact_distribution_as_scipy(n: int) -> None:
    """Every score that n values can have, one swap of neighbours after the other: twice the tail is scipy's p."""
    order = list(range(n))
    for _ in range(n):
        for i in range(n - 1):
            s = score(np.arange(n, dtype=float), np.array(order, float))
            theirs = stats.kendalltau(range(n), order, method="exact").pvalue
            assert min(1.0, 2 * exact_upper_tail(abs(s), (1,) * n)) == pytest.approx(theirs)
            assert sum(p for at, p in exact_distribution((1,) * n) if abs(at) >= abs(s)) == pytest.approx(theirs)
            if order[i] < order[i + 1]:
                order[i], order[i + 1] = order[i + 1], order[i]
    assert order == list(range(n))[::-1]
    assert smallest_p(n) == pytest.approx(stats.kendalltau(range(n), order, method="exact").pvalue)


@outside("library", "pymannkendall original_test")
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("decimals", [6, 0])
def test_mann_kendall_as_pymannkendall(seed: int, decimals: int) -> None:
    """The library knows the normal approximation only; with and without ties, 30 values."""
    _, y = _series(seed, 30, decimals)
    ours, theirs = mann_kendall(y), pymannkendall.original_test(y)
    assert ours.s == theirs.s
    assert ours.variance == pytest.approx(theirs.var_s, abs=1e-9)
    assert ours.z == pytest.approx(theirs.z, abs=1e-12)
    assert ours.p == pytest.approx(theirs.p, abs=1e-12)


@pytest.mark.parametrize("values", [[1, 2, 3, 4, 5, 6, 7], [1, 1, 2, 3, 3, 3, 4], [5, 5, 5, 5, 1], [2, 2, 2, 2]])
def test_exact_distribution_by_full_enumeration(values: list[int]) -> None:
    """Every order written out and counted: the generating function must give the same shares, ties included."""
    x = np.arange(len(values), dtype=float)
    counted = Counter(score(x, np.array(order, float)) for order in itertools.permutations(values))
    total = sum(counted.values())
    given = {s: p for s, p in exact_distribution(tie_sizes(values)) if p > 0}
    assert given == pytest.approx({s: c / total for s, c in counted.items()}, abs=1e-15)


@pytest.mark.parametrize(("n", "alpha"), [(5, 0.05), (6, 0.05), (7, 0.05), (7, 0.07), (6, 0.2)])
@beyond(2)
def test_exact_interval_has_the_confidence_it_states(n: int, alpha: float) -> None:
    """Over all orders of n distinct errors, the share of intervals that hold the true slope is the stated one.

    Residuals need only be exchangeable, so n! orders of one set of errors are the whole distribution.
    """
    x = np.arange(n, dtype=float) ** 1.3
    errors = np.random.default_rng(n).normal(size=n)
    held = 0
    orders = (2.0 * x + np.array(order) for order in itertools.permutations(errors))
    lines = [theil_sen(x, y, alpha=alpha, ranks="exact") for y in orders]
    held = sum(line.low <= 2.0 <= line.high for line in lines)
    assert lines[0].confidence >= 1 - alpha
    assert held / len(lines) == pytest.approx(lines[0].confidence, abs=1e-12)


def test_variance_with_ties_in_both_by_full_enumeration() -> None:
    """Kendall's formula for ties in time and value against the spread of S over all orders."""
    x, y = np.array([1, 1, 2, 3, 3, 4.0]), np.array([2, 2, 2, 5, 7, 7.0])
    spread = np.array([score(x, np.array(order)) for order in itertools.permutations(y)], float)
    test = mann_kendall(y, x)
    assert test.variance == pytest.approx(spread.var(), abs=1e-9)
    assert test.method == "normal"


@outside("library", "scipy.stats.linregress and statsmodels OLS")
@pytest.mark.parametrize("n", [3, 6, 40])
def test_least_squares_as_scipy_and_statsmodels(n: int) -> None:
    import statsmodels.api as sm

    x, y = _series(n, n)
    x = x + 2000  # calendar years: where a careless sum of squares loses its digits
    ours, theirs = least_squares(x, y, alpha=0.1), stats.linregress(x, y)
    assert ours.slope == pytest.approx(theirs.slope, rel=1e-10)
    assert ours.slope_se == pytest.approx(theirs.stderr, rel=1e-8)
    fit = sm.OLS(y, sm.add_constant(x)).fit()
    assert (ours.low, ours.high) == pytest.approx(fit.conf_int(0.1)[1], rel=1e-6)
