"""What is said of a laboratory's drift: steady greens under even laboratories, and under one that drifts."""

from __future__ import annotations

import numpy as np

from pipeline.indicators.soil.soil import CORE_VARIATION, LABORATORY
from pipeline.statistics.common_trend import common_trend
from tests.calibrate.result import Rule, Shares

GREENS, YEARS, EACH = 18, 8, 60
"""Greens of a laboratory, years sampled, and laboratories looked through for each county and world."""
OWN = 0.03
"""Standard deviation of a green's own trend, a share of itself a year."""
WORLDS: dict[str, tuple[float, float, Rule, float | None]] = {
    "without one, steady greens": (0.0, 0.0, "at most", 0.05),
    "without one, greens with trends of their own": (OWN, 0.0, "at most", 0.05),
    "that drifts by 1.5 % a year, steady greens": (0.0, 0.015, "told", None),
    "that drifts by 3 % a year, steady greens": (0.0, 0.03, "told", None),
    "that drifts by 3 % a year, greens with trends of their own": (OWN, 0.03, "told", None),
}
"""Spread of the greens' own trends, drift of the laboratory, rule, and share stated."""


def county(draw: np.random.Generator, shares: Shares) -> None:
    """Laboratories of each world; their batches of a year are common to all greens."""
    for name, (own, drift, rule, stated) in WORLDS.items():
        said = shares.of(f"drift told of a laboratory {name}, {GREENS} greens", rule, stated)
        for _ in range(EACH):
            said.count(_told(draw, own, drift))


def _told(draw: np.random.Generator, own: float, drift: float) -> bool:
    years = np.arange(YEARS)
    common = draw.normal(0, LABORATORY.year_cv, YEARS) + drift * draw.choice((-1, 1)) * years
    coring = CORE_VARIATION / np.sqrt(draw.choice((4, 10, 20), (GREENS, YEARS))) * draw.normal(0, 1, (GREENS, YEARS))
    logs = draw.uniform(1.6, 2.3, (GREENS, 1)) + draw.normal(0, own, (GREENS, 1)) * years + common + coring
    green = np.repeat(np.arange(GREENS), YEARS).tolist()
    return common_trend(np.tile(years, GREENS), logs.ravel(), green, green) is not None
