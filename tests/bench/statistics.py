"""Trends and balances of ten thousand greens over ten seasons, and how the time grows with their number."""

from __future__ import annotations

import sys
import time

import numpy as np

from pipeline.statistics.accumulation import Balance, fit_balance
from pipeline.statistics.balance import Doses, fractions_at_samples
from pipeline.statistics.forecast import dressing_needed, forecast
from pipeline.statistics.random_effects import places, shrunken
from pipeline.statistics.verdict import trend_verdict

GREENS = 10_000
SEASONS = 10
MASS = 21.0


def trends_and_balances(greens: int) -> float:
    """Seconds for the trend, balance, forecasts and dressing needed of so many greens."""
    draw = np.random.default_rng(1)
    years = np.arange(float(SEASONS))
    when = (np.arange(3 * (SEASONS - 1)) + 0.5) / 3
    keys = ["one"] * SEASONS
    spent = 0.0
    for _ in range(greens):
        put_on = draw.uniform(0, 3, when.size)
        doses = Doses(when, put_on, np.zeros(when.size))
        true = fractions_at_samples(draw.uniform(0.05, 0.09), draw.uniform(0.2, 0.6), years, doses, layer_mass=MASS)
        seen = true * (1 + draw.normal(0, 0.04, SEASONS))
        start = time.perf_counter()
        trend_verdict(years, 100 * seen, keys, measurement_sd=4 * true)
        balance = fit_balance(years, seen, MASS, dose_years=when, dose_mass=put_on, sd=0.04 * true)
        if isinstance(balance, Balance):
            forecast(balance, 1.6, 5.0)
            forecast(balance, 1.6, 0.0)
            dressing_needed(balance, balance.fraction, None)
            dressing_needed(balance, 0.06, 3.6)
        spent += time.perf_counter() - start
    return spent


def benchmark_of(greens: int) -> float:
    """Seconds for the estimates and places of two greens of a group of so many."""
    draw = np.random.default_rng(2)
    sd = draw.uniform(0.2, 0.8, greens)
    values = 6 + draw.normal(0, 1, greens) + draw.normal(0, 1, greens) * sd
    start = time.perf_counter()
    shrunken(values, sd, [0, 1])
    places(values, sd, [0, 1])
    return time.perf_counter() - start


def measure(greens: int = GREENS) -> None:
    """Print seconds and how they grow: ten times the greens against ten times the seconds."""
    say = sys.stdout.write
    for what, timed in (("trends and balances", trends_and_balances), ("estimates and places", benchmark_of)):
        timed(10)  # imports
        few, many = timed(greens // 10), timed(greens)
        say(f"{what} of {greens:,} greens × {SEASONS} seasons: {many:.2f} s\n")
        say(f"  ten times the greens take {many / few:.1f} times as long (linear: 10)\n")
