"""Functions behind the boldest sentences, against published figures and named libraries, by another way than ours."""

from __future__ import annotations

import numpy as np
import pandas as pd
import polars as pl
import pymannkendall
import pytest
import statsmodels.api as sm
from scipy import stats
from scipy.integrate import quad, solve_ivp
from scipy.optimize import approx_fprime, brentq
from statsmodels.stats.meta_analysis import combine_effects
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

from pipeline.statistics.accumulation import Balance, fit_balance
from pipeline.statistics.effect import Difference, difference_in_differences
from pipeline.statistics.forecast import dressing_needed, forecast
from pipeline.statistics.interval import Estimate
from pipeline.statistics.random_effects import reml, shrunken
from pipeline.statistics.series import comparable_run
from pipeline.statistics.verdict import measurement_slope_sd, trend_verdict
from tests.outside_checks import outside

# Yield of dyestuff: preparations of each of six batches (Davies & Goldsmith 1972, section 6.4, as carried by lme4).
DYESTUFF = np.array([
    [1545, 1440, 1440, 1520, 1580], [1540, 1555, 1490, 1560, 1495], [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545], [1595, 1630, 1515, 1635, 1625], [1520, 1455, 1450, 1480, 1445],
], float)  # fmt: skip
# Made-up yields whose batches differ less than chance (Box & Tiao 1973, as carried by lme4, Dyestuff2).
DYESTUFF2 = np.array([
    [7.298, 3.846, 2.434, 9.566, 7.990], [5.220, 6.556, 0.608, 11.788, -0.892], [0.110, 10.386, 13.434, 5.510, 8.166],
    [2.212, 4.852, 7.092, 9.288, 4.980], [0.282, 9.014, 4.458, 9.446, 7.198], [1.722, 4.782, 8.106, 0.758, 3.758],
])  # fmt: skip
LAYER = 21.0
"""kg/m²."""


# --- trend_verdict ---------------------------------------------------------------------------------------------------


@outside("worked example", "Nile at Aswan 1871-1970 (Cobb 1978), S -1387 and Var 112728.333 as pymannkendall gives")
def test_nile_falls_as_the_library_says() -> None:
    """A hundred years: slope −2.6 a year, z −4.12807; the data are those that statsmodels carries."""
    data = sm.datasets.nile.load_pandas().data
    got = trend_verdict(data["year"], data["volume"], ["Aswan"] * 100)
    theirs = pymannkendall.original_test(data["volume"])
    assert (theirs.s, theirs.var_s) == (-1387, pytest.approx(112728.333, abs=5e-4))
    assert (got.word, got.slope) == ("falling", pytest.approx(-2.6))
    assert got.p == pytest.approx(2 * stats.norm.sf(4.12807), rel=1e-4)
    assert got.p == pytest.approx(theirs.p)


@outside("library", "pandas groupby, scipy.stats.kendalltau (exact), theilslopes and linregress")
@pytest.mark.parametrize("seed", range(4))
def test_verdict_of_several_results_a_year_as_pandas_and_scipy(seed: int) -> None:
    """Results of a year are averaged, years tested: counted another way from the raw table."""
    draw = np.random.default_rng(seed)
    table = pd.DataFrame({"year": np.repeat(np.arange(2015, 2024), 2), "value": draw.normal(7, 0.4, 18)})
    table["value"] -= 0.2 * (table["year"] - 2015)
    got = trend_verdict(table["year"], table["value"], ["k"] * 18)
    yearly = table.groupby("year")["value"].mean()
    assert got.p == pytest.approx(stats.kendalltau(yearly.index, yearly, method="exact").pvalue)
    assert got.slope == pytest.approx(stats.theilslopes(yearly, yearly.index).slope)
    line = stats.linregress(yearly.index, yearly)
    half = stats.t.ppf(0.975, 7) * line.stderr
    assert got.line is not None
    assert (got.line.low, got.line.high) == pytest.approx((line.slope - half, line.slope + half))


@outside("library", "statsmodels OLS: errors of known size through the pseudo-inverse of its design")
def test_error_of_a_slope_as_through_the_design_of_statsmodels() -> None:
    years, sd = np.array([2014.2, 2015.1, 2017.0, 2018.3, 2021.9]), np.array([0.3, 0.2, 0.5, 0.1, 0.4])
    model = sm.OLS(np.zeros(5), sm.add_constant(years - 2018))
    model.fit()
    slope = model.pinv_wexog[1]
    assert measurement_slope_sd(years, sd) == pytest.approx(float(np.sqrt(slope**2 @ sd**2)))


# --- comparable_run --------------------------------------------------------------------------------------------------


@outside("library", "polars rle of the keys in order of dates, pandas groupby of the dates")
@pytest.mark.parametrize("seed", range(6))
def test_latest_run_as_the_last_run_length_of_polars(seed: int) -> None:
    """One key a date: the latest run is the last run of equal keys, its samples the means of its dates."""
    draw = np.random.default_rng(seed)
    key_of_date = draw.choice(["A", "B"], 9, p=[0.7, 0.3])
    date = np.repeat(np.arange(2010.0, 2019.0), draw.integers(1, 4, 9))
    keys = key_of_date[(date - 2010).astype(int)]
    values = draw.normal(6, 1, date.size)
    shuffled = draw.permutation(date.size)
    run = comparable_run(date[shuffled], values[shuffled], keys[shuffled].tolist(), measurement_sd=0.6)
    runs = pl.Series(key_of_date).rle().struct.unnest()
    used = date >= 2019 - runs["len"][-1]
    means = pd.DataFrame({"date": date, "value": values})[used].groupby("date")["value"]
    assert (run.key, run.years.tolist()) == (runs["value"][-1], list(means.groups))
    assert run.values == pytest.approx(means.mean().to_numpy())
    assert run.sd == pytest.approx(0.6 / np.sqrt(means.size().to_numpy()))
    assert (run.key_before is None) == (runs.height == 1)


# --- fit_balance, forecast, dressing_needed --------------------------------------------------------------------------


def solved(a: float, start: float, years: np.ndarray, doses: list[tuple[float, float]]) -> list[float]:
    """Fractions at the years by scipy's solver, each dose as so much mixed in at once."""
    path, at, f = [], years[0], start
    for when, mass in sorted([*doses, *((year, -1.0) for year in years)], key=lambda one: (one[0], one[1])):
        if when > at:
            growth = solve_ivp(lambda _t, y: a * (1 - y) / LAYER, (at, when), [f], rtol=1e-11, atol=1e-14)
            f, at = float(growth.y[0, -1]), when
        if mass < 0:
            path.append(f)
        else:  # mixed as it goes in: scipy's solver over the mass
            f = (
                float(solve_ivp(lambda _m, y: -y / LAYER, (0, mass), [f], rtol=1e-11, atol=1e-14).y[0, -1])
                if mass
                else f
            )
    return path


YEARS = np.array([0.0, 1.1, 2.0, 3.2])
DOSES = [(0.4, 5.0), (1.3, 4.0), (1.8, 6.0), (2.6, 5.5)]
SD = 0.004


def fitted() -> Balance:
    """A fit of samples a little off the solver's own path."""
    seen = np.array(solved(0.55, 0.08, YEARS, DOSES)) + np.array([1, -1, 1, -1]) * 1e-3
    when, mass = zip(*DOSES, strict=True)
    got = fit_balance(YEARS, seen, LAYER, dose_years=when, dose_mass=mass, sd=SD)
    assert isinstance(got, Balance)
    return got


@outside("library", "scipy.integrate.solve_ivp and scipy.optimize.least_squares, covariance from its Jacobian")
def test_balance_as_a_solver_and_a_general_fitter_find_it() -> None:
    from scipy.optimize import least_squares

    seen = np.array(solved(0.55, 0.08, YEARS, DOSES)) + np.array([1, -1, 1, -1]) * 1e-3
    theirs = least_squares(
        lambda p: (np.array(solved(p[0], p[1], YEARS, DOSES)) - seen) / SD, [0.4, 0.07], x_scale=[1, 0.1]
    )
    got = fitted()
    assert got.accumulation == pytest.approx(theirs.x[0], rel=1e-5)
    assert got.fraction == pytest.approx(solved(*theirs.x, YEARS, DOSES)[-1], rel=1e-6)
    covariance = np.linalg.inv(theirs.jac.T @ theirs.jac)
    assert got.se == pytest.approx(np.sqrt(covariance[0, 0]), rel=1e-3)


def ahead(a: float, now: float, dressing: float, years: float) -> float:
    """Fraction after some years of steady growth and dressing by scipy's solver."""
    flow = solve_ivp(lambda _t, y: (a * (1 - y) - dressing * y) / LAYER, (0, years), [now], rtol=1e-11, atol=1e-14)
    return float(flow.y[0, -1])


@outside("library", "scipy.integrate.solve_ivp; scipy.optimize.approx_fprime for the delta method")
@pytest.mark.parametrize("dressing", [0.0, 4.5])
def test_forecast_as_a_solver_carries_it(dressing: float) -> None:
    balance = fitted()
    got = forecast(balance, 2.5, dressing)
    now = np.array([balance.accumulation, balance.fraction])
    assert got.value == pytest.approx(ahead(*now, dressing, 2.5), rel=1e-8)
    slope = approx_fprime(now, lambda p: ahead(p[0], p[1], dressing, 2.5), 1e-6)
    half = stats.norm.ppf(0.975) * np.sqrt(slope @ np.array(balance.joint)[:2, :2] @ slope)
    assert (got.high - got.low) / 2 == pytest.approx(half, rel=1e-4)


@outside("library", "scipy.optimize.brentq on scipy.integrate.solve_ivp; approx_fprime for the delta method")
def test_dressing_needed_as_a_root_of_the_solver() -> None:
    balance = fitted()
    got = dressing_needed(balance, 0.06, 3.0)
    assert isinstance(got, Estimate)

    def need(p: np.ndarray) -> float:
        return float(brentq(lambda s: ahead(p[0], p[1], s, 3.0) - 0.06, 0, 60, xtol=1e-12))

    now = np.array([balance.accumulation, balance.fraction])
    assert got.value == pytest.approx(need(now), rel=1e-7)
    slope = approx_fprime(now, need, 1e-6)
    half = stats.norm.ppf(0.975) * np.sqrt(slope @ np.array(balance.joint)[:2, :2] @ slope)
    assert (got.high - got.value, got.value - got.low) == pytest.approx((half, half), rel=1e-3)


@outside("library", "scipy.optimize.brentq on the rate of change at the target")
def test_dressing_that_holds_as_a_root_of_the_rate() -> None:
    balance = fitted()
    got = dressing_needed(balance, 0.07, None)
    assert isinstance(got, Estimate)
    held = brentq(lambda s: balance.accumulation * (1 - 0.07) - s * 0.07, 0, 60)
    assert got.value == pytest.approx(held)


# --- shrunken --------------------------------------------------------------------------------------------------------


@outside("worked example", "Dyestuff (Davies & Goldsmith 1972, 6.4), REML estimates of lme4: 1527.5, 1764.05, 2451.25")
def test_dyestuff_has_the_published_variances() -> None:
    within = float(DYESTUFF.var(axis=1, ddof=1).mean())
    assert within == pytest.approx(2451.25)
    got = reml(DYESTUFF.mean(axis=1), np.full(6, np.sqrt(within / 5)))
    assert (got.mean, got.tau2) == (pytest.approx(1527.5), pytest.approx(1764.05, abs=0.005))


@outside("worked example", "Dyestuff2 (Box & Tiao 1973), lme4: variance between batches 0, mean 5.6656")
def test_batches_that_differ_less_than_chance_have_no_spread_of_their_own() -> None:
    """The analysis of variance gives −1.3219: a laboratory's effect must come out 0."""
    within = float(DYESTUFF2.var(axis=1, ddof=1).mean())
    assert within == pytest.approx(14.94589, abs=5e-6)
    values, sd = DYESTUFF2.mean(axis=1), np.full(6, np.sqrt(within / 5))
    got = reml(values, sd)
    assert (got.mean, got.tau2) == (pytest.approx(5.6656), 0.0)
    drawn = [one.value for one in shrunken(values, sd)]
    assert np.ptp(drawn) < np.ptp(values) / 2
    assert np.mean(drawn) == pytest.approx(5.6656, abs=1e-3)


@outside("library", "scipy.integrate.quad over the spread, statsmodels combine_effects for the mean at each")
def test_shrunken_as_an_integral_over_the_spread() -> None:
    """Dyestuff's first batch: its prediction at each τ weighed by the restricted likelihood, by adaptive quadrature."""
    values, s = DYESTUFF.mean(axis=1), float(np.sqrt(2451.25 / 5))

    def at(tau: float) -> tuple[float, float]:
        """Restricted likelihood and prediction; the mean by statsmodels with this variance added to each."""
        total = np.full(6, s**2 + tau**2)
        mean = float(combine_effects(values, total, method_re="dl").mean_effect_fe)
        weight = np.exp(-0.5 * (5 * np.log(total[0] / s**2) + ((values - mean) ** 2 / total).sum()))
        return weight, mean + tau**2 / total[0] * (values[0] - mean)

    norm = quad(lambda tau: at(tau)[0], 0, np.inf, limit=200)[0]
    theirs = quad(lambda tau: at(tau)[0] * at(tau)[1], 0, np.inf, limit=200)[0] / norm
    assert shrunken(values, np.full(6, s))[0].value == pytest.approx(theirs, abs=0.01)


# --- difference_in_differences ---------------------------------------------------------------------------------------


@outside("library", "statsmodels CompareMeans (usevar unequal), and OLS on a dummy with HC2 errors")
@pytest.mark.parametrize("seed", range(3))
def test_difference_in_differences_as_statsmodels(seed: int) -> None:
    draw = np.random.default_rng(seed)
    changed, unchanged = draw.normal(-0.5, 0.4, 6 + seed), draw.normal(0, 0.9, 15)
    got = difference_in_differences(changed, unchanged)
    assert isinstance(got, Difference)
    two = CompareMeans(DescrStatsW(changed), DescrStatsW(unchanged))
    assert (got.low, got.high) == pytest.approx(two.tconfint_diff(usevar="unequal"))
    dummy = sm.add_constant(np.r_[np.ones(changed.size), np.zeros(15)])
    line = sm.OLS(np.r_[changed, unchanged], dummy).fit(cov_type="HC2")
    assert got.value == pytest.approx(line.params[1])
    freedom = two.dof_satt()
    assert (got.high - got.low) / 2 == pytest.approx(stats.t.ppf(0.975, freedom) * line.bse[1])
