"""A steady county: how many false sentences on changes it reads in a season, and what is said of its laboratory."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import polars as pl

from pipeline.indicators.base.green_season import Change, Indicator, Verdict
from pipeline.indicators.play.speed_change import TREND
from pipeline.indicators.soil.soil import CORE_VARIATION, LABORATORY, ORGANIC_MATTER_TREND
from pipeline.indicators.verdicts import settled
from pipeline.statistics.common_shift import common_shifts
from pipeline.statistics.season_trend import SeasonTrend, season_trend
from tests.calibrate.result import Shares
from tests.calibrate.speeds import World, timed
from tests.calibrate.worlds import sampled, verdict, yearly

GREENS = 18
DEPTHS = ("0–20 mm", "20–40 mm", "40–60 mm")
YEARS = 8
TIMED = World(YEARS, 0.5, 0.3)
SENTENCES = "false sentences on changes, a steady green and season, "
LABORATORIES = ("even laboratory", "laboratory drifts as allowed for")
STEP = 0.10
LABORATORIES_EACH = 10
"""Laboratories looked through for each county."""
NO_ROWS = pl.DataFrame(schema={"file": pl.String, "line": pl.Int64, "load_id": pl.Int64})


def county(draw: np.random.Generator, shares: Shares, place: float) -> None:
    """One county of steady greens under one laboratory, its batches and drift common to all of them.

    Args:
        draw: of chance.
        shares: what is counted.
        place: where its drift lies among those allowed for, 0 to 1: spread evenly over the counties, as few counties
            with a strong drift make most of the false sentences.
    """
    drifts = (0.0, NormalDist(0, LABORATORY.drift).inv_cdf(place))
    for name, drift in zip(LABORATORIES, drifts, strict=True):
        common = draw.normal(0, LABORATORY.year_cv, YEARS) + drift * np.arange(YEARS)
        said = shares.of(SENTENCES + name, "at most", 0.05)
        for _ in range(GREENS):
            figures = [_organic_matter(draw, common, depth) for depth in DEPTHS]
            every = settled([*figures, _speed(draw)])
            said.hits += sum(one.verdict is not None and one.verdict.clear for one in every)
            said.cases += 1
    for _ in range(LABORATORIES_EACH):
        _laboratory(draw, shares)


def _organic_matter(draw: np.random.Generator, common: np.ndarray, depth: str) -> Indicator:
    got = verdict(sampled(draw, yearly(YEARS), off=lambda _, level: level * common))
    return ORGANIC_MATTER_TREND.figure(got.slope, NO_ROWS, band=depth, verdict=Verdict(got.word, "", got.p))


def _speed(draw: np.random.Generator) -> Indicator:
    got = season_trend(*timed(draw, TIMED, 0.0))
    assert isinstance(got, SeasonTrend)
    assert got.p is not None
    word: Change = "no clear change" if got.p > 0.05 else "faster" if got.slope > 0 else "slower"
    return TREND.figure(got.slope, NO_ROWS, verdict=Verdict(word, "", got.p))


def _laboratory(draw: np.random.Generator, shares: Shares) -> None:
    """Changes of all greens of a laboratory that is even, and of one with a step: greens have trends of their own."""
    own = draw.normal(0, 0.03, (GREENS, 1))
    coring = CORE_VARIATION / np.sqrt(draw.choice((4, 10, 20), (GREENS, YEARS))) * draw.normal(0, 1, (GREENS, YEARS))
    even = own * np.arange(YEARS) + coring
    at = int(draw.integers(1, YEARS))
    changes = np.diff(even, axis=1)
    shares.of("step told of a laboratory without one, 18 greens", "at most", 0.05).count(bool(common_shifts(changes)))
    changes[:, at - 1] += STEP * draw.choice((-1, 1))
    found = [one.step for one in common_shifts(changes)]
    shares.of("step of a laboratory of 10 % found in its year, 18 greens", "told", None).count(at - 1 in found)
    others = bool(set(found) - {at - 1})
    shares.of("step told of another year, 18 greens", "at most", 0.05).count(others)
