"""Small simulations with a fixed seed: what the words and intervals promise is kept on greens of known truth."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pipeline.statistics.verdict import Trend, trend_verdict
from tests.thorough import beyond

RUNS = 400


def _verdicts(n: int, slope: float, drift_sd: float, error_sd: float, *, told: bool, seed: int) -> list[Trend]:
    """Verdicts of simulated greens: a straight line, scatter of the green itself, error of coring and laboratory.

    Error of measuring differs from date to date (fewer or more cores), and is told or not.
    """
    draw = np.random.default_rng(seed)
    years = np.arange(float(n))
    sd = error_sd * np.where(np.arange(n) % 2 == 0, 0.7, 1.3)
    out = []
    for _ in range(RUNS):
        values = 8 + slope * years + draw.normal(0, drift_sd, n) + draw.normal(0, 1, n) * sd
        out.append(trend_verdict(years, values, ["k"] * n, measurement_sd=sd if told else None))
    return out


def _coverage(verdicts: list[Trend], slope: float) -> float:
    held = [v.low <= slope <= v.high for v in verdicts if v.low is not None and v.high is not None]
    assert len(held) == RUNS
    return sum(held) / RUNS


@pytest.mark.parametrize("n", [5, 6, 8, 12])
@pytest.mark.parametrize("told", [False, True])
@beyond(2)
def test_interval_coverage(n: int, told: bool) -> None:
    """Share of intervals holding the true slope is at least the stated confidence, less three simulation errors."""
    verdicts = _verdicts(n, -0.3, 0.2, 0.6, told=told, seed=n)
    stated = verdicts[0].confidence
    assert stated is not None
    assert _coverage(verdicts, -0.3) >= stated - 3 * math.sqrt(stated * (1 - stated) / RUNS)


@pytest.mark.parametrize("n", [5, 6, 8, 12])
@pytest.mark.parametrize("told", [False, True])
@beyond(2)
def test_false_alarms_at_most_the_stated_level(n: int, told: bool) -> None:
    verdicts = _verdicts(n, 0.0, 0.2, 0.6, told=told, seed=100 + n)
    false = sum(v.word in ("falling", "rising") for v in verdicts) / RUNS
    assert false <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / RUNS)


def test_true_falls_are_found() -> None:
    """A test that never speaks would pass the two above: a fall of half a point a year in eight samples is seen."""
    verdicts = _verdicts(8, -0.5, 0.1, 0.6, told=True, seed=7)
    assert sum(v.word == "falling" for v in verdicts) / RUNS > 0.8
    assert not any(v.word == "rising" for v in verdicts)


def test_error_told_lowers_false_alarms_of_lucky_lines() -> None:
    """With the error told, a verdict is never surer than without."""
    with_error = _verdicts(6, -0.2, 0.0, 0.6, told=True, seed=3)
    without = _verdicts(6, -0.2, 0.0, 0.6, told=False, seed=3)
    for told, untold in zip(with_error, without, strict=True):
        assert told.high - told.low >= untold.high - untold.low  # type: ignore[operator]
    clear = [sum(v.word == "falling" for v in group) for group in (with_error, without)]
    assert clear[0] < clear[1]
