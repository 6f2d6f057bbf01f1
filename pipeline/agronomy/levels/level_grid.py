"""Levels on a regular grid of a green's own axes: read straight, or interpolated between scattered points."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.agronomy.levels.crown import fit_quadratic
from pipeline.agronomy.levels.levels import Floats, point_spacing_m

SAME_MM = 20.0
"""Places of a grid that differ by less count as one line of it, mm: a point set out by tape is no nearer."""
FINEST_M = 0.25
"""Finest grid made of scattered points, m."""
MOST_POINTS = 10_000
"""Points beyond which cells are averaged before interpolating."""
REACH = 3.0
"""Nothing is interpolated further than so many point spacings from the nearest point."""


@dataclass(frozen=True, eq=False)
class LevelGrid:
    """Heights on a regular grid, rows along the rinks; not-a-number where no point is near.

    Attributes:
        across_m: places of the columns, from the corner, evenly apart, m.
        along_m: places of the rows, evenly apart, m.
        height_mm: heights, one row for each place along, mm.
        as_surveyed: True where the points themselves lie on this grid.

    Source: definition.
    """

    across_m: Floats
    along_m: Floats
    height_mm: Floats
    as_surveyed: bool

    @property
    def step_m(self) -> tuple[float, float]:
        """Distance of two places across and along, m."""
        return _step(self.across_m), _step(self.along_m)

    @property
    def areas_m2(self) -> Floats:
        """Ground each place stands for, m²: half as much on an edge, a quarter in a corner."""
        across, along = self.step_m
        weights = [np.ones(len(axis)) for axis in (self.along_m, self.across_m)]
        for one in weights:
            one[[0, -1]] = 0.5
        return np.outer(*weights) * (across * along)

    def less(self, surface_mm: Floats) -> LevelGrid:
        """The same places with heights over a surface given at each of them."""
        return LevelGrid(self.across_m, self.along_m, self.height_mm - surface_mm, self.as_surveyed)

    def places(self) -> tuple[Floats, Floats]:
        """Across and along of every place, m, shaped as the heights."""
        across, along = np.meshgrid(self.across_m, self.along_m)
        return across, along


def _step(axis: Floats) -> float:
    return float(axis[-1] - axis[0]) / (len(axis) - 1)


def level_grid(across_m: Floats, along_m: Floats, z_mm: Floats) -> LevelGrid:
    """The points as a grid: themselves where they are one, else interpolated between them.

    Between scattered points, heights over a fitted surface of second order are straight over each triangle of
    Delaunay's, so that a crown is not cut by chords; nothing is said further than three point spacings from the nearest
    point. More than 10,000 points are first averaged by cell: that smooths the grid, so figures of single points are
    made from the points, never from it.

    Args:
        across_m: place of each point across, from the corner, m; four at least, not on one line.
        along_m: place along, m.
        z_mm: height, mm.

    Source: linear interpolation over a Delaunay triangulation (Barber, Dobkin & Huhdanpaa 1996, as scipy has it).
    """
    return _as_surveyed(across_m, along_m, z_mm) or _interpolated(across_m, along_m, z_mm)


def _lines(values: Floats) -> tuple[Floats, NDArray[np.intp]]:
    """Distinct places of an axis, and which of them each point is on."""
    order = np.argsort(values, kind="stable")
    group = np.concatenate(([0], np.cumsum(np.diff(values[order]) > SAME_MM / 1000.0)))
    places = np.bincount(group, values[order]) / np.bincount(group)
    index = np.empty(len(values), dtype=np.intp)
    index[order] = group
    return places, index


def _as_surveyed(across_m: Floats, along_m: Floats, z_mm: Floats) -> LevelGrid | None:
    (columns, column), (rows, row) = _lines(across_m), _lines(along_m)
    if len(columns) < 2 or len(rows) < 2 or len(columns) * len(rows) != len(z_mm):
        return None
    for axis in (columns, rows):
        if np.ptp(np.diff(axis)) > 2 * SAME_MM / 1000.0:
            return None
    height = np.full((len(rows), len(columns)), np.nan)
    height[row, column] = z_mm
    if np.isnan(height).any():
        return None
    even = [np.linspace(axis[0], axis[-1], len(axis)) for axis in (columns, rows)]
    return LevelGrid(even[0], even[1], height, as_surveyed=True)


def _interpolated(across_m: Floats, along_m: Floats, z_mm: Floats) -> LevelGrid:
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator
    from scipy.spatial import ConvexHull, cKDTree

    spacing = point_spacing_m(across_m, along_m)
    width, length = float(across_m.max()), float(along_m.max())
    curved = fit_quadratic(across_m, along_m, z_mm, rounds=0)
    z_mm = z_mm - curved.at(across_m, along_m)
    if len(z_mm) > MOST_POINTS:
        across_m, along_m, z_mm = cell_means(across_m, along_m, z_mm, math.sqrt(width * length / MOST_POINTS))
    step = max(FINEST_M, math.sqrt(width * length / len(z_mm)) / 2.0)
    columns, rows = (np.linspace(0.0, size, max(3, round(size / step) + 1)) for size in (width, length))
    places = np.column_stack((across_m, along_m))
    wanted = np.column_stack([one.ravel() for one in np.meshgrid(columns, rows)])
    hull = ConvexHull(places).equations
    inside = (wanted @ hull[:, :2].T + hull[:, 2] <= 1e-9).all(axis=1)  # a place outside is sought for long
    height = np.full(len(wanted), np.nan)
    height[inside] = LinearNDInterpolator(places, z_mm)(wanted[inside])
    distance, _ = cKDTree(places).query(wanted)
    reach = max(spacing, math.sqrt(width * length / len(z_mm)), step)
    edge = np.isnan(height) & (distance <= reach)  # a hair outside the outermost points
    height[edge] = NearestNDInterpolator(places, z_mm)(wanted[edge])
    height[distance > REACH * reach] = np.nan
    height += curved.at(wanted[:, 0], wanted[:, 1])
    return LevelGrid(columns, rows, height.reshape(len(rows), len(columns)), as_surveyed=False)


def cell_means(across_m: Floats, along_m: Floats, z_mm: Floats, cell_m: float) -> tuple[Floats, Floats, Floats]:
    """Mean place and mean height of the points in each square cell that has any.

    Args:
        across_m: place of each point across, m.
        along_m: place along, m.
        z_mm: height, mm.
        cell_m: side of a cell, m.

    Source: definition.
    """
    column = np.floor((across_m - across_m.min()) / cell_m).astype(np.int64)
    row = np.floor((along_m - along_m.min()) / cell_m).astype(np.int64)
    _, cell = np.unique(row * (int(column.max()) + 1) + column, return_inverse=True)
    count = np.bincount(cell)
    across, along, height = (np.bincount(cell, values) / count for values in (across_m, along_m, z_mm))
    return across, along, height


def resampled(grid: LevelGrid, across_step_m: float, along_step_m: float) -> LevelGrid:
    """The grid at other steps, straight between its places; what does not fit at the far ends is left off.

    Args:
        grid: the grid.
        across_step_m: wanted step across, m.
        along_step_m: wanted step along, m.

    Source: bilinear interpolation (scipy's RegularGridInterpolator).
    """
    from scipy.interpolate import RegularGridInterpolator

    axes = []
    for axis, step in ((grid.along_m, along_step_m), (grid.across_m, across_step_m)):
        axes.append(axis[0] + step * np.arange(math.floor((axis[-1] - axis[0]) / step + 1e-9) + 1))
    rows, columns = axes
    inside = np.minimum(rows, grid.along_m[-1]), np.minimum(columns, grid.across_m[-1])
    read = RegularGridInterpolator((grid.along_m, grid.across_m), grid.height_mm)
    height = read(tuple(np.meshgrid(*inside, indexing="ij")))
    return LevelGrid(columns, rows, np.asarray(height, dtype=np.float64), grid.as_surveyed)
