"""The difference of two means or two shares, with the doubt of both."""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike

from pipeline.statistics.interval import mean_interval, t_quantile, wilson_interval


@dataclass(frozen=True, slots=True)
class Difference:
    """Later less earlier, with its interval.

    Attributes:
        change: later less earlier.
        low: lower end of the interval; None where one of the two has no spread of its own.
        high: upper end.

    Source: definition.
    """

    change: float
    low: float | None
    high: float | None

    @property
    def shown(self) -> bool:
        """Whether the interval leaves zero out: only then has anything changed that the readings show."""
        return self.low is not None and self.high is not None and not self.low <= 0.0 <= self.high


def mean_difference(later: ArrayLike, earlier: ArrayLike) -> Difference:
    """Difference of two means whose spreads may differ, with Welch's 95 % t interval; none from a single value.

    Args:
        later: values of the later time.
        earlier: values of the earlier time.

    Source: Welch 1947, Biometrika 34:28–35.

    Raises:
        ValueError: one of the two is empty, or holds a missing value.
    """
    new, old = mean_interval(later), mean_interval(earlier)
    change = new.mean - old.mean
    if new.sd is None or old.sd is None:
        return Difference(change, None, None)
    parts = (new.sd**2 / new.n, old.sd**2 / old.n)
    error = math.sqrt(sum(parts))
    if error == 0.0:
        return Difference(change, change, change)
    freedom = sum(parts) ** 2 / (parts[0] ** 2 / (new.n - 1) + parts[1] ** 2 / (old.n - 1))
    half = t_quantile(freedom) * error
    return Difference(change, change - half, change + half)


def share_difference(later: tuple[float, float], earlier: tuple[float, float]) -> Difference:
    """Difference of two shares, each (hits, points), with Newcombe's 95 % interval from the two Wilson intervals.

    Args:
        later: hits and points of the later time.
        earlier: hits and points of the earlier time.

    Source: Newcombe 1998, Statistics in Medicine 17:873–890, method 10.

    Raises:
        ValueError: no points, or more hits than points.
    """
    (new_low, new_high), new = wilson_interval(*later), later[0] / later[1]
    (old_low, old_high), old = wilson_interval(*earlier), earlier[0] / earlier[1]
    change = new - old
    low = change - math.hypot(new - new_low, old_high - old)
    high = change + math.hypot(new_high - new, old - old_low)
    return Difference(change, low, high)
