"""Slopes: Theil–Sen and least squares, each with its interval.

Theil–Sen is the one a verdict rests on: one wild sample does not move it. Least squares stands beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.interval import t_quantile
from pipeline.statistics.kendall import (
    EXACT_MAX_N,
    Method,
    exact_upper_tail,
    finite,
    score_variance,
    tie_sizes,
)

SlopeMethod = Method | Literal["interpolated"]
"""How the ends of a slope's interval were found."""


@dataclass(frozen=True, slots=True)
class TheilSen:
    """Median of the slopes of all pairs.

    Attributes:
        slope: unit of y per unit of x.
        low: lower end of the interval of the slope; −inf where so few points carry none.
        high: upper end; inf where so few points carry none.
        confidence: confidence the interval has: the one asked for ("normal", "interpolated"), or the next attainable
            above it ("exact"; 1 where the interval is unbounded).
        low_rank: rank, from 1, of the pair slope that is the lower end; a part rank lies between two slopes.
        high_rank: rank of the upper end.
        method: how the ranks were found.
    """

    slope: float
    low: float
    high: float
    confidence: float
    low_rank: float
    high_rank: float
    method: SlopeMethod


@dataclass(frozen=True, slots=True)
class LeastSquares:
    """Straight line by least squares.

    Attributes:
        slope: unit of y per unit of x.
        slope_se: standard error of the slope.
        low: lower end of the slope's t interval.
        high: upper end.
    """

    slope: float
    slope_se: float
    low: float
    high: float


def pair(x: ArrayLike, y: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Arrays of x and y, of one length."""
    xs, ys = finite(x, "x"), finite(y, "y")
    if xs.size != ys.size:
        raise ValueError(f"x and y differ in length: {xs.size} and {ys.size}")
    return xs, ys


def pair_slopes(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Slopes of all pairs with different x, ascending.

    Args:
        x: times or positions.
        y: values.

    Source: Theil 1950; Sen 1968, Journal of the American Statistical Association 63:1379–1389.
    """
    i, j = np.triu_indices(x.size, k=1)
    run = x[j] - x[i]
    apart = run != 0
    return np.sort((y[j] - y[i])[apart] / run[apart])


def at_rank(slopes: NDArray[np.float64], rank: float) -> float:
    """Slope at a rank counted from 1, straight between neighbours; infinite outside the ranks there are.

    Args:
        slopes: ascending.
        rank: from 1; a part rank lies between two slopes.

    Source: definition, straight between ranks as in Gilbert 1987, 16.5.1.
    """
    if rank < 1:
        return -math.inf
    if rank > slopes.size:
        return math.inf
    return float(np.interp(rank, np.arange(1, slopes.size + 1), slopes))


def normal_ranks(pairs: int, variance: float, alpha: float) -> tuple[float, float]:
    """Ranks of the ends of the interval by the normal approximation (Gilbert 1987, 16.5.1).

    Args:
        pairs: number of slopes.
        variance: variance of S.
        alpha: one less the confidence asked for.

    Source: Gilbert 1987, 16.5.1.
    """
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
    ranks: Literal["exact", "interpolated"] = "interpolated",
) -> TheilSen:
    """Theil–Sen slope of y on x with its interval.

    Args:
        x: times or positions; equal ones are allowed, their pair has no slope.
        y: values.
        alpha: one less the confidence asked for.
        ranks: how the ends of the interval are found up to twenty points. "exact": Sen 1968, from the counted
            distribution of S, whose confidence is the next attainable above 1 − alpha. "interpolated": between that one
            and the next narrower, so that it has 1 − alpha. Beyond twenty: Gilbert 1987, 16.5.1, from the
            tie-corrected variance of S, interpolated between slopes.

    Raises:
        ValueError: a value is missing, lengths differ, or no two x differ.

    Source: Sen 1968, Journal of the American Statistical Association 63:1379–1389.
    """
    xs, ys = pair(x, y)
    slopes = pair_slopes(xs, ys)
    if slopes.size == 0:
        raise ValueError("a slope needs two points with different x")
    slope = float(np.median(slopes))
    x_ties = tie_sizes(xs)
    method: SlopeMethod = ranks if xs.size <= EXACT_MAX_N else "normal"
    if method == "exact":
        low_rank, high_rank, confidence = _exact_ranks(slopes.size, x_ties, alpha)
    elif method == "interpolated":
        low_rank, high_rank, confidence = _interpolated_ranks(slopes.size, x_ties, alpha)
    else:
        low_rank, high_rank = normal_ranks(slopes.size, score_variance(x_ties, tie_sizes(ys)), alpha)
        confidence = 1 - alpha
    return TheilSen(
        slope=slope,
        low=at_rank(slopes, low_rank),
        high=at_rank(slopes, high_rank),
        confidence=confidence,
        low_rank=low_rank,
        high_rank=high_rank,
        method=method,
    )


def least_squares(x: ArrayLike, y: ArrayLike, *, alpha: float = 0.05) -> LeastSquares:
    """Least-squares slope of y on x with its standard error and t interval.

    Sums are taken about the means, so that large x (calendar years) cost no digits.

    Args:
        x: times or positions.
        y: values.
        alpha: one less the confidence of the slope's interval.

    Raises:
        ValueError: a value is missing, lengths differ, fewer than three points, or x does not vary.

    Source: least squares of a straight line; certified figures: NIST Statistical Reference Datasets, Norris.
    """
    xs, ys = pair(x, y)
    n = xs.size
    if n < 3 or np.ptp(xs) == 0:
        raise ValueError("a line with an error needs three points and two different x")
    dx, dy = xs - xs.mean(), ys - ys.mean()
    sxx = float(dx @ dx)
    slope = float(dx @ dy) / sxx
    residual = dy - slope * dx
    slope_se = math.sqrt(float(residual @ residual) / (n - 2) / sxx)
    half = t_quantile(n - 2, 1 - alpha) * slope_se
    return LeastSquares(slope, slope_se, slope - half, slope + half)
