"""Differences between times and between greens: against least squares of statsmodels and a published study."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import t, ttest_ind

from pipeline.statistics.effect import Difference, difference_in_differences, like_with_like
from pipeline.statistics.interval import Refused
from tests.outside_checks import outside


def spread(mean: float, se: float, n: int) -> np.ndarray:
    """Values with exactly this mean and standard error."""
    base = np.linspace(-1, 1, n)
    return mean + base / base.std(ddof=1) * se * np.sqrt(n)


@outside("worked example", "Card & Krueger 1994, table 3: 2.76 (1.36)")
def test_minimum_wage_study() -> None:
    """Card & Krueger 1994, table 3: changes 0.59 (0.54) and −2.16 (1.25), difference 2.76 (1.36) in rounded figures."""
    got = difference_in_differences(spread(0.59, 0.54, 321), spread(-2.16, 1.25, 78))
    assert isinstance(got, Difference)
    assert got.value == pytest.approx(2.76, abs=0.011)
    freedom = (0.54**2 + 1.25**2) ** 2 / (0.54**4 / 320 + 1.25**4 / 77)
    assert (got.high - got.low) / 2 / t.ppf(0.975, freedom) == pytest.approx(1.36, abs=0.005)


@outside("library", "scipy.stats.ttest_ind, equal_var=False")
def test_welch_as_in_scipy() -> None:
    draw = np.random.default_rng(3)
    one, two = draw.normal(0.5, 1, 9), draw.normal(0, 3, 14)
    got = difference_in_differences(one, two)
    theirs = ttest_ind(one, two, equal_var=False).confidence_interval(0.95)
    assert isinstance(got, Difference)
    assert (got.low, got.high) == pytest.approx((theirs.low, theirs.high))


def test_too_few_on_one_side() -> None:
    got = difference_in_differences([1.0] * 4, [0.0, 1.0] * 10)
    assert isinstance(got, Refused)
    assert got.why == "4 greens changed and 20 did not; at least 5 of each are needed."


def test_no_scatter_is_no_certainty() -> None:
    """Ten greens rounded to the same change do not make an interval of no width."""
    assert isinstance(difference_in_differences([0.5] * 5, [0.0] * 5), Refused)


@outside("library", "statsmodels OLS")
def test_like_with_like_is_least_squares_with_a_level_a_class() -> None:
    draw = np.random.default_rng(8)
    levels = {"a": 11.0, "b": 12.5, "c": 14.0}
    first, second = ["a", "a", "b", "b", "b", "x"], ["a", "b", "b", "c", "y", "b"]
    before = np.array([levels.get(k, 20.0) for k in first]) + draw.normal(0, 0.3, len(first))
    after = np.array([levels.get(k, 5.0) for k in second]) + 0.4 + draw.normal(0, 0.3, len(second))
    got = like_with_like(before, first, after, second)
    assert isinstance(got, Difference)
    keep = [
        (v, k, side) for vs, ks, side in ((before, first, 0), (after, second, 1)) for v, k in zip(vs, ks, strict=True)
    ]
    keep = [row for row in keep if row[1] in "ab"]
    design = np.array([[side, k == "a", k == "b"] for _, k, side in keep], float)
    fit = sm.OLS([v for v, _, _ in keep], design).fit()
    assert got.value == pytest.approx(fit.params[0])
    assert (got.low, got.high) == pytest.approx(tuple(fit.conf_int()[0]))
    assert (got.n_first, got.n_second) == (5, 4)


def test_nothing_alike_is_refused() -> None:
    """A mean of May at 5 mm against one of July at 8 mm would show the month and the mower."""
    got = like_with_like([11.0] * 9, [(5, 5.0)] * 9, [13.0] * 9, [(7, 8.0)] * 9)
    assert isinstance(got, Refused)
    assert got.why == "0 and 0 days under like conditions; 3 and 3 needed."
