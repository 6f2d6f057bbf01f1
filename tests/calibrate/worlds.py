"""Worlds a steady green may stand in unseen: what a trend of organic matter then says, what its interval holds.

Every green here is steady but for its own wander: whatever is found is false, and the true slope is 0.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from pipeline.indicators.soil.soil import CORE_VARIATION, LABORATORY
from pipeline.statistics.verdict import Trend, trend_verdict
from pipeline.workspace.method_options import MethodOptions
from tests.calibrate.result import Shares

SPRING, AUTUMN = 60, 270
"""Days of the year."""
THATCH_FLUSH = 0.6
"""Organic matter that autumn samples hold more than spring samples, percentage points, with either sign."""
CORES = (4, 10, 20)


@dataclass(frozen=True)
class Samples:
    """Days, results and their error of coring; ``level`` is the mean that shares are of."""

    days: list[date]
    seen: np.ndarray
    sd: np.ndarray


def sampled(
    draw: np.random.Generator,
    on: list[tuple[int, int]],
    *,
    off: Callable[[np.ndarray, float], np.ndarray] | None = None,
    wander: np.ndarray | None = None,
) -> Samples:
    """A steady green sampled on these (year, day of year): its wander, what the world adds, the error of coring."""
    level = draw.uniform(5, 10)
    years = np.array([year + day / 365 for year, day in on])
    true = level + (draw.normal(0, 0.15, years.size) if wander is None else wander)
    sd = CORE_VARIATION * true / np.sqrt(draw.choice(CORES, years.size))
    seen = true + draw.normal(0, 1, years.size) * sd
    if off is not None:
        seen = seen + off(years, level)
    days = [date(2010 + year, 1, 1) + timedelta(days=int(day + draw.integers(-10, 11))) for year, day in on]
    return Samples(days, seen, sd)


def yearly(n: int) -> list[tuple[int, int]]:
    """Once a year in autumn."""
    return [(year, AUTUMN) for year in range(n)]


def spring_then_autumn(draw: np.random.Generator, n: int) -> Samples:
    """Sampled in spring in the first half of the years, in autumn in the second."""
    flush = THATCH_FLUSH * draw.choice((-1, 1))
    on = [(year, SPRING if year < n / 2 else AUTUMN) for year in range(n)]
    return sampled(draw, on, off=lambda years, _: np.where(years % 1 > 0.5, flush, 0.0))


def both_times(draw: np.random.Generator, n: int) -> Samples:
    """Both times in the years in the middle, spring before them, autumn after."""
    flush = THATCH_FLUSH * draw.choice((-1, 1))
    on = [(y, SPRING) for y in range(n - n // 3)] + [(y, AUTUMN) for y in range(n // 3, n)]
    return sampled(draw, on, off=lambda years, _: np.where(years % 1 > 0.5, flush, 0.0))


def creeping(draw: np.random.Generator, n: int) -> Samples:
    """Sampled some days later every year, from August to the end of October, while the whole flush comes on."""
    flush = THATCH_FLUSH * draw.choice((-1, 1))
    on = [(year, int(215 + 80 * year / (n - 1))) for year in range(n)]
    return sampled(draw, on, off=lambda years, _: flush * (years % 1 - 215 / 365) / (80 / 365))


def batches(draw: np.random.Generator, n: int) -> Samples:
    """The laboratory's level differs from year to year as stated."""
    return sampled(draw, yearly(n), off=lambda years, level: level * draw.normal(0, LABORATORY.year_cv, years.size))


def twice_a_year(draw: np.random.Generator, n: int) -> Samples:
    """The same, spring and autumn samples of a year in one batch."""
    batch = draw.normal(0, LABORATORY.year_cv, n)
    on = [(year, day) for year in range(n) for day in (SPRING, AUTUMN)]
    return sampled(draw, on, off=lambda years, level: level * batch[np.floor(years).astype(int)])


def drifting(share: float) -> Callable[[np.random.Generator, int], Samples]:
    """The laboratory's level drifts by a share a year, up or down."""

    def world(draw: np.random.Generator, n: int) -> Samples:
        way = draw.choice((-1, 1))
        return sampled(draw, yearly(n), off=lambda years, level: way * share * level * years)

    return world


def drifting_as_stated(draw: np.random.Generator, n: int) -> Samples:
    """The laboratory drifts at a rate drawn as the interval takes it."""
    return drifting(float(draw.normal(0, LABORATORY.drift)))(draw, n)


def stepping(share: float) -> Callable[[np.random.Generator, int], Samples]:
    """The laboratory's level steps once by a share, in any year."""

    def world(draw: np.random.Generator, n: int) -> Samples:
        at, way = draw.integers(1, n), draw.choice((-1, 1))
        return sampled(draw, yearly(n), off=lambda years, level: np.where(years > at, way * share * level, 0.0))

    return world


def wandering(alike: float, sd: float) -> Callable[[np.random.Generator, int], Samples]:
    """The green itself wanders, one year like the year before."""

    def world(draw: np.random.Generator, n: int) -> Samples:
        return sampled(draw, yearly(n), wander=autoregressive(draw, n, alike, sd))

    return world


def autoregressive(draw: np.random.Generator, n: int, alike: float, sd: float) -> np.ndarray:
    """Values of this standard deviation of which neighbours correlate so far."""
    values = draw.normal(0, sd, n)
    for i in range(1, n):
        values[i] = alike * values[i - 1] + np.sqrt(1 - alike**2) * values[i]
    return values


WORLDS: dict[str, tuple[Callable[[np.random.Generator, int], Samples], int]] = {
    "spring in early years, autumn later, 8 years": (spring_then_autumn, 8),
    "spring in early years, autumn later, 12 years": (spring_then_autumn, 12),
    "spring, then both, then autumn, 9 years": (both_times, 9),
    "a little later every year, 8 years": (creeping, 8),
    "laboratory differs by 4 % from year to year, 8 years": (batches, 8),
    "the same, spring and autumn each year, 6 years": (twice_a_year, 6),
    "laboratory drifts as allowed for, 8 years": (drifting_as_stated, 8),
    "laboratory drifts by 2 % a year, 8 years": (drifting(0.02), 8),
    "laboratory drifts by 2 % a year, 12 years": (drifting(0.02), 12),
    "laboratory steps once by 10 %, 8 years": (stepping(0.10), 8),
    "laboratory steps once by 15 %, 8 years": (stepping(0.15), 8),
    "laboratory steps once by 15 %, 12 years": (stepping(0.15), 12),
    "years alike to 0.5, 8 years": (wandering(0.5, 0.4), 8),
    "years alike to 0.7, 5 years": (wandering(0.7, 0.5), 5),
    "years alike to 0.7, 8 years": (wandering(0.7, 0.5), 8),
    "years alike to 0.7, 12 years": (wandering(0.7, 0.5), 12),
}
"""World → how a green of it is sampled, and its years."""
BEYOND: dict[str, tuple[Callable[[np.random.Generator, int], Samples], int]] = {
    "laboratory drifts by 3 % a year, 8 years": (drifting(0.03), 8),
    "laboratory drifts by 3 % a year, 12 years": (drifting(0.03), 12),
    "laboratory steps once by 25 %, 8 years": (stepping(0.25), 8),
}
"""Worlds that one green's samples cannot be told from a change of its own, beyond what is allowed for."""


def verdict(samples: Samples) -> Trend:
    """The verdict as the product makes it."""
    return trend_verdict(
        samples.days,
        samples.seen,
        ["one"] * len(samples.days),
        measurement_sd=samples.sd,
        laboratory=LABORATORY,
        weeks=MethodOptions().weeks,
    )


def steady(draw: np.random.Generator, shares: Shares) -> None:
    """One green of every world."""
    for worlds, least, most in ((WORLDS, 0.9, 0.1), (BEYOND, None, None)):
        for name, (world, n) in worlds.items():
            got = verdict(world(draw, n))
            false = shares.of(f"steady green called falling or rising: {name}", "at most" if most else "told", most)
            false.count(got.word in ("falling", "rising"))
            # Where no slope is given, none is wrong.
            held = got.low is None or got.high is None or got.low <= 0 <= got.high
            shares.of(f"slope of a steady green: {name}", "at least" if least else "told", least).count(held)
