"""A level survey as points: best-fit plane, odd readings, and what of the green was covered."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Places: TypeAlias = NDArray[np.intp]
"""Which points, by their place in the order they were read."""

NORMAL_MAD = 0.6744897501960817
"""Median absolute deviation of a normal distribution of standard deviation 1 (its upper quartile)."""


@dataclass(frozen=True)
class Plane:
    """The plane that lies closest to the points of a survey.

    Attributes:
        x_m: middle of the points, in the survey's own coordinates, m.
        y_m: the same, other way, m.
        height_mm: height of the plane there, which is the mean of the points, mm.
        rise_x_mm_m: rise in the direction of x, mm/m.
        rise_y_mm_m: rise in the direction of y, mm/m.

    Source: linear least squares (NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1).
    """

    x_m: float
    y_m: float
    height_mm: float
    rise_x_mm_m: float
    rise_y_mm_m: float

    @property
    def slope_mm_m(self) -> float:
        """Steepest fall of the plane, mm/m."""
        return math.hypot(self.rise_x_mm_m, self.rise_y_mm_m)

    @property
    def falls_towards_deg(self) -> float:
        """Direction in which the plane falls, degrees clockwise from y, at least 0 and under 360.

        A hair anticlockwise of y is 0: what rounding leaves over has no direction, and 360 is none.
        """
        turned = math.degrees(math.atan2(-self.rise_x_mm_m, -self.rise_y_mm_m)) % 360.0
        return turned if turned < 360.0 else 0.0

    def at(self, x_m: Floats, y_m: Floats) -> Floats:
        """Heights of the plane at these places, mm."""
        return self.height_mm + self.rise_x_mm_m * (x_m - self.x_m) + self.rise_y_mm_m * (y_m - self.y_m)


def fit_plane(x_m: Floats, y_m: Floats, z_mm: Floats) -> Plane:
    """The plane of least squares through the points, which does not depend on where they are counted from.

    Coordinates are first counted from their own middle, so that eastings of hundreds of kilometres cost no digit.

    Args:
        x_m: first coordinate of each point, m.
        y_m: second coordinate, m.
        z_mm: height, mm.

    Raises:
        ValueError: with fewer than three points, or all on one line.

    Source: linear least squares (NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1).
    """
    middle_x, middle_y, mean = float(x_m.mean()), float(y_m.mean()), float(z_mm.mean())
    design = np.column_stack((x_m - middle_x, y_m - middle_y))
    (rise_x, rise_y), _, rank, _ = np.linalg.lstsq(design, z_mm - mean, rcond=1e-9)
    if len(z_mm) < 3 or rank < 2:
        raise ValueError("a plane needs three points that are not on one line")
    return Plane(middle_x, middle_y, mean, float(rise_x), float(rise_y))


def point_spacing_m(x_m: Floats, y_m: Floats) -> float:
    """How far apart neighbouring points are, m: median distance to the nearest other one.

    Args:
        x_m: first coordinate of each point, m; two at least.
        y_m: second coordinate, m.

    Source: definition (Clark & Evans 1954 use the mean of the same distances).
    """
    from scipy.spatial import cKDTree

    places = np.column_stack((x_m - x_m.mean(), y_m - y_m.mean()))
    distances = np.asarray(cKDTree(places).query(places, k=2)[0])
    return float(np.median(distances[:, 1]))


@dataclass(frozen=True)
class Coverage:
    """How much of the rectangle around a survey its points cover.

    Attributes:
        share_pct: share of the rectangle that has a point near, %.
        across_m: the place farthest from any point, across, from the rectangle's corner, m.
        along_m: the same along, m.
        corners_without: corners that have no point near, in words.

    Source: definition.
    """

    share_pct: float
    across_m: float
    along_m: float
    corners_without: tuple[str, ...]


def coverage(across_m: Floats, along_m: Floats, near_m: float) -> Coverage:
    """How much of the rectangle around the points is covered, and where the largest gap is.

    Args:
        across_m: place of each point across, from the rectangle's corner, m.
        along_m: place along, m.
        near_m: a place is covered when a point is no further than this, m.

    Source: definition; places looked at lie on a lattice of 41 × 41.
    """
    from scipy.spatial import cKDTree

    width, length = float(across_m.max()), float(along_m.max())
    u, v = (part.ravel() for part in np.meshgrid(np.linspace(0, width, 41), np.linspace(0, length, 41)))
    tree = cKDTree(np.column_stack((across_m, along_m)))
    distance = np.asarray(tree.query(np.column_stack((u, v)))[0])
    worst = int(distance.argmax())
    corners = {
        "near left": (0.0, 0.0),
        "near right": (width, 0.0),
        "far left": (0.0, length),
        "far right": (width, length),
    }
    without = tuple(name for name, place in corners.items() if tree.query(place)[0] > near_m)
    share = 100.0 * float((distance <= near_m).mean())
    return Coverage(share, float(u[worst]), float(v[worst]), without)
