"""Counted swards, rings of water and differences between visits: published examples, scipy and statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from published_checks import CASE, check, given
from scipy import integrate, stats
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from pipeline.agronomy.surface import falling_head_mm_h, infiltration_mm_h
from pipeline.agronomy.sward import clumping, cover_pct
from pipeline.statistics.difference import mean_difference, share_difference
from pipeline.statistics.interval import coefficient_of_variation, wilson_interval
from tests.outside_checks import outside

RING = "ring of 300 mm, 1,060 mL in 10 min: 1.50 cm, 90 mm/h"


@pytest.mark.parametrize(
    CASE,
    [
        check("own", infiltration_mm_h, (1060, 300, 10), 90, 0.05, RING),
        check("own", falling_head_mm_h, (100, 85, 10), 90, 1e-9, f"{RING}; the level falls 15 mm"),
        check("memory", cover_pct, (81, 263), 30.80, 0.005, "Newcombe 1998, table I: 81 of 263"),
    ],
)
def test_figure_of_the_example(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize("ring", [150.0, 300.0, 457.0])
def test_the_fall_and_the_volume_of_one_ring_are_one_rate(ring):
    """Water that falls by 12 mm in a ring is π/4 · d² · 12 mm: both formulas must tell the same of it."""
    volume_ml = np.pi / 4 * ring**2 * 12 / 1000
    assert falling_head_mm_h(80.0, 68.0, 17.0) == pytest.approx(infiltration_mm_h(volume_ml, ring, 17.0), rel=1e-12)


@outside("library", "scipy.integrate.solve_ivp on Darcy's law")
def test_a_falling_head_is_the_mean_of_a_rate_that_falls_with_it():
    """Darcy through 100 mm of soil, dh/dt = −K (h + L) / L, solved by scipy: the rate told is the mean over time."""
    conductivity, length = 60.0, 100.0

    def fall(_, head):
        return -conductivity * (head + length) / length

    run = integrate.solve_ivp(fall, (0, 0.5), [80.0], rtol=1e-10, atol=1e-10, dense_output=True)
    end = float(run.y[0, -1])
    hours = np.linspace(0, 0.5, 20001)
    mean = integrate.trapezoid(-fall(0, run.sol(hours)[0]), hours) / 0.5
    assert falling_head_mm_h(80.0, end, 30.0) == pytest.approx(mean, rel=1e-6)


# Newcombe 1998, Statistics in Medicine 17:857–872, table I, score method (figures from memory, recomputed).
NEWCOMBE = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]


@pytest.mark.parametrize(("hits", "points", "low", "high"), NEWCOMBE)
def test_wilson_intervals_of_newcombe(hits, points, low, high):
    assert wilson_interval(hits, points) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


@outside("library", "statsmodels proportion_confint, method wilson")
@pytest.mark.parametrize(("share", "worth"), [(0.02, 480.0), (0.14, 173.3), (0.5, 12.5), (0.0, 37.2)])
def test_wilson_of_points_that_count_for_fewer_agrees_with_statsmodels(share, worth):
    expected = proportion_confint(share * worth, worth, method="wilson")
    assert wilson_interval(share * worth, worth) == pytest.approx(expected, abs=1e-9)


COUNTS = ([12, 3, 7, 20, 0, 9, 15, 4, 11, 6], [50] * 10)
UNEVEN = ([5, 9, 1, 22, 14], [40, 50, 25, 80, 60])


@outside("library", "scipy.stats.chi2_contingency and statsmodels GLM")
@pytest.mark.parametrize(("hits", "points"), [COUNTS, UNEVEN, ([3, 20], [50, 50])])
def test_clumping_is_pearsons_dispersion(hits, points):
    """scipy's chi-square of homogeneity over its degrees of freedom, and the scale of statsmodels' binomial model."""
    missed = np.subtract(points, hits)
    chi = stats.chi2_contingency(np.array([hits, missed]), correction=False)
    assert clumping(hits, points) == pytest.approx(max(1.0, chi.statistic / chi.dof), rel=1e-12)
    model = sm.GLM(np.column_stack([hits, missed]), np.ones(len(hits)), family=sm.families.Binomial())
    run = model.fit()
    assert clumping(hits, points) == pytest.approx(max(1.0, run.pearson_chi2 / run.df_resid), rel=1e-9)


def test_even_counts_are_not_taken_for_better_than_chance():
    """Places more alike than chance would make them are chance all the same: never below 1; one place says nothing."""
    assert clumping([10, 10, 10], [50, 50, 50]) == 1.0
    assert clumping([7], [50]) == clumping([0, 0], [50, 50]) == clumping([50, 50], [50, 50]) == 1.0


# Newcombe 1998, Statistics in Medicine 17:873–890, table II, method 10 (figures from memory, recomputed).
DIFFERENCES = [
    ((56, 70), (48, 80), 0.0524, 0.3339),
    ((9, 10), (3, 10), 0.1705, 0.8090),
    ((5, 56), (0, 29), -0.0381, 0.1926),
]


@outside("library", "statsmodels confint_proportions_2indep, method newcomb")
@pytest.mark.parametrize(("later", "earlier", "low", "high"), DIFFERENCES)
def test_differences_of_newcombe(later, earlier, low, high):
    found = share_difference(later, earlier)
    assert (found.low, found.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))
    expected = confint_proportions_2indep(*later, *earlier, method="newcomb", compare="diff")
    assert (found.low, found.high) == pytest.approx(expected, abs=1e-9)
    assert found.change == pytest.approx(later[0] / later[1] - earlier[0] / earlier[1])
    assert found.shown == (low > 0)


@outside("library", "scipy.stats.ttest_ind, equal_var=False")
@pytest.mark.parametrize("seed", range(4))
def test_difference_of_means_agrees_with_scipy(seed):
    rng = np.random.default_rng(seed)
    later, earlier = rng.normal(88, 9, 9), rng.normal(80, 14, 6)
    found = mean_difference(later, earlier)
    expected = stats.ttest_ind(later, earlier, equal_var=False).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), rel=1e-9)


def test_a_single_reading_shows_no_difference():
    """One reading knows nothing of its own error: the difference is told, and nothing is claimed of it."""
    found = mean_difference([90.0], [80.0, 82.0])
    assert (found.change, found.low, found.high, found.shown) == (9.0, None, None, False)
    alike = mean_difference([5.0, 5.0], [5.0, 5.0])
    assert (alike.low, alike.high, alike.shown) == (0.0, 0.0, False)


# NZSTI, cricket pitches by impact hammer of 0.5 kg: mean, standard deviation and the spread printed beside them, %.
PITCHES = [(372, 44, 12), (553, 93, 17), (428, 137, 32), (438, 58, 13)]


@pytest.mark.parametrize(("mean", "sd", "printed"), PITCHES)
def test_spread_of_hardness_is_the_printed_one(mean, sd, printed):
    """Readings made to have the printed mean and standard deviation have the printed coefficient of variation."""
    shape = np.array([-1.4, -0.9, -0.3, 0.0, 0.2, 0.8, 1.6])
    values = mean + sd * (shape - shape.mean()) / shape.std(ddof=1)
    assert 100 * coefficient_of_variation(values) == pytest.approx(printed, abs=0.5)
