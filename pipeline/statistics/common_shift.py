"""A shift that many members of a group show in the same year: what no single series can tell from its own change."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FEWEST_OTHERS = 2
"""Changes of a member in other years that its usual change is the middle of; with one, two years look alike odd."""


MOST_EXACT, MOST_EXACT_TIED = 50, 13
"""Values of which every way the signs can fall is counted, and those with ties or zeros among them; as scipy does."""


@dataclass(frozen=True, slots=True)
class Shift:
    """A shift common to the members.

    Attributes:
        step: position of the step between two years.
        value: median of how far members' changes lie from their own usual change.
        members: members that could show it.
        same_way: those of them that moved the way of the median.
        p: two-sided p of the signed-rank test, times the number of steps tested.
        rows: rows of those members that could show it.
    """

    step: int
    value: float
    members: int
    same_way: int
    p: float
    rows: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Table:
    """Changes of each row, the span of steps each covers (cells of one span are one change), and each row's member."""

    changes: NDArray[np.float64]
    spans: NDArray[np.int64]
    member: NDArray[np.intp]

    def others(self, step: int) -> NDArray[np.float64]:
        """The other changes of each row, by a single step, each once; nan elsewhere."""
        length = (self.spans[:, :, None] == self.spans[:, None, :]).sum(axis=2)
        first = np.diff(self.spans, axis=1, prepend=self.spans[:, :1] - 1) != 0
        return np.where(first & (self.spans != self.spans[:, [step]]), self.changes / length, np.nan)

    def able(self, step: int) -> NDArray[np.intp]:
        """The rows that can show a shift at this step: with it, and with others to tell what is usual."""
        known = np.isfinite(self.others(step)).sum(axis=1) >= FEWEST_OTHERS
        return np.flatnonzero(np.isfinite(self.changes[:, step]) & known)

    def shift(self, step: int, rows: NDArray[np.intp], tests: int) -> Shift:
        """The shift at one step, among so many tested."""
        length = (self.spans[rows] == self.spans[rows][:, [step]]).sum(axis=1)
        apart = self.changes[rows, step] - length * np.nanmedian(self.others(step)[rows], axis=1)
        _, of = np.unique(self.member[rows], return_inverse=True)
        apart = np.bincount(of, apart) / np.bincount(of)
        p = min(1.0, tests * signed_rank_p(apart)) if apart.any() else 1.0
        middle = float(np.median(apart))
        same_way = int((np.sign(apart) == np.sign(middle)).sum())
        return Shift(step, middle, apart.size, same_way, p, tuple(rows.tolist()))


def signed_rank_p(values: NDArray[np.float64]) -> float:
    """Two-sided p of Wilcoxon's signed-rank test; zeros are left out, of which there must be others.

    The same as scipy's ``wilcoxon``, whose package takes a second to import: every way the signs can fall is counted,
    or of many values the normal law taken.

    Args:
        values: changes, shape (n), at least one of them not zero.

    Source: Wilcoxon 1945, Biometrics Bulletin 1:80–83; of many the normal law, its variance lessened for ties, as scipy
    has it.
    """
    from scipy.special import ndtr

    moved = values[values != 0]
    sizes, of, ties = np.unique(np.abs(moved), return_inverse=True, return_counts=True)
    doubled = (2 * np.cumsum(ties) - ties + 1)[of]  # twice each rank, a whole number where ties share theirs
    up, n = int(doubled[moved > 0].sum()), int(moved.size)
    if values.size <= (MOST_EXACT if sizes.size == values.size else MOST_EXACT_TIED):
        ways = np.ones(1)  # by the sum of doubled ranks
        for rank in doubled:
            ways = np.pad(ways, (0, rank)) + np.pad(ways, (rank, 0))
        return min(1.0, 2.0 * float(min(ways[up:].sum(), ways[: up + 1].sum())) / 2.0**n)
    variance = float(n * (n + 1) * (2 * n + 1) - (ties**3 - ties).sum() / 2) / 24
    return 2.0 * float(ndtr(-abs(up / 2 - n * (n + 1) / 4) / np.sqrt(variance)))


def common_shifts(
    changes: ArrayLike,
    *,
    spans: ArrayLike | None = None,
    member: Sequence[Hashable] | None = None,
    alpha: float = 0.05,
) -> list[Shift]:
    """Steps at which members moved together, the clearest first; each found one is left out before the next is sought.

    A change is held against the median of its row's other changes, so that what a member does every year (a green
    that is dressed well) is no shift; over a gap of several years it does so as many times. Wilcoxon's signed-rank
    test over members, with Bonferroni's correction over the steps that enough members have for such a p: members are
    independent but for what moves all of them.

    Args:
        changes: change of each row over the span that covers a step, shape (rows, steps); nan where it is not known.
        spans: a whole number for each of them; neighbours of a row that have the same are one change over a gap, and
            hold the same figure. None: every step is a span.
        member: member of each row, whose rows count as one, by their mean; None: every row is one.
        alpha: level over all steps together.

    Source: Wilcoxon 1945, Biometrics Bulletin 1:80–83; Bonferroni's inequality.
    """
    values = np.array(changes, dtype=np.float64)
    if values.ndim != 2:
        raise ValueError("changes: one row a member, one column a step")
    given = np.arange(values.shape[1]) if spans is None else np.asarray(spans, dtype=np.int64)
    names = list(range(len(values)) if member is None else member)
    codes = {name: i for i, name in enumerate(dict.fromkeys(names))}
    table = _Table(values, np.broadcast_to(given, values.shape), np.array([codes[name] for name in names]))
    found: list[Shift] = []
    while True:
        every = {step: table.able(step) for step in range(values.shape[1])}
        fit = {step: rows for step, rows in every.items() if 2.0 ** (1 - np.unique(table.member[rows]).size) <= alpha}
        tested = [table.shift(step, rows, len(fit)) for step, rows in fit.items()]
        best = min(tested, key=lambda one: (one.p, one.step), default=None)
        if best is None or best.p > alpha:
            return found
        found.append(best)
        values[table.spans == table.spans[:, [best.step]]] = np.nan
