"""The crown of a crown green: a curved surface fitted to its levels, its height, its corners, its evenness."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.levels.levels import NORMAL_MAD, Floats

HUBER = 1.345
"""Huber's constant: 95 % efficiency on normal errors (Holland & Welsch 1977)."""
ON_THE_LINE_M = 0.05
"""A point no further from the line between two quarters is of neither, so that an even crown has even quarters, m."""


@dataclass(frozen=True)
class Quadratic:
    """A curved surface of second order.

    Attributes:
        x_m: middle of the points, m.
        y_m: the same, other way, m.
        scale_m: length the coordinates are divided by, m.
        terms_mm: c₀ … c₅ of `c₀ + c₁u + c₂v + c₃u² + c₄uv + c₅v²` with u = (x − x_m)/scale, v likewise, mm.

    Source: response surface of second order (NIST/SEMATECH e-Handbook, 5.3.3.6).
    """

    x_m: float
    y_m: float
    scale_m: float
    terms_mm: tuple[float, float, float, float, float, float]

    def at(self, x_m: Floats, y_m: Floats) -> Floats:
        """Heights of the surface at these places, mm."""
        design = _design((x_m - self.x_m) / self.scale_m, (y_m - self.y_m) / self.scale_m)
        return np.asarray(design @ np.array(self.terms_mm), dtype=np.float64)

    @property
    def top(self) -> tuple[float, float] | None:
        """Where the surface is highest, m; None where it has no top: a hollow, a saddle, a plane."""
        _, c1, c2, c3, c4, c5 = self.terms_mm
        curve = 4.0 * c3 * c5 - c4 * c4
        if not (c3 < 0 and c5 < 0 and curve > 1e-12 * (c3 * c3 + c5 * c5)):
            return None
        u, v = (c2 * c4 - 2.0 * c1 * c5) / curve, (c1 * c4 - 2.0 * c2 * c3) / curve
        return self.x_m + u * self.scale_m, self.y_m + v * self.scale_m


def _design(u: Floats, v: Floats) -> Floats:
    return np.column_stack((np.ones_like(u), u, v, u * u, u * v, v * v))


def fit_quadratic(x_m: Floats, y_m: Floats, z_mm: Floats, rounds: int = 50) -> Quadratic:
    """The curved surface closest to the points, with little say for those far off it.

    Huber's M-estimate by repeated weighting; the spread is the median absolute deviation. A surface that is exactly of
    second order is found exactly.

    Args:
        x_m: first coordinate of each point, m; six at least, not on a curve of second order.
        y_m: second coordinate, m.
        z_mm: height, mm.
        rounds: how often the weights are made anew at most; 0 for plain least squares.

    Source: Huber 1981, Robust Statistics, 7.8; constant of Holland & Welsch 1977.
    """
    middle_x, middle_y = float(x_m.mean()), float(y_m.mean())
    scale = max(float(np.ptp(x_m)), float(np.ptp(y_m)), 1e-9) / 2.0
    design = _design((x_m - middle_x) / scale, (y_m - middle_y) / scale)
    base = float(np.median(z_mm))
    heights = z_mm - base
    terms = np.linalg.lstsq(design, heights, rcond=None)[0]
    for _ in range(rounds):
        left = np.abs(heights - design @ terms)
        limit = HUBER * float(np.median(left)) / NORMAL_MAD
        if limit <= 1e-9:
            break
        weighted = design * np.minimum(1.0, limit / np.maximum(left, limit * 1e-12))[:, None]
        # coordinates lie within ±1: the normal equations keep all the digits heights have
        found = np.linalg.lstsq(weighted.T @ design, weighted.T @ heights, rcond=None)[0]
        still = float(np.abs(found - terms).max()) < 1e-5  # mm
        terms = found
        if still:
            break
    c0, c1, c2, c3, c4, c5 = (float(term) for term in terms)
    return Quadratic(middle_x, middle_y, scale, (c0 + base, c1, c2, c3, c4, c5))


@dataclass(frozen=True)
class Crown:
    """The figures of a crown green, read from the surface fitted to it.

    Attributes:
        height_mm: top of the crown over the mean of the four corners, mm; None where the surface has no top within the
            rectangle.
        across_m: where the top is, across, m.
        along_m: the same along, m.
        corners_mm: how far each corner lies below the top, mm: near left, near right, far left, far right.
        quarters_mm: mean height of the readings of each quarter over the mean of all four, mm, in the same order; None
            where a quarter has no reading.

    Source: height over corners as crown greens are described (natural turf contractors' pages; Britannica 1911);
    quarters: definition.
    """

    height_mm: float | None
    across_m: float | None
    along_m: float | None
    corners_mm: tuple[float, ...]
    quarters_mm: tuple[float, ...] | None


def crown_of(surface: Quadratic, across_m: Floats, along_m: Floats, z_mm: Floats) -> Crown:
    """The crown's height over its corners, where it is, and how far its quarters differ.

    Args:
        surface: surface fitted to the same points in the same coordinates.
        across_m: place of each point across, from the corner of the rectangle around them, m.
        along_m: place along, m.
        z_mm: height, mm.

    Source: height over corners as crown greens are described; quarters: definition.
    """
    width, length = float(across_m.max()), float(along_m.max())
    corners = surface.at(np.array([0.0, width, 0.0, width]), np.array([0.0, 0.0, length, length]))
    top = surface.top
    sides, ends = (
        (middle < -ON_THE_LINE_M, middle > ON_THE_LINE_M) for middle in (across_m - width / 2.0, along_m - length / 2.0)
    )
    parts = [z_mm[side & end] for end in ends for side in sides]
    means = np.array([part.mean() for part in parts]) if all(part.size for part in parts) else None
    quarters = None if means is None else tuple(float(mean) for mean in means - means.mean())
    if top is None or not (0.0 <= top[0] <= width and 0.0 <= top[1] <= length):
        return Crown(None, None, None, (), quarters)
    highest = float(surface.at(np.array([top[0]]), np.array([top[1]]))[0])
    below = highest - corners
    return Crown(float(below.mean()), top[0], top[1], tuple(float(one) for one in below), quarters)
