"""Simulated timing of known truth: seasons good and bad as a whole, alike or not, few and many."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.statistics.effect import Difference, like_with_like
from pipeline.statistics.interval import mean_interval
from pipeline.statistics.season_trend import SEASONS_ALIKE, SeasonTrend, season_trend
from tests.calibrate.result import Rule, Shares
from tests.calibrate.worlds import autoregressive

DAY_SD = 0.4
"""Of a month's mean of days, s."""
SLOPES = (-0.2, 0.0, 0.1)


@dataclass(frozen=True)
class World:
    """What is timed, and what is asked of the interval.

    Attributes:
        seasons: their number.
        swing: how far they swing as a whole, s (standard deviation).
        alike: correlation of neighbours.
        rule: what is asked of the interval.
        stated: confidence asked for.
        kinds: months, heights of cut and weathers.
        kept: share of the kinds timed in a season between the first and the last.
    """

    seasons: int
    swing: float
    alike: float
    rule: Rule = "at least"
    stated: float = 0.9
    kinds: int = 4
    kept: float = 0.9


WORLDS = {
    "as the interval takes them, 8 seasons": World(8, 1.0, SEASONS_ALIKE, "within", 0.95),
    "as the interval takes them, 5 seasons": World(5, 1.0, SEASONS_ALIKE, "within", 0.95),
    "4 seasons, small swings": World(4, 0.2, 0.0),
    "4 seasons, large swings": World(4, 1.0, 0.0),
    "4 seasons of 12 kinds, half of them timed, no swings": World(4, 0.0, 0.0, kinds=12, kept=0.5),
    "4 seasons of 12 kinds, half of them timed, large swings": World(4, 1.0, 0.0, kinds=12, kept=0.5),
    "8 seasons, small swings": World(8, 0.2, 0.0),
    "8 seasons, large swings": World(8, 1.0, 0.0),
    "6 seasons, large swings, alike to 0.7": World(6, 1.0, 0.7),
}
BEYOND = {"12 seasons, large swings, alike to 0.7": World(12, 1.0, 0.7)}


def timed(draw: np.random.Generator, world: World, slope: float) -> tuple[list[int], list[float], list[int]]:
    """Season, mean and kind of what was timed; the first and last season are whole."""
    by_month = draw.normal(0, 0.8, world.kinds)
    by_season = autoregressive(draw, world.seasons, world.alike, world.swing)
    ends = (0, world.seasons - 1)
    cells = [
        (s, m) for s in range(world.seasons) for m in range(world.kinds) if s in ends or draw.random() < world.kept
    ]
    seen = [12 + by_month[m] + by_season[s] + slope * s + draw.normal(0, DAY_SD) for s, m in cells]
    return [s for s, _ in cells], seen, [m for _, m in cells]


def speeds(draw: np.random.Generator, shares: Shares) -> None:
    """One green of every world, and what is stated of single seasons."""
    for worlds, asked in ((WORLDS, True), (BEYOND, False)):
        for name, world in worlds.items():
            slope = float(draw.choice(SLOPES))
            got = season_trend(*timed(draw, world, slope))
            if not isinstance(got, SeasonTrend):
                continue
            assert got.p is not None
            assert got.low is not None
            assert got.high is not None
            rule: Rule = world.rule if asked else "told"
            held = shares.of(f"green speed, change a year: {name}", rule, world.stated if asked else None)
            held.count(got.low <= slope <= got.high)
            if slope == 0:
                most = (0.05 if world.rule == "within" else 0.1) if asked else None
                false = shares.of(f"steady green called faster or slower: {name}", "at most" if asked else "told", most)
                false.count(got.p <= 0.05)
            elif abs(slope) == 0.2 and world.swing < 0.5:
                found = shares.of(f"true change of 0.2 s a year found: {name}", "told", None)
                found.count(got.p <= 0.05)
    _against_before(draw, shares)
    _season(draw, shares)


def _against_before(draw: np.random.Generator, shares: Shares) -> None:
    """Two seasons of timing days in four months; the second a known time slower."""
    months, by_month, change = [5, 6, 7, 8], draw.normal(0, 0.8, 4), 0.4
    first = [(m, 12 + by_month[m - 5] + draw.normal(0, 0.4)) for m in months for _ in range(draw.integers(1, 4))]
    second = [(m, 12 + change + by_month[m - 5] + draw.normal(0, 0.4)) for m in months for _ in range(2)]
    got = like_with_like([v for _, v in first], [m for m, _ in first], [v for _, v in second], [m for m, _ in second])
    assert isinstance(got, Difference)
    shares.of("green speed against the season before", "within", 0.95).count(got.low <= change <= got.high)


def _season(draw: np.random.Generator, shares: Shares) -> None:
    """Timing days of one season about the green's own speed."""
    days = mean_interval(12 + draw.normal(0, 0.6, draw.integers(2, 13)))
    assert days.low is not None
    assert days.high is not None
    shares.of("green speed of a season", "within", 0.95).count(days.low <= 12 <= days.high)
