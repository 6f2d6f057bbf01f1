"""Simulated greens of known truth, and what is stated of each: trend, balance, forecast, dressing, green speed."""

from __future__ import annotations

import numpy as np

from pipeline.agronomy.soil.organic_matter import layer_bulk_density_t_m3, sampling_half_width
from pipeline.indicators.organic_matter.balance import LAYER_ERROR, RECORD_ERROR
from pipeline.indicators.soil.soil import CORE_VARIATION
from pipeline.statistics.accumulation import Balance, fit_balance
from pipeline.statistics.balance import Doses, dressing_to_hold, dressing_to_reach, fraction_after, fractions_at_samples
from pipeline.statistics.effect import Difference, like_with_like
from pipeline.statistics.forecast import dressing_needed, forecast
from pipeline.statistics.interval import Estimate, mean_interval
from pipeline.statistics.seasonal import seasonal_kendall
from pipeline.statistics.verdict import trend_verdict
from tests.calibrate import visits
from tests.calibrate.result import Shares

SEASONS = 8
CORES = (4, 10, 20)
SLOPES = (-0.5, -0.25, 0.0, 0.0, 0.25)
"""True changes of organic matter, %-points a year; a fall of half a point is what heavy dressing does."""


def green(draw: np.random.Generator, shares: Shares) -> None:
    """One green of eight seasons, everything stated of it held against its truth."""
    _trend(draw, shares)
    for samples in (SEASONS, 3):
        _balance(draw, shares, samples)
    _speed(draw, shares)
    visits.visits(draw, shares)


def _trend(draw: np.random.Generator, shares: Shares) -> None:
    """A straight course sampled once a season by cores, with a wander of the green itself."""
    years, cores = np.arange(float(SEASONS)), draw.choice(CORES, SEASONS)
    slope = float(draw.choice(SLOPES))
    true = draw.uniform(5, 10) + slope * years + draw.normal(0, 0.15, SEASONS)
    sd = CORE_VARIATION * true / np.sqrt(cores)
    seen = true + draw.normal(0, 1, SEASONS) * sd
    got = trend_verdict(years, seen, ["one"] * SEASONS, measurement_sd=sd)
    if slope == 0:
        shares.of("steady greens called falling or rising", "at most", 0.05).count(got.word in ("falling", "rising"))
    elif slope < 0:
        shares.of(f"true falls of {-slope:g} points a year found", "told", None).count(got.word == "falling")
        shares.of("true falls called rising", "at most", 0.025).count(got.word == "rising")
    if got.low is not None and got.high is not None:
        shares.of("slope of the trend", "within", 0.95).count(got.low <= slope <= got.high)
    assert got.line is not None
    shares.of("slope by least squares", "within", 0.95).count(got.line.low <= slope <= got.line.high)
    half = sampling_half_width(CORE_VARIATION * seen[0], float(cores[0]), 0.95)
    shares.of("organic matter of one bulked sample", "within", 0.95).count(abs(seen[0] - true[0]) <= half)
    results = true[0] * (1 + draw.normal(0, CORE_VARIATION, 4))
    mean = mean_interval(results)
    assert mean.low is not None
    assert mean.high is not None
    shares.of("organic matter of four results", "within", 0.95).count(mean.low <= true[0] <= mean.high)


def _balance(draw: np.random.Generator, shares: Shares, samples: int) -> None:
    """A layer of known accumulation under three dressings a year; log and layer mass wrong by a tenth, as stated."""
    start, a = draw.uniform(0.05, 0.09), draw.uniform(0.15, 0.7)
    mass = 20 * float(layer_bulk_density_t_m3(100 * start))
    years = np.arange(float(samples))
    when = (np.arange(3 * (samples - 1)) + draw.uniform(0, 1, 3 * (samples - 1))) / 3
    put_on = draw.uniform(0, 3, when.size)
    truth = fractions_at_samples(start, a, years, Doses(when, put_on, np.zeros(when.size)), layer_mass=mass)
    cores = draw.choice(CORES, samples)
    sd = CORE_VARIATION * truth / np.sqrt(cores)
    seen = truth + draw.normal(0, 1, samples) * sd
    written = max(0.2, 1 + RECORD_ERROR * draw.standard_normal())
    taken = mass * max(0.2, 1 + LAYER_ERROR * draw.standard_normal())
    fit = fit_balance(
        years,
        seen,
        taken,
        dose_years=when,
        dose_mass=put_on * written,
        sd=CORE_VARIATION * seen.mean() / np.sqrt(cores),
        dose_relative_sd=RECORD_ERROR,
        layer_mass_relative_sd=LAYER_ERROR,
    )
    assert isinstance(fit, Balance)
    span = f"{samples} samples"
    shares.of(f"organic matter gathered, {span}", "within", 0.95).count(fit.low <= a <= fit.high)
    now = float(put_on.sum()) / (samples - 1)
    for plan, kg in (("as dressed now", now), ("as planned", 6.0), ("undressed", 0.0)):
        ahead = forecast(fit, 1.6, kg * written)
        true = float(fraction_after(truth[-1], 1.6, a, kg, mass))
        shares.of(f"forecast a season on {plan}, {span}", "within", 0.95).count(ahead.low <= true <= ahead.high)
    _needed(shares, fit, (a, float(truth[-1]), mass, written), span)


def _needed(shares: Shares, fit: Balance, true: tuple[float, float, float, float], span: str) -> None:
    """Dressing to hold and to reach a target; as the log weighs it, since the club will weigh it the same."""
    a, now, mass, written = true
    level = round(fit.fraction, 3)
    hold = dressing_needed(fit, level, None)
    goal = 0.8 * level
    reach = dressing_needed(fit, goal, 3.6)
    assert isinstance(hold, Estimate)
    assert isinstance(reach, Estimate)
    need = dressing_to_hold(level, a)
    meet = dressing_to_reach(goal, now, 3.6, accumulation=a, layer_mass=mass)
    assert need is not None
    assert meet is not None
    for what, stated, real in (("holds", hold, need), ("reaches the target", reach, meet)):
        inside = stated.low <= max(0.0, real * written) <= stated.high
        shares.of(f"dressing that {what}, {span}", "within", 0.95).count(inside)


def _speed(draw: np.random.Generator, shares: Shares) -> None:
    """Two seasons of timing days in four months; the second a known time slower."""
    months, by_month, change = [5, 6, 7, 8], draw.normal(0, 0.8, 4), 0.4
    first = [(m, 12 + by_month[m - 5] + draw.normal(0, 0.4)) for m in months for _ in range(draw.integers(1, 4))]
    second = [(m, 12 + change + by_month[m - 5] + draw.normal(0, 0.4)) for m in months for _ in range(2)]
    got = like_with_like([v for _, v in first], [m for m, _ in first], [v for _, v in second], [m for m, _ in second])
    assert isinstance(got, Difference)
    shares.of("green speed against the season before", "within", 0.95).count(got.low <= change <= got.high)
    _season(draw, shares)
    _seasons(draw, shares)


def _season(draw: np.random.Generator, shares: Shares) -> None:
    """Timing days of one season about the green's own speed."""
    days = mean_interval(12 + draw.normal(0, 0.6, draw.integers(2, 13)))
    assert days.low is not None
    assert days.high is not None
    shares.of("green speed of a season", "within", 0.95).count(days.low <= 12 <= days.high)


def _seasons(draw: np.random.Generator, shares: Shares) -> None:
    """Four months of eight seasons, a known time faster every year, seasons good and bad; some months not timed."""
    slope = float(draw.choice((-0.2, 0.0, 0.1)))
    by_month, by_season = draw.normal(0, 0.8, 4), draw.normal(0, 0.2, SEASONS)
    timed = [(year, month) for year in range(SEASONS) for month in range(4) if draw.random() < 0.9]
    seen = [12 + by_month[m] + by_season[year] + slope * year + draw.normal(0, 0.4) for year, m in timed]
    got = seasonal_kendall([year for year, _ in timed], seen, [month for _, month in timed], correlated=True)
    shares.of("green speed, change a year", "within", 0.95).count(got.low <= slope <= got.high)
    if slope == 0:
        clear = got.p <= 0.05 and (got.low > 0 or got.high < 0)
        shares.of("steady greens called faster or slower", "at most", 0.05).count(clear)
