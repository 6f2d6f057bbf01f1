"""Simulated greens of known truth whose errors are as the tool takes them: trend, single samples."""

from __future__ import annotations

import numpy as np

from pipeline.agronomy.soil.organic_matter import sampling_half_width
from pipeline.indicators.soil.soil import CORE_VARIATION, LABORATORY
from pipeline.statistics.interval import mean_interval
from pipeline.statistics.verdict import trend_verdict
from tests.calibrate.result import Shares

SEASONS = 8
CORES = (4, 10, 20)
SLOPES = (-0.5, -0.25, 0.0, 0.0, 0.25)
"""True changes of organic matter, percentage points a year; a fall of half a point is what heavy dressing does."""


def green(draw: np.random.Generator, shares: Shares) -> None:
    """A straight course sampled once a season by cores, the green wandering, the laboratory differing and drifting."""
    years, cores = np.arange(float(SEASONS)), draw.choice(CORES, SEASONS)
    slope = float(draw.choice(SLOPES))
    true = draw.uniform(5, 10) + slope * years + draw.normal(0, 0.15, SEASONS)
    sd = CORE_VARIATION * true / np.sqrt(cores)
    batch = draw.normal(0, LABORATORY.year_cv, SEASONS) + draw.normal(0, LABORATORY.drift) * years
    seen = true * (1 + batch) + draw.normal(0, 1, SEASONS) * sd
    got = trend_verdict(years, seen, ["one"] * SEASONS, measurement_sd=sd, laboratory=LABORATORY)
    if slope == 0:
        shares.of("steady greens called falling or rising", "at most", 0.05).count(got.word in ("falling", "rising"))
    elif slope < 0:
        shares.of(f"true falls of {-slope:g} points a year found", "told", None).count(got.word == "falling")
        shares.of("true falls called rising", "at most", 0.025).count(got.word == "rising")
    if got.low is not None and got.high is not None:
        shares.of("slope of the trend", "at least", 0.95).count(got.low <= slope <= got.high)
    cored = true + draw.normal(0, 1, SEASONS) * sd
    half = sampling_half_width(CORE_VARIATION * cored[0], float(cores[0]), 0.95)
    shares.of("organic matter of one bulked sample", "within", 0.95).count(abs(cored[0] - true[0]) <= half)
    results = true[0] * (1 + draw.normal(0, CORE_VARIATION, 4))
    mean = mean_interval(results)
    assert mean.low is not None
    assert mean.high is not None
    shares.of("organic matter of four results", "within", 0.95).count(mean.low <= true[0] <= mean.high)
