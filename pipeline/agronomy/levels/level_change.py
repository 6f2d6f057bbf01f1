"""Two surveys of one green: what has moved, at the points they share."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.agronomy.levels.levels import Floats
from pipeline.agronomy.maths import require_positive

SAME_PLACE_M = 0.25
"""Points of two surveys no further apart count as the same place: common practice, no source."""
NORMAL_95 = 1.959963984540054
"""Two-sided 95 % point of the normal distribution."""


@dataclass(frozen=True, eq=False)
class LevelChange:
    """What has moved between two surveys, at the points they share.

    Attributes:
        later: places of those points in the later survey.
        earlier: the same points in the earlier survey.
        change_mm: later less earlier, mm; less its own mean where the benchmarks differ.
        mean_mm: mean change, mm; None where the benchmarks differ.
        likeness: Spearman's rank correlation of the heights of both, which one deep hollow does not upset; None where
            one of them is even.

    Source: definition; rank correlation of Spearman 1904.
    """

    later: NDArray[np.intp]
    earlier: NDArray[np.intp]
    change_mm: Floats
    mean_mm: float | None
    likeness: float | None

    @property
    def n(self) -> int:
        """Points both surveys share."""
        return len(self.change_mm)


def detectable_mm(error_mm: float, earlier_error_mm: float) -> float:
    """The least change of one point that is more than the error of both surveys, at 95 %, mm.

    Formula: `1.96 · √(e₁² + e₂²)`.

    Args:
        error_mm: standard error of one height of the later survey, mm.
        earlier_error_mm: the same of the earlier one, mm.

    Source: propagation of independent errors (JCGM 100:2008, Guide to the Expression of Uncertainty, 5.1.2 and G).
    """
    require_positive(error_mm=error_mm, earlier_error_mm=earlier_error_mm)
    return NORMAL_95 * math.hypot(error_mm, earlier_error_mm)


def level_change(
    later: tuple[Floats, Floats, Floats],
    earlier: tuple[Floats, Floats, Floats],
    same_benchmark: bool,
) -> LevelChange | None:
    """What has moved between two surveys; None where fewer than three points are shared.

    Each point is held against the nearest of the other survey, and counts where each is the other's nearest.

    Args:
        later: x in m, y in m and height in mm of the later survey.
        earlier: the same of the earlier one, in the same coordinates.
        same_benchmark: whether heights of both are counted from one point. If not, the mean change is unknown and
            taken off.

    Source: definition.
    """
    from scipy.spatial import cKDTree
    from scipy.stats import spearmanr

    middle = float(later[0].mean()), float(later[1].mean())
    new, old = (np.column_stack((x - middle[0], y - middle[1])) for x, y, _ in (later, earlier))
    distance, nearest = (np.asarray(one) for one in cKDTree(old).query(new, distance_upper_bound=SAME_PLACE_M + 1e-9))
    here = np.flatnonzero(np.isfinite(distance))
    back = np.asarray(cKDTree(new).query(old[nearest[here]])[1])
    here = here[back == here]
    if len(here) < 3:
        return None
    there = nearest[here]
    z, before = later[2][here], earlier[2][there]
    change = z - before
    mean = float(change.mean())
    even = float(np.ptp(z)) == 0.0 or float(np.ptp(before)) == 0.0
    likeness = None if even else float(spearmanr(z, before).statistic)
    return LevelChange(
        here, there, change if same_benchmark else change - mean, mean if same_benchmark else None, likeness
    )
