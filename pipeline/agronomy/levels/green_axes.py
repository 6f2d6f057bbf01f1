"""A green's own axes: across and along its rinks, found from the points of a survey."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.levels.levels import Floats
from pipeline.agronomy.maths import require_positive

RINK_LEAST_M = 4.3
RINK_MOST_M = 5.8
"""Width of an outdoor rink (Laws of the Sport of Bowls, as quoted by DLGSC, Western Australia, sports dimensions)."""
SIDE_MARGIN_M = 0.6
"""Least distance of a boundary peg from the side ditch (same)."""
USUAL_RINKS = 6
"""Rinks a green normally has (same)."""
STRAIGHT_SHARE = 0.7
"""Share of the outline that runs along or square to a direction from which the points have straight sides there."""
ALONG_DEG = 0.5
"""What counts as the same direction, degrees: millimetres of rounding turn an edge of two metres by less."""
AS_SURVEYED = 1.03
"""Of points without straight sides the survey's own axes are kept while the rectangle along them is no more than this
much larger than the smallest."""
ALIKE = 0.05
"""Sides that differ by less than this share do not tell which way the rinks run."""


@dataclass(frozen=True)
class Axes:
    """The rectangle around a survey, across and along the rinks.

    Attributes:
        x_m: corner from which both are counted, in the survey's coordinates, m.
        y_m: the same, other way, m.
        turn_deg: how far "along" lies from the survey's y, degrees clockwise.
        width_m: extent across, m.
        length_m: extent along, m.
        told: True where the register's length and width say which way the rinks run; else they are taken to run in
            the direction nearest to the survey's y.

    Source: smallest rectangle around the points (Freeman & Shapira 1975: one side lies on the convex hull).
    """

    x_m: float
    y_m: float
    turn_deg: float
    width_m: float
    length_m: float
    told: bool

    def of(self, x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
        """Places across and along, m, of places in the survey's coordinates."""
        return _turned(x_m - self.x_m, y_m - self.y_m, self.turn_deg)


def _turned(x: Floats, y: Floats, turn_deg: float) -> tuple[Floats, Floats]:
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return x * cos - y * sin, x * sin + y * cos


def green_axes(x_m: Floats, y_m: Floats, length_m: float | None = None, width_m: float | None = None) -> Axes:
    """The green's axes: the smallest rectangle around the points, turned so that one side runs along the rinks.

    Args:
        x_m: first coordinate of each point, m; three at least, not on one line.
        y_m: second coordinate, m.
        length_m: length in the direction of play, m; None where not known.
        width_m: width across the rinks, m; None where not known.

    Raises:
        ValueError: when the points span no area.

    Source: Freeman & Shapira 1975, Communications of the ACM 18:409 (one side of the smallest rectangle lies on the
    convex hull).
    """
    from scipy.spatial import ConvexHull, QhullError

    middle = float(x_m.mean()), float(y_m.mean())
    places = np.column_stack((x_m - middle[0], y_m - middle[1]))
    try:
        hull = places[ConvexHull(places).vertices]
    except QhullError:
        raise ValueError("the points span no area") from None
    turn = _smallest_turn(hull)
    told = False
    if length_m and width_m and abs(length_m - width_m) > ALIKE * max(length_m, width_m):
        across, along = (float(np.ptp(one)) for one in _turned(hull[:, 0], hull[:, 1], turn))
        told = abs(across - along) > ALIKE * max(across, along)
        if told and (along > across) != (length_m > width_m):
            turn += -90.0 if turn > 0 else 90.0
    u, v = _turned(hull[:, 0], hull[:, 1], turn)
    back_x, back_y = _turned(np.array([u.min()]), np.array([v.min()]), -turn)
    corner = middle[0] + float(back_x[0]), middle[1] + float(back_y[0])
    return Axes(*corner, turn, float(np.ptp(u)), float(np.ptp(v)), told)


def _smallest_turn(hull: Floats) -> float:
    """Turn in (−45°, 45°] of the straight sides, else of the smallest rectangle where the own axes do worse."""
    edges = np.diff(np.vstack((hull, hull[:1])), axis=0)
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    turns = _quarter(np.degrees(np.arctan2(edges[:, 0], edges[:, 1])))
    best = float(turns[int(np.argmin([_area(hull, turn) for turn in turns]))])
    beside = _quarter(turns - best)
    same = np.abs(beside) <= ALONG_DEG
    if lengths[same].sum() >= STRAIGHT_SHARE * lengths.sum():
        turn = best + float(np.average(beside[same], weights=lengths[same]))
        return 0.0 if abs(turn) < 1e-9 else turn
    return 0.0 if _area(hull, 0.0) <= AS_SURVEYED * _area(hull, best) else best


def _quarter(angles: Floats) -> Floats:
    """Angles less whole quarter turns, in (−45°, 45°]."""
    return np.asarray(45.0 - (45.0 - angles) % 90.0, dtype=np.float64)


def _area(hull: Floats, turn: float) -> float:
    across, along = _turned(hull[:, 0], hull[:, 1], turn)
    return float(np.ptp(across) * np.ptp(along))


def rinks_across(width_m: float) -> int:
    """How many rinks lie side by side: six where they fit, else the fewest that are not too wide.

    Args:
        width_m: width of the green, m.

    Source: Laws of the Sport of Bowls, as quoted by DLGSC (rinks of 4.3 to 5.8 m, 0.6 m to the side ditch, six usual).
    """
    require_positive(width_m=width_m)
    room = max(width_m - 2 * SIDE_MARGIN_M, RINK_LEAST_M)
    if RINK_LEAST_M <= room / USUAL_RINKS <= RINK_MOST_M:
        return USUAL_RINKS
    return max(1, math.ceil(room / RINK_MOST_M - 1e-9))
