"""Levels of years from values of unlike kinds, and the trend over seasons made of them: against statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from pipeline.statistics.interval import Refused
from pipeline.statistics.season_trend import SeasonTrend, season_trend, through_seasons, widening
from pipeline.statistics.year_effects import linked_with_latest, year_effects
from tests.outside_checks import outside
from tests.thorough import thorough


def cells(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Season, kind and value: six seasons of five kinds, a third of the cells missing, some cells twice."""
    draw = np.random.default_rng(seed)
    pairs = [(s, k) for s in range(6) for k in range(5) if k == 0 or draw.random() < 0.65]
    pairs += pairs[::7]
    season, kind = np.array(pairs, float).T
    return season, kind, 12 + draw.normal(0, 1, 5)[kind.astype(int)] + 0.1 * season + draw.normal(0, 0.4, season.size)


@outside("library", "scipy.stats.linregress")
def test_the_line_through_levels_of_seasons_as_of_scipy() -> None:
    """Of seasons that say nothing of each other; where neighbours are alike the error is wider."""
    seasons, levels = np.array([2021.0, 2022.0, 2024.0, 2026.0]), np.array([6.1, 5.7, 5.9, 5.2])
    line = stats.linregress(seasons, levels)
    assert through_seasons(seasons, levels, alike=0.0) == pytest.approx((line.slope, line.stderr))
    slope, error = through_seasons(seasons, levels, alike=0.4)
    assert (slope, error) == pytest.approx((line.slope, line.stderr * widening(seasons, 0.4)))


@outside("library", "statsmodels OLS on dummies of years and kinds")
@pytest.mark.parametrize("seed", range(3))
def test_levels_of_years_as_the_coefficients_of_statsmodels(seed: int) -> None:
    season, kind, values = cells(seed)
    found = year_effects(season, kind.tolist())
    latest = kind[np.flatnonzero(season == season.max())[-1]]
    columns = [season == s for s in range(6)] + [kind == k for k in range(5) if k != latest]
    theirs = sm.OLS(values, np.array(columns, float).T).fit().params[:6]
    assert found.weights @ values == pytest.approx(theirs, abs=1e-9)
    assert (found.kinds, found.used.all(), found.years.tolist()) == (5, True, list(range(6)))


def test_one_kind_is_the_mean_of_each_year() -> None:
    found = year_effects([1, 1, 2, 4], ["a"] * 4)
    assert found.weights @ np.array([5.0, 7.0, 3.0, 9.0]) == pytest.approx([6.0, 3.0, 9.0])


def test_years_that_nothing_links_are_left_out() -> None:
    """Spring until year 2, autumn from year 3; a year with both would link them."""
    year, kind = [0, 1, 2, 3, 4], ["s", "s", "s", "a", "a"]
    found = year_effects(year, kind)
    assert (found.years.tolist(), found.used.tolist(), found.kinds) == ([3, 4], [False] * 3 + [True] * 2, 1)
    assert linked_with_latest(np.array(year, float), np.array([0, 0, 0, 1, 1])).tolist() == [False] * 3 + [True] * 2
    linked = year_effects([*year, 2], [*kind, "a"])
    assert (linked.years.tolist(), linked.used.all(), linked.kinds) == ([0, 1, 2, 3, 4], True, 2)


def test_a_year_with_both_kinds_links_their_years() -> None:
    found = year_effects([0, 1, 2, 3, 3], ["s", "s", "s", "s", "new"])
    assert found.years.tolist() == [0, 1, 2, 3]  # linked through year 3, in which the new one has its own level
    assert found.used.all()
    apart = year_effects([0, 1, 2, 3, 4, 4], ["a", "a", "a", "b", "b", "a"])
    assert apart.years.tolist() == [0, 1, 2, 3, 4]
    split = year_effects([0, 1, 2, 4, 3, 4.0], ["a", "a", "a", "a", "b", "b"])
    assert split.years.tolist() == [0, 1, 2, 3, 4]
    with pytest.raises(ValueError, match="same length"):
        year_effects([1, 2], ["a"])


@outside("library", "statsmodels OLS twice, its t interval and p; scipy.stats.linregress")
@pytest.mark.parametrize("seed", range(3))
def test_slope_over_seasons_as_statsmodels(seed: int) -> None:
    """Neighbours taken to be independent: least squares through the coefficients of the seasons."""
    season, kind, values = cells(seed)
    got = season_trend(season, values, kind.tolist(), alike=0.0)
    assert isinstance(got, SeasonTrend)
    columns = [season == s for s in range(6)] + [kind == k for k in range(1, 5)]
    levels = sm.OLS(values, np.array(columns, float).T).fit().params[:6]
    line = sm.OLS(levels, sm.add_constant(np.arange(6.0))).fit()
    assert got.slope == pytest.approx(line.params[1])
    assert (got.low, got.high) == pytest.approx(tuple(line.conf_int(0.05)[1]))
    assert got.p == pytest.approx(line.pvalues[1])
    assert got.p == pytest.approx(stats.linregress(np.arange(6.0), levels).pvalue)
    assert (got.seasons, got.kinds, got.n, got.left_out) == (6, 5, values.size, 0)


@thorough
def test_seasons_alike_widen_as_drawn_ones_scatter() -> None:
    """4,000 series of eight seasons that correlate by 0.5: slopes scatter so much more than their own errors say."""
    draw = np.random.default_rng(4)
    values = draw.normal(size=(4000, 8))
    for i in range(1, 8):
        values[:, i] = 0.5 * values[:, i - 1] + np.sqrt(0.75) * values[:, i]
    x = np.arange(8.0)
    lines = [stats.linregress(x, row) for row in values]
    seen = np.sqrt(np.mean([line.stderr**2 for line in lines]))
    assert np.std([line.slope for line in lines]) / seen == pytest.approx(widening(x, 0.5), rel=0.03)
    assert widening(x, 0.0) == pytest.approx(1.0)


def test_a_season_counts_once_however_often_it_is_timed() -> None:
    """Twelve months each of two seasons are two seasons; and of seasons exactly in line nothing shows the doubt."""
    season, kind = np.repeat([0, 1], 12), list(range(12)) * 2
    assert season_trend(season, np.linspace(0, 1, 24), kind) == Refused("2 seasons alike, 4 needed")
    straight = season_trend([0, 1, 2, 3], [1.0, 2.0, 3.0, 4.0], ["a"] * 4)
    assert isinstance(straight, SeasonTrend)
    assert (straight.slope, straight.low, straight.p) == (pytest.approx(1.0), None, None)
    with pytest.raises(ValueError, match="needs its season"):
        season_trend([0, 1, 2], [1.0, 2.0], ["a"] * 3)
