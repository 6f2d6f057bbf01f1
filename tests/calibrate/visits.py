"""Simulated visits of known truth: means and shares of readings, and what changed between two visits."""

from __future__ import annotations

from datetime import date

import numpy as np
import polars as pl

from pipeline.indicators.surface.readings import change, visit
from pipeline.statistics.difference import mean_difference
from pipeline.statistics.interval import mean_interval
from tests.calibrate.result import Rule, Shares

CLUMPS = 12.0
"""How alike places are: shares of places scatter by a beta distribution of this α + β."""


def visits(draw: np.random.Generator, shares: Shares) -> None:
    """Two visits to one green: hardness read at places, cover counted at places alike and at places that differ."""
    _means(draw, shares)
    _shares(draw, shares, clumped=False)
    _shares(draw, shares, clumped=True)


def _means(draw: np.random.Generator, shares: Shares) -> None:
    risen = 6.0
    earlier = draw.normal(80, draw.uniform(4, 12), draw.integers(4, 13))
    later = draw.normal(80 + risen, draw.uniform(4, 12), draw.integers(4, 13))
    mean = mean_interval(later)
    assert mean.low is not None
    assert mean.high is not None
    shares.of("mean of the readings of a visit", "within", 0.95).count(mean.low <= 80 + risen <= mean.high)
    got = mean_difference(later, earlier)
    assert got.low is not None
    assert got.high is not None
    shares.of("change of a mean between visits", "within", 0.95).count(got.low <= risen <= got.high)


def _shares(draw: np.random.Generator, shares: Shares, *, clumped: bool) -> None:
    """Two visits, ten places of ten to twenty points each."""
    where = "places that differ" if clumped else "places alike"
    # Where places are alike, the doubt that they might differ is in the interval all the same.
    rule: Rule = "within" if clumped else "at least"
    truth, made = [], []
    for year in (2025, 2026):
        share = draw.uniform(0.05, 0.95)
        points = draw.integers(10, 21, 10)
        places = draw.beta(share * CLUMPS, (1 - share) * CLUMPS, 10) if clumped else np.full(10, share)
        facts = {"date": date(year, 6, 1), "key": "", "observed": "moss"}
        rows = pl.DataFrame({"hits": draw.binomial(points, places), "points": points}).with_columns(
            *(pl.lit(value).alias(name) for name, value in facts.items()),
            *(pl.lit(None, dtype=pl.String).alias(name) for name in ("green", "survey", "rink", "method", "value")),
            *(pl.lit(None, dtype=pl.Float64).alias(name) for name in ("x_m", "y_m")),
            pl.int_range(pl.len()).cast(pl.String).alias("place"),
        )
        made.append(visit(rows))
        truth.append(100 * share)
        low, high = made[-1].low, made[-1].high
        assert low is not None
        assert high is not None
        shares.of(f"share of points, {where}", rule, 0.95).count(low <= truth[-1] <= high)
    got = change(made[1], made[0]).difference
    assert got.low is not None
    assert got.high is not None
    inside = got.low <= truth[1] - truth[0] <= got.high
    shares.of(f"change of a share between visits, {where}", rule, 0.95).count(inside)
