"""A steady change that most members of a group show alike: it may be theirs, or that of what measures all of them."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.kendall import finite, mann_kendall
from pipeline.statistics.trend import theil_sen
from pipeline.statistics.year_effects import linked_with_latest

FEWEST_MEMBERS = 6
"""Fewer going one way are no group: five do so by chance in one of sixteen. Common practice, no source."""
MOST = 0.75
"""Share of the members that must change alike. Common practice, no source."""
ALIKE = 0.5
"""So much of the common slope a member's own must have to be like it: where half of the members fall and the others do
not, the common slope is half of a fall, and chance sends the others either way. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class CommonTrend:
    """A steady change common to the members.

    Attributes:
        slope: Theil–Sen slope of the levels of the years, unit of the values a year.
        p: two-sided p of the Mann–Kendall test on them.
        first: first year.
        last: last year.
        members: members seen in two years at least.
        alike: those of them whose own slope is like it.
    """

    slope: float
    p: float
    first: int
    last: int
    members: int
    alike: int


def common_levels(year: ArrayLike, values: ArrayLike, row: Sequence[Hashable]) -> tuple[NDArray[np.float64], ...]:
    """Years, rising, that can be compared with the latest, and their levels about their mean: each row with itself.

    Least squares with a level for each year and each row. Rows are taken off first, so that many cost little.

    Args:
        year: year of each value, a whole number.
        values: values.
        row: what each value is compared within (a layer of a green at one time of the year).

    Source: two-way analysis of variance without interaction; Frisch & Waugh 1933, Econometrica 1:387–401.
    """
    years, data = finite(year, "year"), finite(values, "values")
    names = {name: i for i, name in enumerate(dict.fromkeys(row))}
    codes = np.array([names[name] for name in row])
    used = linked_with_latest(years, codes)
    years, data, codes = years[used], data[used], codes[used]
    here = np.unique(years)
    inside = np.column_stack([years[:, None] == here, data]).astype(np.float64)
    sums = np.zeros((len(names), inside.shape[1]))
    np.add.at(sums, codes, inside)
    inside -= (sums / np.maximum(np.bincount(codes, minlength=len(names)), 1)[:, None])[codes]
    levels = np.linalg.lstsq(inside[:, :-1], inside[:, -1], rcond=None)[0]
    return here, levels - levels.mean()


def common_trend(
    year: ArrayLike,
    values: ArrayLike,
    row: Sequence[Hashable],
    member: Sequence[Hashable],
    *,
    alpha: float = 0.05,
) -> CommonTrend | None:
    """The steady change that most members show alike; None where there is none, or members are too few.

    The test counts years, not members: what moves all members of one year (its weather, a batch at the laboratory) is
    one piece of evidence. It needs a Mann–Kendall p of at most ``alpha`` over the years' common levels, and `MOST` of
    at least `FEWEST_MEMBERS` members with a slope of their own of at least `ALIKE` of the common one.

    Args:
        year: year of each value, a whole number.
        values: values.
        row: what each value is compared within.
        member: member whose row it is.
        alpha: level of the test, two-sided.

    Source: Mann–Kendall and Theil–Sen as named; that both must agree is this project's own, held by simulation.
    """
    here, levels = common_levels(year, values, row)
    own = _own_slopes(finite(year, "year"), finite(values, "values"), row, member)
    if len(own) < FEWEST_MEMBERS or here.size < 2:
        return None
    # Rounded far below what results are given to, so that equal levels stay ties.
    test, line = mann_kendall(levels.round(9), here), theil_sen(here, levels.round(9), alpha=alpha)
    alike = sum(slope * line.slope > 0 and abs(slope) >= ALIKE * abs(line.slope) for slope in own)
    if test.p > alpha or alike < MOST * len(own):
        return None
    return CommonTrend(line.slope, test.p, int(here[0]), int(here[-1]), len(own), alike)


def _own_slopes(
    years: NDArray[np.float64], values: NDArray[np.float64], row: Sequence[Hashable], member: Sequence[Hashable]
) -> list[float]:
    """Least-squares slope of each member seen in two years, each of its rows about its own mean."""
    of_row: dict[tuple[Hashable, Hashable], list[int]] = {}
    for place, key in enumerate(zip(member, row, strict=True)):
        of_row.setdefault(key, []).append(place)
    sums: dict[Hashable, tuple[float, float]] = {}
    for (name, _), places in of_row.items():
        about = years[places] - years[places].mean()
        products, squares = sums.get(name, (0.0, 0.0))
        sums[name] = products + float(about @ values[places]), squares + float(about @ about)
    return [products / squares for products, squares in sums.values() if squares > 0]
