"""A shift that many members of a group show in the same year: what no single series can tell from its own change."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

FEWEST_OTHERS = 2
"""Changes of a member in other years that its usual change is the middle of; with one, two years look alike odd."""


@dataclass(frozen=True, slots=True)
class Shift:
    """A shift common to the members.

    Attributes:
        step: position of the step between two years.
        value: median of how far members' changes lie from their own usual change.
        members: members that could show it.
        same_way: those of them that moved the way of the median.
        p: two-sided p of the signed-rank test, times the number of steps tested.
    """

    step: int
    value: float
    members: int
    same_way: int
    p: float


def common_shifts(changes: ArrayLike, *, alpha: float = 0.05) -> list[Shift]:
    """Steps at which members moved together, the clearest first; each found one is left out before the next is sought.

    A member's change is held against the median of its own other changes, so that what it does every year (a green
    that is dressed well) is no shift. Wilcoxon's signed-rank test over members, with Bonferroni's correction over the
    steps: members are independent but for what moves all of them.

    Args:
        changes: change of each member from one year to the next, shape (members, steps); nan where it is not known.
        alpha: level over all steps together.

    Source: Wilcoxon 1945, Biometrics Bulletin 1:80–83; Bonferroni's inequality.
    """
    table = np.array(changes, dtype=np.float64)
    if table.ndim != 2:
        raise ValueError("changes: one row a member, one column a step")
    found: list[Shift] = []
    while True:
        tested = [one for step in range(table.shape[1]) if (one := _shift(table, step)) is not None]
        best = min(tested, key=lambda one: (one.p, one.step), default=None)
        if best is None or best.p > alpha:
            return found
        found.append(best)
        table[:, best.step] = np.nan


def _shift(table: np.ndarray[tuple[int, ...], np.dtype[np.float64]], step: int) -> Shift | None:
    """The shift at one step, None where no member can show one."""
    from scipy.stats import wilcoxon

    others = np.delete(table, step, axis=1)
    can = np.isfinite(table[:, step]) & (np.isfinite(others).sum(axis=1) >= FEWEST_OTHERS)
    apart = table[can, step] - np.array([np.nanmedian(row) for row in others[can]])
    if not apart.any():
        return None
    tests = int(np.isfinite(table).any(axis=0).sum())
    p = min(1.0, tests * float(wilcoxon(apart).pvalue))
    middle = float(np.median(apart))
    return Shift(step, middle, apart.size, int((np.sign(apart) == np.sign(middle)).sum()), p)
