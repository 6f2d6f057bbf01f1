"""A level survey as a map: stepped bands of height, rinks and the places that stand out, to be drawn by others."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias, cast

import numpy as np
from numpy.typing import NDArray

from pipeline.agronomy.levels.level_grid import LevelGrid, resampled
from pipeline.agronomy.levels.levels import Floats
from pipeline.agronomy.maths import require_positive

Ring: TypeAlias = tuple[tuple[float, float], ...]
"""A closed line: (across, along) in m, the last point is the first."""
MAP_STEP_M = 0.5
"""Step of the grid that a map is drawn from, m: what is finer is not seen at the size of a page."""
MOST_BANDS = 9
"""Bands a map has at most: more cannot be told apart in grey. What lies beyond is in the outermost."""


@dataclass(frozen=True)
class Shape:
    """One area of a band: its outline and the holes in it.

    Source: definition.
    """

    outline: Ring
    holes: tuple[Ring, ...] = ()


@dataclass(frozen=True)
class Band:
    """Ground of one step of height.

    Attributes:
        low_mm: lower end over the surface aimed at, mm; minus infinity for the lowest.
        high_mm: upper end, mm; infinity for the highest.
        shapes: its areas.
        area_m2: ground in it, m².

    Source: definition.
    """

    low_mm: float
    high_mm: float
    shapes: tuple[Shape, ...]
    area_m2: float


@dataclass(frozen=True)
class Mark:
    """A place that stands out: what it is, where, and its height over the surface aimed at.

    Source: definition.
    """

    what: str
    across_m: float
    along_m: float
    height_mm: float


@dataclass(frozen=True)
class LevelMap:
    """Everything that is drawn of a survey, in the green's own axes, m from its corner.

    Attributes:
        width_m: extent across the rinks.
        length_m: extent along them.
        surface: what heights are counted from, in words.
        bands: from low to high.
        rinks_m: boundaries between rinks, across; empty on a crown green.
        marks: highest and lowest place, crown.
        step_m: how far apart the places are that the bands were drawn through.

    Source: filled contours by marching squares (contourpy).
    """

    width_m: float
    length_m: float
    surface: str
    bands: tuple[Band, ...]
    rinks_m: tuple[float, ...]
    marks: tuple[Mark, ...]
    step_m: float


def band_edges_mm(least_mm: float, most_mm: float, interval_mm: float) -> tuple[float, ...]:
    """Edges between bands: ± half an interval, ± one and a half, … as far as heights go, eight at most.

    The middle band lies about the surface aimed at, so that what is level has a tone of its own.

    Args:
        least_mm: lowest height, mm.
        most_mm: highest height, mm.
        interval_mm: width of a band, mm.

    Source: definition.
    """
    require_positive(interval_mm=interval_mm)
    reach = max(abs(least_mm), abs(most_mm)) / interval_mm
    steps = max(1, min(MOST_BANDS // 2, math.ceil(reach - 0.5 - 1e-9)))
    edges = [(step + 0.5) * interval_mm for step in range(steps)]
    return (*(-edge for edge in reversed(edges)), *edges)


def level_map(
    residuals: LevelGrid, interval_mm: float, surface: str, rinks: int = 0, marks: tuple[Mark, ...] = ()
) -> LevelMap:
    """The map of heights over the surface aimed at.

    Args:
        residuals: heights over the surface aimed at.
        interval_mm: width of a band, mm.
        surface: what heights are counted from, in words.
        rinks: rinks side by side; 0 for none.
        marks: places that stand out.

    Source: filled contours by marching squares (contourpy).
    """
    width, length = float(residuals.across_m[-1]), float(residuals.along_m[-1])
    drawn = residuals
    if min(residuals.step_m) < MAP_STEP_M / 1.5:
        steps = [size / max(2, round(size / MAP_STEP_M)) for size in (width, length)]
        drawn = resampled(residuals, *steps)
    known = drawn.height_mm[~np.isnan(drawn.height_mm)]
    edges = band_edges_mm(float(known.min()), float(known.max()), interval_mm) if known.size else ()
    ends = (-math.inf, *edges, math.inf)
    bands = tuple(_band(drawn, low, high) for low, high in pairwise(ends))
    lines = tuple(width * number / rinks for number in range(1, rinks)) if rinks > 1 else ()
    return LevelMap(width, length, surface, bands, lines, marks, max(drawn.step_m))


def _band(grid: LevelGrid, low: float, high: float) -> Band:
    from contourpy import FillType, contour_generator

    made = contour_generator(
        grid.across_m, grid.along_m, np.ma.masked_invalid(grid.height_mm), fill_type=FillType.OuterOffset
    )
    outlines, offsets = cast("tuple[list[Floats], list[NDArray[np.uint32]]]", made.filled(low, high))
    shapes, area = [], 0.0
    for points, starts in zip(outlines, offsets, strict=True):
        rings = [points[first:last] for first, last in pairwise(starts)]
        area += sum(_area(ring) for ring in rings)  # holes turn the other way
        closed = [tuple((round(float(x), 3), round(float(y), 3)) for x, y in ring) for ring in rings]
        shapes.append(Shape(closed[0], tuple(closed[1:])))
    return Band(low, high, tuple(shapes), abs(area))


def _area(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) / 2.0
