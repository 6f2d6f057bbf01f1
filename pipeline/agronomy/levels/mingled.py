"""Points of two standpoints that lie mingled: every other point, or row, of a survey read from another height."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.agronomy.levels.levels import NORMAL_MAD, Floats, Places

NEAREST = 12
"""Neighbours whose plane a point is held against: on a square grid the ring around it and the next four."""
LEAST_MINGLED_MM = 10.0
"""No smaller height between mingled points is told, mm: drains sunk under every other row look like it (common
practice, no source)."""
APART = 5.0
"""Spreads of a group that the two lie apart: one group cut in two by chance lies 2.7 to 3.5 apart, whether its errors
are normal or even (by simulation, tests/calibrate/steps.py)."""
ENOUGH = 50
"""Points from which that holds; of fewer, chance makes two groups that lie further apart."""
ROUNDS = 20
"""How often points are put to the nearer group anew, at most."""
COARSEST_MM = 25.4
"""No staff is read in wider steps than an inch, mm: heights that lie further apart throughout are not rounded so."""
TINY = 1e-9
"""What keeps a division by nothing away, as a share of the distance to the farthest neighbour."""
DIGITS = 3
"""Digits after the point, mm, to which heights are told apart: what is beyond them is rounding."""


@dataclass(frozen=True, eq=False)
class Groups:
    """The points of a survey as two groups of different height.

    Attributes:
        upper: which points are of the higher group.
        apart_mm: how far it lies above the other, mm.

    Source: definition.
    """

    upper: NDArray[np.bool_]
    apart_mm: float


def two_groups(places: Floats, z_mm: Floats, over_mm: Floats) -> Groups | None:
    """The points as two groups of different height over the ground around them; None where they are one.

    Each point is held against the plane through its twelve nearest. The points are put to two groups, the height
    between these is fitted by least squares, and each point is put to the group it is nearer to, until none changes.
    They are two where the height is more than 10 mm, than twice the step in which heights are written and than five
    times the spread (median absolute deviation) of what is left, more of fewer than fifty points: errors of one group,
    whatever their size, come to 3.5 at most. Whether the groups lie mingled is not asked here.

    Args:
        places: place of each point, by the same measure both ways.
        z_mm: height as it was written, mm; of fourteen points at least.
        over_mm: height over a smooth surface, mm.

    Source: two-group mixture of equal spread (Everitt & Hand 1981, Finite Mixture Distributions), fitted by
    classification (Celeux & Govaert 1992); limits: common practice, no source, held by simulation
    (tests/agronomy/test_agronomy_mingled.py).
    """
    near, weights = _planes(places)

    def above(heights: Floats) -> Floats:
        """Over the plane of the neighbours."""
        return np.asarray(heights - (weights * heights[near]).sum(axis=1), dtype=np.float64)

    seen = above(over_mm)
    upper = (seen > np.median(seen)).astype(np.float64)
    apart = 0.0
    for _ in range(ROUNDS):
        share = above(upper)
        apart = float(seen @ share) / max(float(share @ share), 1e-12)
        nearer = (seen - apart * (share - upper) > apart / 2.0).astype(np.float64)
        if np.array_equal(nearer, upper):
            break
        upper = nearer
    left = seen - apart * above(upper)
    spread = float(np.median(np.abs(left - np.median(left)))) / NORMAL_MAD
    spreads = APART * max(1.0, float(np.sqrt(ENOUGH / len(z_mm))))
    least = max(LEAST_MINGLED_MM, 2.0 * _written_in(z_mm), spreads * spread)
    return Groups(upper > 0.5, apart) if apart > least else None


def _written_in(z_mm: Floats) -> float:
    """The step in which heights are written, mm: 10 where they were read to the centimetre."""
    return float(np.diff(np.unique(np.round(z_mm, DIGITS))).min(initial=COARSEST_MM))


def _planes(places: Floats) -> tuple[Places, Floats]:
    """The nearest points of each, and the weight with which each makes the height of their plane at it."""
    from scipy.spatial import cKDTree

    near = np.asarray(cKDTree(places).query(places, k=NEAREST + 1)[1])[:, 1:]
    off = places[near] - places[:, None, :]
    off /= np.abs(off).max(axis=(1, 2), keepdims=True, initial=0.0) + TINY
    design = np.concatenate((np.ones((*near.shape, 1)), off), axis=2)
    turned = design.transpose(0, 2, 1)
    weights = np.linalg.solve(turned @ design + TINY * np.eye(3), turned)  # TINY: points on one line have many planes
    return near, np.ascontiguousarray(weights[:, 0, :])
