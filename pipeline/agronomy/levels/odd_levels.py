"""Readings of a level survey that cannot be the ground."""

from __future__ import annotations

import numpy as np

from pipeline.agronomy.levels.crown import fit_quadratic
from pipeline.agronomy.levels.levels import NORMAL_MAD, Floats

NEIGHBOURS = 8
"""Neighbours a reading is held against: the ring around a point of a square grid."""
ODD_SPREADS = 6.0
"""Robust standard deviations from which a reading is odd: common practice, no source (Iglewicz & Hoaglin 1993 flag
3.5 for further look; 6 keeps real hollows out)."""
ODD_LEAST_MM = 10.0
"""No reading nearer to its neighbours than this is odd: a staff is misread by whole centimetres or decimetres (common
practice, no source)."""


def odd_readings(x_m: Floats, y_m: Floats, z_mm: Floats) -> Floats:
    """How far each reading lies from its neighbours, mm, where that is too far to be the ground; zero elsewhere.

    A curved surface is first taken off robustly, so that neither tilt nor crown counts. Each point is then held against
    the median of its eight nearest; odd is what is more than six robust standard deviations of those differences
    (1.4826 × their median absolute deviation) and at least 10 mm away.

    Args:
        x_m: first coordinate of each point, m; nine at least.
        y_m: second coordinate, m.
        z_mm: height, mm.

    Source: median and MAD as robust centre and spread (Hampel 1974; Iglewicz & Hoaglin 1993); limits: common
    practice, no source.
    """
    from scipy.spatial import cKDTree

    left = z_mm - fit_quadratic(x_m, y_m, z_mm).at(x_m, y_m)
    places = np.column_stack((x_m - x_m.mean(), y_m - y_m.mean()))
    near = np.asarray(cKDTree(places).query(places, k=min(NEIGHBOURS + 1, len(z_mm)))[1])
    off = left - np.median(left[near[:, 1:]], axis=1)
    spread = float(np.median(np.abs(off - np.median(off)))) / NORMAL_MAD
    return np.where(np.abs(off) > max(ODD_LEAST_MM, ODD_SPREADS * spread), off, 0.0)
