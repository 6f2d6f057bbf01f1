"""Trend of values that also swing with the season: like season is compared with like.

The score S of every season is that of its own years; their sum is tested.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.kendall import continuity_z, normal_upper_tail, score, score_variance, tie_sizes
from pipeline.statistics.trend import at_rank, normal_ranks, pair, pair_slopes


@dataclass(frozen=True, slots=True)
class SeasonalKendall:
    """Trend over years of values that also swing with the season; like season is compared with like.

    Attributes:
        s: sum of the seasons' S.
        variance: sum of their tie-corrected variances, with their covariances where they may be correlated.
        z: continuity corrected.
        p: two-sided, normal approximation.
        smallest_p: smallest p that values of these seasons could give: every pair rising.
        slope: median of the slopes of all pairs within a season, unit of y per unit of x.
        low: lower end of its interval (Gilbert's ranks); −inf where the pairs are too few.
        high: upper end; inf where the pairs are too few.
        n: number of values.
        seasons: number of seasons with at least one pair.
    """

    s: int
    variance: float
    z: float
    p: float
    smallest_p: float
    slope: float
    low: float
    high: float
    n: int
    seasons: int


def score_covariance(x: NDArray[np.float64], y: NDArray[np.float64], season: NDArray[Any]) -> float:
    """Sum of the covariances of the scores of every two seasons, both ways, from their ranks; absent values allowed.

    Several values of one season and year count by their mean.

    Args:
        x: year of each value.
        y: values.
        season: season of each value.

    Source: Dietz & Killeen 1981, Journal of the American Statistical Association 76:169–174; with absent values as in
    Hirsch & Slack 1984.
    """
    years, labels = np.unique(x), np.unique(season)
    table = np.full((years.size, labels.size), np.nan)
    for row, when in enumerate(years):
        for column, label in enumerate(labels):
            here = (x == when) & (season == label)
            if here.any():
                table[row, column] = y[here].mean()
    n = np.isfinite(table).sum(axis=0)
    rise = np.nan_to_num(np.sign(table[None] - table[:, None]))  # from year i to year j; 0 where one is absent
    rank = (n + 1 + rise.sum(axis=0)) / 2
    together = np.einsum("ijg,ijh->gh", rise, rise) / 2
    covariance = (together + 4 * rank.T @ rank - years.size * np.outer(n + 1, n + 1)) / 3
    return float(covariance.sum() - np.trace(covariance))


def seasonal_kendall(
    x: ArrayLike, y: ArrayLike, season: ArrayLike, *, alpha: float = 0.05, correlated: bool = False
) -> SeasonalKendall:
    """Seasonal Kendall test and slope: only values of the same season are compared.

    Args:
        x: year (or any time in the unit the slope is wanted for), one per value.
        y: values.
        season: season of each value (month number, name…); absent seasons of a year are simply not there.
        alpha: one less the confidence of the interval.
        correlated: whether the seasons of one year may move together (a wet year): the covariance of their scores
            about the slope found is then added, unless it would make the result surer.

    Source: Hirsch, Slack & Smith 1982; EPA 2009 Unified Guidance, ch. 14; correlated: Hirsch & Slack 1984, Water
    Resources Research 20:727–732.

    Raises:
        ValueError: a value is missing, lengths differ, or no season has two values at different x.
    """
    xs, ys = pair(x, y)
    labels = np.asarray(season)
    if labels.shape != xs.shape:
        raise ValueError("one season is needed for each value")
    s, variance, slopes = 0, 0.0, []
    for label in np.unique(labels):
        here = labels == label
        own = pair_slopes(xs[here], ys[here])
        if own.size:
            s += score(xs[here], ys[here])
            variance += score_variance(tie_sizes(xs[here]), tie_sizes(ys[here]))
            slopes.append(own)
    if not slopes:
        raise ValueError("no season has two values at different x")
    every = np.sort(np.concatenate(slopes))
    slope = float(np.median(every))
    if correlated:
        variance += max(0.0, score_covariance(xs, ys - slope * xs, labels))
    z = continuity_z(s, variance)
    low_rank, high_rank = normal_ranks(every.size, variance, alpha)
    return SeasonalKendall(
        s=s,
        variance=variance,
        z=z,
        p=min(1.0, 2 * normal_upper_tail(abs(z))),
        smallest_p=min(1.0, 2 * normal_upper_tail(continuity_z(every.size, variance))),
        slope=slope,
        low=at_rank(every, low_rank),
        high=at_rank(every, high_rank),
        n=xs.size,
        seasons=len(slopes),
    )
