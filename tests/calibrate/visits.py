"""Simulated visits of known truth: means and shares of readings, and what changed between two visits."""

from __future__ import annotations

import numpy as np
import polars as pl

from pipeline.indicators.readings import _share
from pipeline.statistics.difference import mean_difference, share_difference
from pipeline.statistics.interval import mean_interval
from tests.calibrate.result import Shares

CLUMPS = 12.0
"""How alike places are: shares of places scatter by a beta distribution of this α + β."""


def visits(draw: np.random.Generator, shares: Shares) -> None:
    """Two visits to one green: hardness read at places, cover counted at places alike and at places that differ."""
    _means(draw, shares)
    _shares(draw, shares, clumped=False)
    _shares(draw, shares, clumped=True)


def _means(draw: np.random.Generator, shares: Shares) -> None:
    change = 6.0
    earlier = draw.normal(80, draw.uniform(4, 12), draw.integers(4, 13))
    later = draw.normal(80 + change, draw.uniform(4, 12), draw.integers(4, 13))
    mean = mean_interval(later)
    assert mean.low is not None
    assert mean.high is not None
    shares.of("mean of the readings of a visit", "within", 0.95).count(mean.low <= 80 + change <= mean.high)
    got = mean_difference(later, earlier)
    assert got.low is not None
    assert got.high is not None
    shares.of("change of a mean between visits", "within", 0.95).count(got.low <= change <= got.high)


def _shares(draw: np.random.Generator, shares: Shares, *, clumped: bool) -> None:
    """Ten places of ten to twenty points each."""
    where = "places that differ" if clumped else "places alike"
    truth, worth = [], []
    for _ in range(2):
        share = draw.uniform(0.05, 0.95)
        points = draw.integers(10, 21, 10)
        places = draw.beta(share * CLUMPS, (1 - share) * CLUMPS, 10) if clumped else np.full(10, share)
        rows = pl.DataFrame({"hits": draw.binomial(points, places), "points": points})
        value, low, high, counted, _ = _share(rows)
        shares.of(f"share of points, {where}", "within", 0.95).count(low <= 100 * share <= high)
        truth.append(share)
        worth.append((value / 100 * counted[1], counted[1]))
    got = share_difference(worth[1], worth[0])
    assert got.low is not None
    assert got.high is not None
    inside = got.low <= truth[1] - truth[0] <= got.high
    shares.of(f"change of a share between visits, {where}", "within", 0.95).count(inside)
