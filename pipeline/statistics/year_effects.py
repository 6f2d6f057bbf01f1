"""The level of each year from values of unlike kinds: each kind (time of the year, month, height of cut) with its like.

What moves all values of one year together (its weather, a batch at the laboratory) makes them one piece of evidence,
not several: a trend is tested on years, however many values each has.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.kendall import finite


@dataclass(frozen=True, slots=True)
class YearEffects:
    """How levels of years are made from values.

    Attributes:
        years: the years, rising, that can be compared with the latest.
        weights: levels of the years are ``weights @ values``: each year as at the kind of the latest value; shape
            (years, values), 0 for values that are not used.
        used: True for values that are used.
        kinds: number of kinds used.
    """

    years: NDArray[np.float64]
    weights: NDArray[np.float64]
    used: NDArray[np.bool_]
    kinds: int


def year_effects(year: ArrayLike, kind: Sequence[Hashable]) -> YearEffects:
    """Level of each year by least squares with a level for each kind.

    A year can be compared with the latest where kinds lead from one to the other: both have the kind, or a third year
    has one of each.

    Args:
        year: year of each value, a whole number.
        kind: kind of each value.

    Raises:
        ValueError: no value, a year missing, or lengths differ.

    Source: two-way analysis of variance without interaction; as the year coefficients of statsmodels' OLS.
    """
    years = finite(year, "year")
    if years.size == 0 or years.size != len(kind):
        raise ValueError("year and kind must have the same length, at least 1")
    return _effects(tuple(years.tolist()), tuple(kind))


@lru_cache(8)  # layers that were sampled together are asked for one after the other
def _effects(year: tuple[float, ...], kind: tuple[Hashable, ...]) -> YearEffects:
    years = np.array(year)
    names = {name: i for i, name in enumerate(dict.fromkeys(kind))}
    codes = np.array([names[name] for name in kind])
    used = linked_with_latest(years, codes)
    here = np.unique(years[used])
    kinds = np.unique(codes[used])
    latest = codes[np.flatnonzero(used & (years == here[-1]))[-1]]
    columns = [years[used] == one for one in here] + [codes[used] == one for one in kinds if one != latest]
    weights = np.zeros((here.size, years.size))
    weights[:, used] = np.linalg.pinv(np.array(columns, dtype=np.float64).T)[: here.size]
    for shared in (here, weights, used):
        shared.flags.writeable = False
    return YearEffects(here, weights, used, int(kinds.size))


def linked_with_latest(years: NDArray[np.float64], codes: NDArray[np.intp]) -> NDArray[np.bool_]:
    """The values linked with those of the latest year through years and kinds in common.

    Args:
        years: year of each value.
        codes: kind of each, as a number.

    Source: definition.
    """
    pairs = list(zip(years.tolist(), codes.tolist(), strict=True))
    latest = max(years.tolist())
    linked = [year == latest for year, _ in pairs]
    while True:
        with_years = {year for (year, _), is_so in zip(pairs, linked, strict=True) if is_so}
        with_codes = {code for (_, code), is_so in zip(pairs, linked, strict=True) if is_so}
        wider = [year in with_years or code in with_codes for year, code in pairs]
        if wider == linked:
            return np.array(linked, dtype=np.bool_)
        linked = wider
