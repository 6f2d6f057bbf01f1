"""Results over time made into samples that may be compared: one a day, one method, one unbroken run.

Two results are comparable only where their comparability key (method, laboratory, depth…) is the same. A change of
key breaks the series, and only the latest unbroken run is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.kendall import finite

# Mean length of a calendar year, so that dates far apart are as many years apart as the calendar says.
DAYS_PER_YEAR = 365.2425


@dataclass(frozen=True, slots=True)
class Run:
    """The latest unbroken run of comparable results, one sample a date, oldest first.

    Attributes:
        years: time of each sample in years.
        values: mean of the results of each date; results under ``limit`` stand at ``limit``.
        sd: standard deviation each sample has from measuring alone; None where none was given.
        below: True where a sample is below the limit, or tied with it.
        limit: the highest reporting limit met in the run; None where every result is above its limit.
        key: comparability key of the run.
        key_before: key of the samples just before the run; None where the run starts the series.
        left_out: positions, in the input, of the results not used.
        years_in_all: number of different years in the whole input.
    """

    years: NDArray[np.float64]
    values: NDArray[np.float64]
    sd: NDArray[np.float64] | None
    below: NDArray[np.bool_]
    limit: float | None
    key: str
    key_before: str | None
    left_out: tuple[int, ...]
    years_in_all: int


def in_years(when: Sequence[date] | ArrayLike) -> NDArray[np.float64]:
    """Times in years: dates by their day number, numbers as they are.

    Raises:
        ValueError: a time is missing.
    """
    items: list[Any] = np.asarray(when, dtype=object).tolist()
    return finite([d.toordinal() / DAYS_PER_YEAR if isinstance(d, date) else d for d in items], "dates")


def times_of_year(years: NDArray[np.float64], weeks: float) -> list[int]:
    """Number of the time of the year of each date: 0 for those within so many weeks of the latest date's.

    Of the dates left the latest makes the next time of the year, and so on.

    Args:
        years: times in years, at least one.
        weeks: width on each side.
    """
    apart = np.abs(years[:, None] - years[None, :]) % 1
    near = np.minimum(apart, 1 - apart) * DAYS_PER_YEAR <= 7 * weeks + 1  # leap years shift a day
    number = np.full(years.size, -1)
    for group in range(years.size):
        left = number < 0
        if not left.any():
            break
        latest = int(np.argmax(np.where(left, years, -np.inf)))
        number[left & near[latest]] = group
    return [int(one) for one in number]


def _latest_run(years: NDArray[np.float64], keys: Sequence[str]) -> tuple[str, float, str | None]:
    """Key of the latest run, the time it starts, and the key of the date before it.

    A run goes back from the latest date over consecutive dates that all have a result under the key; a date with
    results under two keys (a split sample) continues both. Where the latest date has two keys, the longer run wins.
    """
    at: dict[float, set[str]] = {}
    for when, key in zip(years.tolist(), keys, strict=True):
        at.setdefault(when, set()).add(key)
    days = sorted(at, reverse=True)

    def length(key: str) -> int:
        return next((i for i, day in enumerate(days) if key not in at[day]), len(days))

    key = max(at[days[0]], key=lambda k: (length(k), k))
    run = length(key)
    before = min(at[days[run]]) if run < len(days) else None
    return key, days[run - 1], before


def latest_key(when: Sequence[date] | ArrayLike, keys: Sequence[str]) -> str:
    """Key of the latest unbroken run, as :func:`comparable_run` finds it.

    Args:
        when: date (or year as a number) of each result, at least one.
        keys: comparability key of each.

    Source: definition.
    """
    return _latest_run(in_years(when), keys)[0]


def comparable_run(
    when: Sequence[date] | ArrayLike,
    values: ArrayLike,
    keys: Sequence[str],
    *,
    measurement_sd: ArrayLike | None = None,
    below_limit: Sequence[bool] | None = None,
) -> Run:
    """The latest unbroken run of one comparability key, results of one date averaged to one sample.

    Args:
        when: date (or year as a number) of each result, in any order.
        values: results; for one below its reporting limit, the limit.
        keys: comparability key of each result.
        measurement_sd: standard deviation of each result from measuring alone, or one for all.
        below_limit: True where a result is below its reporting limit. All results of the run under its highest limit
            are then tied at that limit: "less than 5" is not a number below a measured 4.

    Raises:
        ValueError: no result, lengths differ, a value is missing, or a measurement SD is not above zero.
    """
    years, results = in_years(when), finite(values, "values")
    n = results.size
    below = np.zeros(n, dtype=np.bool_) if below_limit is None else np.asarray(below_limit, dtype=np.bool_)
    if n == 0 or not n == years.size == len(keys) == below.size:
        raise ValueError("dates, values, keys and below_limit must have the same length, at least 1")
    sd = None
    if measurement_sd is not None:
        sd = np.broadcast_to(finite(np.atleast_1d(np.asarray(measurement_sd)), "measurement_sd"), (n,))
        if (sd <= 0).any():
            raise ValueError("measurement_sd: must be above zero; leave it out where it is not known")
    key, start, before = _latest_run(years, keys)
    used = np.array([own == key for own in keys], dtype=np.bool_) & (years >= start)
    limit = float(results[used & below].max()) if (used & below).any() else None
    raised = results[used] if limit is None else np.maximum(results[used], limit)
    days, day = np.unique(years[used], return_inverse=True)
    count = np.bincount(day)
    means = np.bincount(day, weights=raised) / count
    low_days = np.zeros(days.size, dtype=np.bool_)
    if limit is not None:
        low_days = np.bincount(day, weights=raised > limit) == 0
        means[low_days] = limit  # exactly, so that they tie
    return Run(
        years=days,
        values=means,
        sd=None if sd is None else np.sqrt(np.bincount(day, weights=sd[used] ** 2)) / count,
        below=low_days,
        limit=limit,
        key=key,
        key_before=before,
        left_out=tuple(int(i) for i in np.flatnonzero(~used)),
        years_in_all=int(np.unique(np.floor(years)).size),
    )
