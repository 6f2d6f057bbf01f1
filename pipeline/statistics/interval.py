"""Means, shares, percentiles and spread, each with the doubt its number of values leaves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from pipeline.statistics.kendall import finite
from pipeline.statistics.ways import PercentileType

# Spiegelhalter 2005: the usual funnel limits hold 95 % and 99.8 % of the in-control points.
FUNNEL_Z: Final = (1.96, 3.09)

_NUMPY_METHOD: Final[dict[int, Literal["weibull", "linear", "median_unbiased"]]] = {
    6: "weibull",
    7: "linear",
    8: "median_unbiased",
}


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean with its t interval.

    Attributes:
        mean: arithmetic mean.
        sd: standard deviation on n − 1; None for one value.
        n: number of values.
        low: lower end of the interval; None for one value, which says nothing of its own error.
        high: upper end.
    """

    mean: float
    sd: float | None
    n: int
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Refused:
    """No figure: what the data lack, in a plain sentence."""

    why: str


def _some(values: ArrayLike) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """The values as an array with at least one of them."""
    array = finite(values, "values")
    if array.size == 0:
        raise ValueError("values: none given")
    return array


@lru_cache(4096)
def t_quantile(freedom: float, confidence: float = 0.95) -> float:
    """Standard errors that half a t interval is wide.

    Args:
        freedom: degrees of freedom of the standard error.
        confidence: of the interval.

    Source: Student 1908, Biometrika 6:1–25.
    """
    from scipy.special import stdtrit  # scipy.stats asks it the same, and takes a third of a second to import

    return float(stdtrit(freedom, (1 + confidence) / 2))


def t_tail(value: float, freedom: float) -> float:
    """Chance of a larger t than this one.

    Args:
        value: estimate over its standard error.
        freedom: degrees of freedom of the standard error.

    Source: Student 1908, Biometrika 6:1–25.
    """
    from scipy.special import stdtr

    return float(stdtr(freedom, -value))


def mean_interval(values: ArrayLike, *, confidence: float = 0.95) -> Mean:
    """Mean of independent values with Student's t interval; no interval from a single value.

    Args:
        values: independent values, none missing.
        confidence: of the interval.

    Raises:
        ValueError: no value, or one that is missing.

    Source: Student 1908, Biometrika 6:1–25.
    """
    array = _some(values)
    if array.size < 2:
        return Mean(float(array[0]), None, 1, None, None)
    mean = float(array.mean())
    sd = float(array.std(ddof=1))
    half = t_quantile(array.size - 1, confidence) * sd / math.sqrt(array.size)
    return Mean(mean, sd, array.size, mean - half, mean + half)


def sampling_sd(mean: float, cores: int, *, core_cv: float, laboratory_cv: float = 0.0) -> float:
    """Standard deviation of one composite result, in the unit of the mean, from its cores and its laboratory.

    Cores average out, the laboratory's repeatability does not: √((core_cv·mean)²/cores + (laboratory_cv·mean)²).
    A laboratory's own constant error is not in it; it drops out of changes seen by the same laboratory, which is why
    a change of laboratory breaks a series.

    Args:
        mean: the result.
        cores: number of cores mixed.
        core_cv: coefficient of variation of single cores within the green (0.14: median of 16 greens, 0–20 mm
            organic matter, Asian Turfgrass Center 2020-07-06).
        laboratory_cv: repeatability of the laboratory, as a share.

    Raises:
        ValueError: fewer than one core, a mean not above zero or a share below zero.

    Source: errors that are independent add as squares; 14 % between cores: Asian Turfgrass Center 2020-07-06.
    """
    if cores < 1 or not mean > 0 or core_cv < 0 or laboratory_cv < 0:
        raise ValueError("needs one core at least, a mean above zero and shares not below zero")
    return mean * math.sqrt(core_cv**2 / cores + laboratory_cv**2)


def pooled_sd(groups: Sequence[ArrayLike]) -> float | None:
    """Standard deviation within groups, pooled over them; None where no group has two values.

    Args:
        groups: values of each group.

    Source: mean square within groups of one-way analysis of variance.
    """
    arrays = [_some(group) for group in groups]
    freedom = sum(a.size - 1 for a in arrays)
    if freedom == 0:
        return None
    return math.sqrt(sum(float(((a - a.mean()) ** 2).sum()) for a in arrays) / freedom)


def wilson_interval(successes: float, n: float, *, confidence: float = 0.95) -> tuple[float, float]:
    """Interval of a share of n independent cases, within 0 to 1 (Wilson 1927).

    Cases that are not independent count for fewer, so both numbers may be fractions.

    Args:
        successes: cases that count.
        n: all cases.
        confidence: of the interval.

    Raises:
        ValueError: n below 1, or successes outside 0…n.

    Source: Wilson 1927, Journal of the American Statistical Association 22:209–212.
    """
    if n < 1 or not 0 <= successes <= n:
        raise ValueError("a share needs n ≥ 1 and 0 ≤ successes ≤ n")
    z2 = NormalDist().inv_cdf((1 + confidence) / 2) ** 2
    share = successes / n
    middle = (share + z2 / (2 * n)) / (1 + z2 / n)
    half = math.sqrt(z2 * share * (1 - share) / n + z2 * z2 / (4 * n * n)) / (1 + z2 / n)
    low = 0.0 if successes == 0 else middle - half
    high = 1.0 if successes == n else middle + half
    return low, high


def percentile(values: ArrayLike, share: float, *, kind: PercentileType = 8) -> float:
    """Value below which the given share (0…1) lies, by a named definition of Hyndman & Fan 1996.

    Args:
        values: at least one.
        share: 0.9 for the 90th percentile.
        kind: 6 (NIST handbook, many spreadsheets' "exclusive"), 7 (numpy, R, "inclusive"), 8 (recommended by
            Hyndman & Fan: nearly median-unbiased whatever the distribution).

    Raises:
        ValueError: no value, a missing one, or a share outside 0…1.

    Source: Hyndman & Fan 1996, The American Statistician 50:361–365.
    """
    if not 0 <= share <= 1:
        raise ValueError("share must lie in 0…1")
    return float(np.quantile(_some(values), share, method=_NUMPY_METHOD[kind]))


def coefficient_of_variation(values: ArrayLike) -> float:
    """Coefficient of variation of positive values: standard deviation over mean, as a share.

    Args:
        values: two at least, with a mean above zero.

    Raises:
        ValueError: fewer than two values, or a mean that is not above zero.

    Source: definition.
    """
    array = _some(values)
    if array.size < 2 or array.mean() <= 0:
        raise ValueError("a coefficient of variation needs two values and a mean above zero")
    return float(array.std(ddof=1) / array.mean())
