"""Slopes: Theil–Sen, the seasonal Kendall slope and least squares, each with its interval.

Theil–Sen is the one a verdict rests on: one wild sample does not move it. Least squares stands beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.kendall import (
    EXACT_MAX_N,
    MannKendall,
    Method,
    continuity_z,
    exact_upper_tail,
    finite,
    mann_kendall,
    normal_upper_tail,
    score,
    score_variance,
    smallest_p,
    tie_sizes,
)

__all__ = [
    "LeastSquares",
    "MannKendall",
    "SeasonalKendall",
    "TheilSen",
    "least_squares",
    "mann_kendall",
    "seasonal_kendall",
    "smallest_p",
    "theil_sen",
]

SlopeMethod = Method | Literal["interpolated"]
"""How the ends of a slope's interval were found."""


@dataclass(frozen=True, slots=True)
class TheilSen:
    """Median of the slopes of all pairs.

    Attributes:
        slope: unit of y per unit of x.
        intercept_separate: median(y) − slope · median(x), the convention of EPA 2009 and Conover.
        intercept_joint: median of y − slope · x.
        low: lower end of the interval of the slope; −inf where so few points carry none.
        high: upper end; inf where so few points carry none.
        confidence: confidence the interval has: the one asked for ("normal", "interpolated"), or the next attainable
            above it ("exact"; 1 where the interval is unbounded).
        low_rank: rank, from 1, of the pair slope that is the lower end; a part rank lies between two slopes.
        high_rank: rank of the upper end.
        method: how the ranks were found.
        n: number of points.
        pairs: number of pairs with different x.
    """

    slope: float
    intercept_separate: float
    intercept_joint: float
    low: float
    high: float
    confidence: float
    low_rank: float
    high_rank: float
    method: SlopeMethod
    n: int
    pairs: int


@dataclass(frozen=True, slots=True)
class SeasonalKendall:
    """Trend over years of values that also swing with the season; like season is compared with like.

    Attributes:
        s: sum of the seasons' S.
        variance: sum of their tie-corrected variances (seasons taken as independent).
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


@dataclass(frozen=True, slots=True)
class LeastSquares:
    """Straight line by least squares.

    Attributes:
        slope: unit of y per unit of x.
        intercept: y at x = 0.
        slope_se: standard error of the slope.
        intercept_se: standard error of the intercept.
        residual_sd: standard deviation of the residuals on n − 2 degrees of freedom.
        r_squared: share of the variance of y the line takes up; nan where y does not vary.
        low: lower end of the slope's t interval.
        high: upper end.
        n: number of points.
    """

    slope: float
    intercept: float
    slope_se: float
    intercept_se: float
    residual_sd: float
    r_squared: float
    low: float
    high: float
    n: int


def _pair(x: ArrayLike, y: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Arrays of x and y, of one length."""
    xs, ys = finite(x, "x"), finite(y, "y")
    if xs.size != ys.size:
        raise ValueError(f"x and y differ in length: {xs.size} and {ys.size}")
    return xs, ys


def _pair_slopes(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Slopes of all pairs with different x, ascending."""
    i, j = np.triu_indices(x.size, k=1)
    run = x[j] - x[i]
    apart = run != 0
    return np.sort((y[j] - y[i])[apart] / run[apart])


def _at_rank(slopes: NDArray[np.float64], rank: float) -> float:
    """Slope at a rank counted from 1, straight between neighbours; infinite outside the ranks there are."""
    if rank < 1:
        return -math.inf
    if rank > slopes.size:
        return math.inf
    return float(np.interp(rank, np.arange(1, slopes.size + 1), slopes))


def _normal_ranks(pairs: int, variance: float, alpha: float) -> tuple[float, float]:
    """Ranks of the ends of the interval by the normal approximation (Gilbert 1987, 16.5.1)."""
    c = -NormalDist().inv_cdf(alpha / 2) * math.sqrt(variance)
    return (pairs - c) / 2, (pairs + c) / 2 + 1


def _exact_ranks(pairs: int, x_ties: tuple[int, ...], alpha: float) -> tuple[float, float, float]:
    """Ranks of the narrowest interval that keeps 1 − alpha, and the confidence it has (Sen 1968, 3.3).

    An interval from the k-th lowest to the k-th highest slope misses the true slope when S about that slope is at
    least pairs − 2k + 2 away from zero.
    """
    k, missed = 0, 0.0
    while True:
        miss = 2 * exact_upper_tail(pairs - 2 * k, x_ties)
        if miss > alpha or 2 * (k + 1) > pairs:
            return float(k), float(pairs + 1 - k), 1 - missed
        k, missed = k + 1, miss


def _interpolated_ranks(pairs: int, x_ties: tuple[int, ...], alpha: float) -> tuple[float, float, float]:
    """Ranks between the exact ones at which the interval has 1 − alpha, and that confidence.

    Few samples attain few levels: with eight, 96.9 % or 93.8 %. Between the two neighbours the ends are moved in
    proportion to the normal quantile of the level, as interpolated sign intervals are (Hettmansperger & Sheather 1986,
    Statistics and Probability Letters 4:75–79). Unbounded, with confidence 1, where no bounded one has 1 − alpha.
    """
    low, high, confidence = _exact_ranks(pairs, x_ties, alpha)
    wider = 1 - confidence
    narrower = 2 * exact_upper_tail(int(pairs - 2 * low), x_ties)
    if low < 1 or 2 * (low + 1) > pairs or not wider < alpha < narrower < 1:
        return low, high, confidence
    normal = NormalDist()
    z, near, far = (-normal.inv_cdf(level / 2) for level in (alpha, narrower, wider))
    part = (far - z) / (far - near)
    return low + part, high - part, 1 - alpha


def theil_sen(
    x: ArrayLike,
    y: ArrayLike,
    *,
    alpha: float = 0.05,
    ranks: Literal["auto", "exact", "interpolated", "normal"] = "auto",
) -> TheilSen:
    """Theil–Sen slope of y on x with both usual intercepts and its interval.

    Args:
        x: times or positions; equal ones are allowed, their pair has no slope.
        y: values.
        alpha: one less the confidence asked for.
        ranks: how the ends of the interval are found. "normal": Gilbert 1987, 16.5.1, from the tie-corrected
            variance of S, interpolated between slopes. "exact": Sen 1968, from the counted distribution of S,
            whose confidence is the next attainable above 1 − alpha. "interpolated": between that one and the next
            narrower, so that it has 1 − alpha; normal beyond twenty points. "auto": exact up to twenty points.

    Raises:
        ValueError: a value is missing, lengths differ, or no two x differ.
    """
    xs, ys = _pair(x, y)
    slopes = _pair_slopes(xs, ys)
    if slopes.size == 0:
        raise ValueError("a slope needs two points with different x")
    slope = float(np.median(slopes))
    x_ties = tie_sizes(xs)
    method: SlopeMethod = "normal"
    if ranks == "exact" or (ranks == "auto" and xs.size <= EXACT_MAX_N):
        method = "exact"
        low_rank, high_rank, confidence = _exact_ranks(slopes.size, x_ties, alpha)
    elif ranks == "interpolated" and xs.size <= EXACT_MAX_N:
        method = "interpolated"
        low_rank, high_rank, confidence = _interpolated_ranks(slopes.size, x_ties, alpha)
    else:
        low_rank, high_rank = _normal_ranks(slopes.size, score_variance(x_ties, tie_sizes(ys)), alpha)
        confidence = 1 - alpha
    return TheilSen(
        slope=slope,
        intercept_separate=float(np.median(ys) - slope * np.median(xs)),
        intercept_joint=float(np.median(ys - slope * xs)),
        low=_at_rank(slopes, low_rank),
        high=_at_rank(slopes, high_rank),
        confidence=confidence,
        low_rank=low_rank,
        high_rank=high_rank,
        method=method,
        n=xs.size,
        pairs=slopes.size,
    )


def seasonal_kendall(x: ArrayLike, y: ArrayLike, season: ArrayLike, *, alpha: float = 0.05) -> SeasonalKendall:
    """Seasonal Kendall test and slope: only values of the same season are compared.

    Args:
        x: year (or any time in the unit the slope is wanted for), one per value.
        y: values.
        season: season of each value (month number, name…); absent seasons of a year are simply not there.
        alpha: one less the confidence of the interval.

    Source: Hirsch, Slack & Smith 1982; EPA 2009 Unified Guidance, ch. 14.

    Raises:
        ValueError: a value is missing, lengths differ, or no season has two values at different x.
    """
    xs, ys = _pair(x, y)
    labels = np.asarray(season)
    if labels.shape != xs.shape:
        raise ValueError("one season is needed for each value")
    s, variance, slopes = 0, 0.0, []
    for label in np.unique(labels):
        here = labels == label
        own = _pair_slopes(xs[here], ys[here])
        if own.size:
            s += score(xs[here], ys[here])
            variance += score_variance(tie_sizes(xs[here]), tie_sizes(ys[here]))
            slopes.append(own)
    if not slopes:
        raise ValueError("no season has two values at different x")
    every = np.sort(np.concatenate(slopes))
    z = continuity_z(s, variance)
    low_rank, high_rank = _normal_ranks(every.size, variance, alpha)
    return SeasonalKendall(
        s=s,
        variance=variance,
        z=z,
        p=min(1.0, 2 * normal_upper_tail(abs(z))),
        smallest_p=min(1.0, 2 * normal_upper_tail(continuity_z(every.size, variance))),
        slope=float(np.median(every)),
        low=_at_rank(every, low_rank),
        high=_at_rank(every, high_rank),
        n=xs.size,
        seasons=len(slopes),
    )


def least_squares(x: ArrayLike, y: ArrayLike, *, alpha: float = 0.05) -> LeastSquares:
    """Least-squares line of y on x with standard errors and the slope's t interval.

    Sums are taken about the means, so that large x (calendar years) cost no digits.

    Raises:
        ValueError: a value is missing, lengths differ, fewer than three points, or x does not vary.
    """
    from scipy.stats import t

    xs, ys = _pair(x, y)
    n = xs.size
    if n < 3 or np.ptp(xs) == 0:
        raise ValueError("a line with an error needs three points and two different x")
    dx, dy = xs - xs.mean(), ys - ys.mean()
    sxx = float(dx @ dx)
    slope = float(dx @ dy) / sxx
    residual = dy - slope * dx
    rss, syy = float(residual @ residual), float(dy @ dy)
    sd = math.sqrt(rss / (n - 2))
    slope_se = sd / math.sqrt(sxx)
    half = float(t.ppf(1 - alpha / 2, n - 2)) * slope_se
    return LeastSquares(
        slope=slope,
        intercept=float(ys.mean() - slope * xs.mean()),
        slope_se=slope_se,
        intercept_se=sd * math.sqrt(1 / n + float(xs.mean()) ** 2 / sxx),
        residual_sd=sd,
        r_squared=1 - rss / syy if syy > 0 else math.nan,
        low=slope - half,
        high=slope + half,
        n=n,
    )
