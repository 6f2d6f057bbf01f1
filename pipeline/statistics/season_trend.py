"""Trend over seasons that are good and bad as a whole: a season is one piece of evidence, however often timed."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.interval import Refused, t_quantile, t_tail
from pipeline.statistics.kendall import finite
from pipeline.statistics.trend import least_squares
from pipeline.statistics.year_effects import year_effects

FEWEST_SEASONS = 4
"""With three, one degree of freedom is left: an interval thirteen standard errors wide on each side says nothing."""
SEASONS_ALIKE = 0.5
"""Correlation taken between one season and the next: common practice, no source. Few seasons cannot show it, and where
it is left out, simulated greens whose seasons are so alike are called faster or slower in 10 to 17 % of cases."""


@dataclass(frozen=True, slots=True)
class SeasonTrend:
    """Straight line through the levels of the seasons.

    Attributes:
        slope: unit of the values a season.
        low: lower end of its interval; None where the seasons lie exactly in line and so measure no doubt.
        high: upper end.
        p: two-sided p of no slope; None without an interval.
        seasons: seasons that count.
        n: values that count.
        kinds: kinds of them.
        left_out: values that do not count, as nothing links them with the latest season.
    """

    slope: float
    low: float | None
    high: float | None
    p: float | None
    seasons: int
    n: int
    kinds: int
    left_out: int


def season_trend(
    season: ArrayLike, values: ArrayLike, kind: Sequence[Hashable], *, alpha: float = 0.05, alike: float = SEASONS_ALIKE
) -> SeasonTrend | Refused:
    """Slope over seasons with its t interval: seasons are the unit, each value is compared with its like.

    Levels of the seasons by `year_effects`, then least squares; its standard error is that of seasons of which
    neighbours correlate by ``alike`` (a first-order autoregression), with seasons − 2 degrees of freedom.

    Args:
        season: season of each value, a whole number; seasons may be absent.
        values: values, independent but for their season.
        kind: kind of each: what must be the same for two to be compared.
        alpha: one less the confidence of the interval.
        alike: correlation between one season and the next, 0 to below 1.

    Raises:
        ValueError: no value, one missing, or lengths differ.

    Source: least squares with the error of `widening`; as scipy's linregress where ``alike`` is 0.
    """
    data = finite(values, "values")
    found = year_effects(season, kind)
    if data.size != found.used.size:
        raise ValueError("each value needs its season and kind")
    count = found.years.size
    if count < FEWEST_SEASONS:
        return Refused(f"{count} {'season' if count == 1 else 'seasons'} alike, {FEWEST_SEASONS} needed")
    slope, se = through_seasons(found.years, found.weights @ data, alike=alike)
    used = {
        "seasons": count, "n": int(found.used.sum()), "kinds": found.kinds, "left_out": int((~found.used).sum())
    }  # fmt: skip
    if se <= 1e-9 * float(np.abs(data).max()):
        return SeasonTrend(slope, None, None, None, **used)
    half = t_quantile(count - 2, 1 - alpha) * se
    p = 2 * t_tail(abs(slope) / se, count - 2)
    return SeasonTrend(slope, slope - half, slope + half, p, **used)


def through_seasons(
    seasons: NDArray[np.float64], levels: NDArray[np.float64], *, alike: float = SEASONS_ALIKE
) -> tuple[float, float]:
    """Slope through the levels of seasons and its standard error, of which neighbours correlate by ``alike``.

    Args:
        seasons: seasons as numbers, three at least.
        levels: level of each.
        alike: correlation between one season and the next, 0 to below 1.

    Source: least squares with the error of `widening`.
    """
    line = least_squares(seasons, levels)
    return line.slope, line.slope_se * widening(seasons, alike)


def widening(x: NDArray[np.float64], alike: float) -> float:
    """How many times wider than by least squares the error of a slope is, where neighbours correlate.

    The slope's variance is σ²·wᵀRw for weights w and correlations R = alike^|Δx|; the residuals show σ²·tr(MR), M what
    is left after the line, where least squares takes σ²(n − 2).

    Args:
        x: times, at least three.
        alike: correlation at a distance of 1, 0 to below 1.

    Source: definition (variance of a weighted sum, expectation of a sum of squares), held by simulation.
    """
    correlation = alike ** np.abs(x[:, None] - x[None, :]) if alike else np.eye(x.size)
    design = np.column_stack([np.ones(x.size), x])
    rest = np.eye(x.size) - design @ np.linalg.pinv(design)
    dx = x - x.mean()
    seen = float(np.trace(rest @ correlation)) / (x.size - 2)
    return float(np.sqrt(dx @ correlation @ dx / (dx @ dx) / seen))
