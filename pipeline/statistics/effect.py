"""What changed with what: differences between two times, and between those who changed and those who did not."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pipeline.statistics.difference import mean_difference
from pipeline.statistics.interval import Refused, t_quantile
from pipeline.statistics.kendall import finite

MIN_PER_ARM = 5
"""Fewest members on each side before a difference in differences is made: as many as a published group has."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference with its interval.

    Attributes:
        value: the difference, unit of the values.
        low: lower end of its interval.
        high: upper end.
        n_first: values on the first side that count.
        n_second: values on the second side.
    """

    value: float
    low: float
    high: float
    n_first: int
    n_second: int


ALIKE = Refused("the values do not differ at all within a side: they are no measure of doubt.")


def like_with_like(
    before: ArrayLike,
    before_class: Sequence[Hashable],
    after: ArrayLike,
    after_class: Sequence[Hashable],
    *,
    min_each: int = 3,
) -> Difference | Refused:
    """Difference after − before within classes of like conditions, with a 95 % t interval.

    The least-squares difference with a level of its own for each class: classes seen on one side only say nothing and
    are left out. Weights are n₁n₂/(n₁ + n₂), the error is the scatter within class and side.

    Args:
        before: independent values of the first time (days, not single readings).
        before_class: class of each.
        after: values of the second time.
        after_class: class of each.
        min_each: fewest values on each side in classes that both have.

    Raises:
        ValueError: a value is missing or lengths differ.

    Source: least squares with a level for each class (analysis of variance without interaction); as statsmodels' OLS.
    """
    one, two = finite(before, "before"), finite(after, "after")
    if one.size != len(before_class) or two.size != len(after_class):
        raise ValueError("each value needs its class")
    shared = [c for c in dict.fromkeys(before_class) if c in set(after_class)]
    first = [one[[k == c for k in before_class]] for c in shared]
    second = [two[[k == c for k in after_class]] for c in shared]
    counts = (sum(a.size for a in first), sum(b.size for b in second))
    if min(counts) < min_each:
        return Refused(f"{counts[0]} and {counts[1]} days under like conditions; {min_each} and {min_each} needed.")
    freedom = sum(counts) - len(shared) - 1
    if freedom < 1:
        return Refused("no class of like conditions has days enough to show how far days differ.")
    weights = np.array([a.size * b.size / (a.size + b.size) for a, b in zip(first, second, strict=True)])
    gaps = np.array([float(b.mean() - a.mean()) for a, b in zip(first, second, strict=True)])
    value = float(weights @ gaps / weights.sum())
    # Within each class both sides share a level but for the common difference; what is left is error.
    rss = sum(
        float(((a - a.mean()) ** 2).sum() + ((b - b.mean()) ** 2).sum()) for a, b in zip(first, second, strict=True)
    )
    rss += float(weights @ (gaps - value) ** 2)
    half = t_quantile(freedom) * math.sqrt(rss / freedom / float(weights.sum()))
    return Difference(value, value - half, value + half, *counts) if half else ALIKE


def difference_in_differences(
    changed: ArrayLike, unchanged: ArrayLike, *, min_each: int = MIN_PER_ARM
) -> Difference | Refused:
    """Mean change of those whose programme changed less that of those whose did not, with Welch's 95 % t interval.

    What moved both sides alike (a wet year, a laboratory's drift) drops out; what moved only one of them, beside the
    programme, does not: the result is an association.

    Args:
        changed: change of each member of the first side, after − before.
        unchanged: change of each member of the other side.
        min_each: fewest members on each side.

    Source: Welch 1947, Biometrika 34:28–35; the design: Card & Krueger 1994, American Economic Review 84:772–793.

    Raises:
        ValueError: a value is missing.
    """
    one, two = finite(changed, "changed"), finite(unchanged, "unchanged")
    if min(one.size, two.size) < max(2, min_each):
        return Refused(
            f"{one.size} greens changed and {two.size} did not; at least {max(2, min_each)} of each are needed."
        )
    found = mean_difference(one, two)
    if found.low is None or found.high is None or found.low == found.high:
        return ALIKE
    return Difference(found.change, found.low, found.high, one.size, two.size)
