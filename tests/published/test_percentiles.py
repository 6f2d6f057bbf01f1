"""Percentiles, intervals and spread against published figures and numpy, scipy and statsmodels."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from pipeline.statistics.interval import (
    coefficient_of_variation,
    mean_interval,
    percentile,
    pooled_sd,
    sampling_sd,
    t_quantile,
    t_tail,
    wilson_interval,
)
from pipeline.statistics.ways import PercentileType
from tests.outside_checks import outside

# NIST/SEMATECH e-Handbook 7.2.6.2 (data and 95.1981 from memory, arithmetic recomputed).
WAFERS = [95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682]


@outside("figure", "NIST/SEMATECH e-Handbook 1.3.6.7.2, column 0.975")
@pytest.mark.parametrize(("freedom", "printed"), [(1, 12.706), (10, 2.228), (30, 2.042), (120, 1.980)])
def test_t_as_in_its_table(freedom: int, printed: float) -> None:
    """NIST/SEMATECH e-Handbook 1.3.6.7.2, column 0.975."""
    assert t_quantile(freedom) == pytest.approx(printed, abs=5e-4)


@outside("library", "scipy.stats.t.sf")
@pytest.mark.parametrize(("value", "freedom"), [(2.228, 10), (0.0, 3), (-1.5, 4), (40.0, 2), (1.2, 7.5)])
def test_the_tail_of_t_as_scipy(value: float, freedom: float) -> None:
    assert t_tail(value, freedom) == float(stats.t.sf(value, freedom))


@outside("figure", "NIST/SEMATECH e-Handbook 1.3.6.7.2, column 0.975")
@pytest.mark.parametrize(("freedom", "printed"), [(1, 12.706), (10, 2.228), (30, 2.042), (120, 1.980)])
def test_the_tail_of_t_as_in_its_table(freedom: int, printed: float) -> None:
    assert t_tail(printed, freedom) == pytest.approx(0.025, abs=2e-5)


LIQUISEARCH = outside("figure", "an encyclopaedia's example of the percentile: 40th percentile of 15 20 35 40 50")


@pytest.mark.parametrize(
    ("kind", "expected"),
    [pytest.param(6, 26, marks=LIQUISEARCH), pytest.param(7, 29, marks=LIQUISEARCH), (8, 27)],
)
def test_fortieth_percentile_of_five(kind: PercentileType, expected: float) -> None:
    """15 20 35 40 50: 26 and 29 published (an encyclopaedia), 27 computed from Hyndman & Fan 1996."""
    assert percentile([15, 20, 35, 40, 50], 0.4, kind=kind) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("kind", "expected"), [(6, 95.19807), (7, 95.1957), (8, 95.1972)])
def test_nist_ninetieth_percentile(kind: PercentileType, expected: float) -> None:
    assert percentile(WAFERS, 0.9, kind=kind) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        (7, [1.9, 3.25, 5.5, 7.75, 9.1]),
        (8, [1.3667, 2.9167, 5.5, 8.0833, 9.6333]),
        (6, [1.1, 2.75, 5.5, 8.25, 9.9]),
    ],
)
def test_one_to_ten(kind: PercentileType, expected: list[float]) -> None:
    """Computed from h = (n+1)p, (n−1)p+1, (n+⅓)p+⅓ (Hyndman & Fan 1996)."""
    got = [percentile(range(1, 11), p, kind=kind) for p in (0.1, 0.25, 0.5, 0.75, 0.9)]
    assert got == pytest.approx(expected, abs=5e-5)


@outside("library", "numpy.quantile, methods weibull, linear and median_unbiased")
@pytest.mark.parametrize(("kind", "method"), [(6, "weibull"), (7, "linear"), (8, "median_unbiased")])
def test_percentiles_as_numpy(kind: PercentileType, method: Literal["weibull", "linear", "median_unbiased"]) -> None:
    """Scattered values, few and many, and shares out to the ends, where every type stops at the extremes."""
    for n in (1, 2, 7, 40):
        values = np.random.default_rng(n).normal(8, 2, n)
        shares = [0.0, 0.02, 0.1, 1 / 3, 0.5, 0.9, 0.99, 1.0]
        got = [percentile(values, share, kind=kind) for share in shares]
        assert got == pytest.approx(np.quantile(values, shares, method=method), abs=1e-12)


def test_unordered_values_and_a_share_outside() -> None:
    assert percentile([50, 15, 40, 20, 35], 0.4, kind=7) == pytest.approx(29)
    with pytest.raises(ValueError, match="share"):
        percentile([1, 2], 40)


@outside("library", "scipy.stats.t.interval and sem")
@pytest.mark.parametrize("n", [2, 3, 12])
def test_mean_interval_as_scipy(n: int) -> None:
    values = np.random.default_rng(n).normal(8, 1, n)
    got = mean_interval(values, confidence=0.9)
    expected = stats.t.interval(0.9, n - 1, loc=values.mean(), scale=stats.sem(values))
    assert (got.low, got.high) == pytest.approx(expected, abs=1e-12)
    assert got.sd == pytest.approx(values.std(ddof=1))


def test_no_values_and_impossible_shares_are_refused() -> None:
    with pytest.raises(ValueError, match="none given"):
        mean_interval([])
    with pytest.raises(ValueError, match="successes"):
        wilson_interval(6, 5)


def test_one_value_has_no_interval() -> None:
    """A single sample must not look certain."""
    got = mean_interval([8.2])
    assert (got.mean, got.n, got.sd, got.low, got.high) == (8.2, 1, None, None, None)


def test_within_green_spread_of_organic_matter() -> None:
    """Mean 58, SD 6.5 g/kg is a CV of 11 % (Asian Turfgrass Center, 2020-07-06)."""
    got = coefficient_of_variation([58 - 6.5 / math.sqrt(2), 58 + 6.5 / math.sqrt(2)])
    assert got == pytest.approx(0.112, abs=5e-4)


def test_cricket_pitch_spreads() -> None:
    """SD 44 of 372 is 12 %, 93 of 553 is 17 %, 137 of 428 is 32 % (Clegg readings; check list section 8)."""
    for mean, sd, published in ((372, 44, 0.12), (553, 93, 0.17), (428, 137, 0.32)):
        pair = [mean - sd / math.sqrt(2), mean + sd / math.sqrt(2)]
        assert coefficient_of_variation(pair) == pytest.approx(published, abs=0.005)


@outside("library", "scipy.stats.variation")
def test_cv_as_scipy() -> None:
    values = [4.0, 5.0, 7.0]
    assert coefficient_of_variation(values) == pytest.approx(stats.variation(values, ddof=1))


def test_cv_is_refused_about_zero() -> None:
    with pytest.raises(ValueError, match="above zero"):
        coefficient_of_variation([-1.0, 1.0])


@outside("library", "statsmodels proportion_confint, method wilson")
@pytest.mark.parametrize(("successes", "n"), [(0, 5), (5, 5), (3, 10), (81, 263)])
@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_wilson_as_statsmodels(successes: int, n: int, confidence: float) -> None:
    expected = proportion_confint(successes, n, 1 - confidence, method="wilson")
    assert wilson_interval(successes, n, confidence=confidence) == pytest.approx(expected, abs=1e-12)


def test_wilson_newcombe_1998() -> None:
    """81 of 263: 0.2553 to 0.3662 (Newcombe 1998, Stat. Med. 17:857–872, Table I, method 3; from memory)."""
    assert wilson_interval(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)


@outside("library", "scipy.stats.f_oneway")
def test_pooled_sd_is_the_residual_of_one_way_anova() -> None:
    """scipy's F is between over within: the within mean square is the pooled variance."""
    groups = [[8.1, 8.4, 7.9], [6.0, 6.6], [9.0, 9.3, 9.1, 8.7]]
    every = np.concatenate(groups)
    between = sum(len(g) * (np.mean(g) - every.mean()) ** 2 for g in groups) / 2
    pooled = pooled_sd([*groups, [5.0]])
    assert pooled is not None
    assert between / pooled**2 == pytest.approx(stats.f_oneway(*groups).statistic)
    assert pooled_sd([[1.0], [2.0]]) is None


@outside("figure", "ATC 2019-07-29: half widths of 5, 10 and 15 cores")
def test_precision_of_a_green_by_its_cores() -> None:
    """89 % interval of a green's mean: 5 cores ± 9, 10 ± 6, 15 ± 5 g/kg (Asian Turfgrass Center, 2019-07-29).

    One spread of single cores gives all three: 14 % (its median, 2020-07-06) of 86 g/kg (C4 mean, 0–20 mm).
    """
    z = stats.norm.ppf((1 + 0.89) / 2)
    half = [z * sampling_sd(86, cores, core_cv=0.14) for cores in (5, 10, 15)]
    assert [round(h) for h in half] == [9, 6, 5]


def test_laboratory_error_does_not_average_out() -> None:
    assert sampling_sd(80, 10**9, core_cv=0.14, laboratory_cv=0.05) == pytest.approx(4.0)
    assert sampling_sd(80, 4, core_cv=0.1) == pytest.approx(4.0)
    with pytest.raises(ValueError, match="one core"):
        sampling_sd(80, 0, core_cv=0.14)
