"""A step between points read one after another: two standpoints of an instrument, or two benchmarks, in one survey."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from pipeline.agronomy.levels.levels import NORMAL_MAD, Floats, Places
from pipeline.agronomy.levels.mingled import two_groups

STEP_LEAST_MM = 10.0
"""No smaller step is told, mm: ground has steps of 8 mm of its own, and of those made in simulation a third at most was
found (common practice, no source)."""
SPREADS = 5.0
"""Standard errors of a step from which it is one (by simulation; common practice, no source)."""
LEAST_BLOCK = 8
"""Fewest points in a row that are looked at as a block: fewer are odd readings (common practice, no source)."""
MOST_CUTS = 120
"""Places in the order of points where a block may begin or end, at most; those found are then moved point by point."""
DEGREE = 4
"""Degree of the smooth surface that lies under the blocks when they are looked for."""
LOOKED_AT = 6
"""Blocks that are looked at closely, the likeliest first."""
SIDE = 8
"""Points of each block whose plane gives the height on its side of the border."""
REACH = 1.8
"""A point lies at the border where one of the other block is within so many point spacings: a diagonal is 1.42."""
FOUR = 4
"""The neighbour whose distance is the point spacing: on a square grid the four nearest lie equally far."""
NO_GROUND_MM = 60.0
"""No ground has a rim of this height along a border, mm: a block too narrow to show how it goes on is then a step."""
GOES_ON = 0.5
"""Share of a step that must be left where the points at the border are left out on either side."""
LEAST_PLACES = 5
"""Fewest places along a border that a step is told from."""
LONG_BORDER = 20
"""Places of a border along which the least step is told; along a shorter one it must be larger."""
SHARED = 2.0
"""Neighbouring places on a border rest on much the same points: so many count as one."""
ALONG = 0.85
"""Share of a border along which the step shows."""
MINGLED = 0.8
"""Share of both blocks' points at the border from which they lie mingled, and no shape of the ground makes a step."""
WELL_SPREAD = 1000.0
"""Condition of a plane's equations, in point spacings, above which its points lie too near to one line."""

LEAST_POINTS = 16
"""Fewest points that a step is looked for in: two planes of eight."""

Gain: TypeAlias = Callable[[Places, Places], Floats]


@dataclass(frozen=True, eq=False)
class Step:
    """Points of a survey that all lie higher or lower than the ground around them goes on.

    Attributes:
        block: which points lie off, the fewer of the two parts.
        step_mm: how far they lie above (or, negative, below) where the other points' ground goes on.

    Source: definition.
    """

    block: NDArray[np.bool_]
    step_mm: float


def step_between(across_m: Floats, along_m: Floats, z_mm: Floats) -> Step | None:
    """The clearest step between points of two heights; None where there is none.

    Two groups that lie mingled all over the survey, every other point or row, are looked for first: no ground is so.
    Blocks that lie together in the order of points, or in the rows or columns of their grid, are looked for over a
    smooth surface of the fourth degree. For the likeliest the heights that both sides give for places on the border are
    compared: each side's from the plane of its eight nearest points. It is a step where the middle of the differences
    is more than 10 mm (more along a short border) and five standard errors, and where half of it is left without the
    points at the border on either side: a single sunk row is no step.

    By simulation (docs/calibration.md) ground without a step is asked about once in a hundred surveys, ground with a
    drain sunk right across it once in ten to twenty; of steps of 12 mm over half are found, of 20 mm nine in ten, and
    of 8 mm none: those are not told from the ground.

    Args:
        across_m: place of each point across the green, m, in the order they were read.
        along_m: place along it, m.
        z_mm: height, mm.

    Source: change point by least squares (Hawkins 1977) over a polynomial surface; the height of a border from both
    sides as in regression discontinuity (Hahn, Todd & Van der Klaauw 2001); limits: common practice, no source, held
    by simulation (tests/agronomy/test_agronomy_steps.py).
    """
    n = len(z_mm)
    if n < LEAST_POINTS:
        return None
    places = _scaled(across_m, along_m)
    spacing = _spacing(places)
    if mingled := _mingled(places, z_mm, spacing):
        return mingled
    rows, columns = (_lines(places[:, i], spacing) for i in (1, 0))
    orders = [np.arange(n), np.lexsort((places[:, 0], rows)), np.lexsort((places[:, 1], columns))]
    found = []
    for order in orders:
        for first, stop in _likeliest(places[order], z_mm[order]):
            block = np.zeros(n, dtype=np.bool_)
            block[order[first:stop]] = True
            size = _border_mm(places, z_mm, block, spacing)
            if size:
                found.append(Step(block, size) if 2 * (stop - first) <= n else Step(~block, -size))
    return max(found, key=lambda one: abs(one.step_mm), default=None)


def step_at(x_m: Floats, y_m: Floats, z_mm: Floats, block: NDArray[np.bool_]) -> float:
    """How far a block of points lies above the others' ground, mm; zero where that is no step.

    Args:
        x_m: first coordinate of each point, m.
        y_m: second coordinate, m.
        z_mm: height, mm.
        block: which points are of the block.

    Source: as of `step_between`.
    """
    places = _scaled(x_m, y_m)
    return _border_mm(places, z_mm, block, _spacing(places)) if len(z_mm) >= LEAST_POINTS else 0.0


def _scaled(x_m: Floats, y_m: Floats) -> Floats:
    """Places within ±1, both ways by the same measure."""
    middle = np.column_stack((x_m - x_m.mean(), y_m - y_m.mean()))
    return np.asarray(middle / max(float(np.abs(middle).max()), 1e-9), dtype=np.float64)


def _spacing(places: Floats) -> float:
    """Distance to the fourth nearest point, the middle of all."""
    from scipy.spatial import cKDTree

    return float(np.median(np.asarray(cKDTree(places).query(places, k=FOUR + 1)[0])[:, FOUR])) or 1e-9


def _lines(places: Floats, spacing: float) -> Places:
    """Which row, or column, of a grid each place is in; one for all where there is no gap between them."""
    order = np.argsort(places, kind="stable")
    lines = np.empty(len(places), dtype=np.intp)
    lines[order] = np.concatenate(([0], np.cumsum(np.diff(places[order]) > spacing / 3.0)))
    return lines


def _over_smooth(places: Floats, z_mm: Floats) -> tuple[Floats, Floats]:
    """Heights over a smooth surface, and an orthonormal base of that surface."""
    degree = DEGREE if len(z_mm) >= 60 else 2
    powers = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
    base = np.linalg.qr(np.column_stack([places[:, 0] ** i * places[:, 1] ** j for i, j in powers]))[0]
    left = z_mm - float(np.median(z_mm))
    return left - base @ (base.T @ left), base


def _mingled(places: Floats, z_mm: Floats, spacing: float) -> Step | None:
    """The step between two groups of points that lie mingled all over the survey; None where there are none."""
    found = two_groups(places, z_mm, _over_smooth(places, z_mm)[0])
    if found is None or min(np.bincount(found.upper, minlength=2)) < LEAST_BLOCK:
        return None
    rim, back, _ = _at_border(places, found.upper, spacing)
    if min(rim.mean(), back.mean()) <= MINGLED:
        return None
    few = 2 * np.count_nonzero(found.upper) <= len(z_mm)
    return Step(found.upper, found.apart_mm) if few else Step(~found.upper, -found.apart_mm)


def _likeliest(places: Floats, z_mm: Floats) -> Iterator[tuple[int, int]]:
    """Blocks that take most from what a smooth surface leaves, as first and stop; none that is within another's border.

    With Q an orthonormal base of the surface, the best step of a block is r·u / (u·u − |Qᵀu|²), u one in the block and
    zero elsewhere; running sums of r and of Q give it for every block at once.
    """
    n = len(z_mm)
    left, base = _over_smooth(places, z_mm)
    sums = np.concatenate(([0.0], np.cumsum(left)))
    parts = np.vstack((np.zeros(base.shape[1]), np.cumsum(base, axis=0)))
    cuts = np.unique(np.linspace(0, n, min(n, MOST_CUTS) + 1).round().astype(np.intp))

    def gain(first: Places, stop: Places) -> Floats:
        size = (stop - first).astype(np.float64)
        free = size - ((parts[stop] - parts[first]) ** 2).sum(axis=1)
        told = (sums[stop] - sums[first]) ** 2 / np.maximum(free, 1e-9)
        fits = (size >= LEAST_BLOCK) & (n - size >= LEAST_BLOCK) & (free > 0.02 * size)
        return np.where(fits, told, -1.0)

    firsts, stops = (one[np.triu_indices(len(cuts), 1)] for one in np.meshgrid(cuts, cuts, indexing="ij"))
    gains = gain(firsts, stops)
    near = max(n // 20, LEAST_BLOCK)
    for _ in range(LOOKED_AT):
        at = int(gains.argmax())
        if gains[at] <= 0.0:
            return
        first, stop = _moved(gain, int(firsts[at]), int(stops[at]), n // MOST_CUTS, n)
        yield first, stop
        alike = (np.abs(firsts - first) < near) & (np.abs(stops - stop) < near)
        gains = np.where(alike, -1.0, gains)
        gains[at] = -1.0


def _moved(gain: Gain, first: int, stop: int, by: int, n: int) -> tuple[int, int]:
    """The block with its ends moved to where it takes most, where cuts were set wider than a point."""
    if by < 1:
        return first, stop
    ends = [np.arange(max(one - by, 0), min(one + by, n) + 1) for one in (first, stop)]
    firsts, stops = (one.ravel() for one in np.meshgrid(*ends, indexing="ij"))
    best = int(gain(firsts, stops).argmax())
    return int(firsts[best]), int(stops[best])


def _border_mm(places: Floats, z_mm: Floats, block: NDArray[np.bool_], spacing: float) -> float:
    """How far a block lies above the ground of the others, told at their border; zero where it is no step."""
    inside, outside = np.flatnonzero(block), np.flatnonzero(~block)
    if min(len(inside), len(outside)) < LEAST_BLOCK:
        return 0.0
    rim, back, other = _at_border(places, block, spacing)
    if np.count_nonzero(rim) < LEAST_PLACES:
        return 0.0
    at = np.flatnonzero(rim)
    middles = (places[inside[at]] + places[outside[other[at]]]) / 2.0
    left = (z_mm - _smooth(places, z_mm, block), places / spacing, middles / spacing)
    size = _told(_apart(left, inside, outside))
    mingled = min(rim.mean(), back.mean()) > MINGLED
    if not size or mingled:
        return size
    for ours, theirs in ((inside[~rim], outside), (inside, outside[~back])):
        steps = _apart(left, ours, theirs)
        seen = float(np.isfinite(steps).mean()) >= ALONG
        if (seen and float(np.nanmedian(steps)) / size < GOES_ON) or (not seen and abs(size) <= NO_GROUND_MM):
            return 0.0
    return size


def _at_border(
    places: Floats, block: NDArray[np.bool_], spacing: float
) -> tuple[NDArray[np.bool_], NDArray[np.bool_], Places]:
    """Which points of a block, and which of the others, have one of the other part near.

    Last, of the others the nearest to each of the block.
    """
    from scipy.spatial import cKDTree

    inside, outside = places[block], places[~block]
    far, other = (np.asarray(one) for one in cKDTree(outside).query(inside))
    back = np.asarray(cKDTree(inside).query(outside)[0])
    return far <= REACH * spacing, back <= REACH * spacing, other


def _apart(ground: tuple[Floats, Floats, Floats], ours: Places, theirs: Places) -> Floats:
    """How far the ground of one block lies above that of the other at places on the border, mm."""
    z_mm, places, middles = ground
    if min(len(ours), len(theirs)) < SIDE:
        return np.full(len(middles), np.nan)
    return _plane_at(places[ours], z_mm[ours], middles) - _plane_at(places[theirs], z_mm[theirs], middles)


def _smooth(places: Floats, z_mm: Floats, block: NDArray[np.bool_]) -> Floats:
    """The curve of the ground as a surface of second order with a step, the step left out."""
    u, v = places.T
    design = np.column_stack((np.ones_like(u), u, v, u * u, u * v, v * v, block.astype(np.float64)))
    terms = np.linalg.lstsq(design, z_mm, rcond=None)[0]
    return np.asarray(design[:, 3:6] @ terms[3:6], dtype=np.float64)


def _told(steps: Floats) -> float:
    """The middle of the steps along a border; zero where it is within its error, or too small."""
    steps = steps[np.isfinite(steps)]
    if len(steps) < LEAST_PLACES:
        return 0.0
    middle = float(np.median(steps))
    spread = float(np.median(np.abs(steps - middle))) / NORMAL_MAD
    error = 1.2533 * spread / np.sqrt(len(steps) / SHARED)  # of a median: √(π/2) that of a mean
    most = float(np.mean(steps * np.sign(middle) > STEP_LEAST_MM / 2.0))
    least = STEP_LEAST_MM * max(1.0, np.sqrt(LONG_BORDER / len(steps)))
    return middle if abs(middle) > max(least, SPREADS * error) and most >= ALONG else 0.0


def _plane_at(places: Floats, z_mm: Floats, wanted: Floats) -> Floats:
    """Heights of the plane through the points nearest to each place wanted, mm; nan where they lie on one line."""
    from scipy.spatial import cKDTree

    near = np.asarray(cKDTree(places).query(wanted, k=SIDE)[1])
    off = places[near] - wanted[:, None, :]
    design = np.concatenate((np.ones((*near.shape, 1)), off), axis=2)
    normal = np.einsum("pki,pkj->pij", design, design)
    right = np.einsum("pki,pk->pi", design, z_mm[near])
    sure = np.linalg.cond(normal) < WELL_SPREAD
    heights = np.full(len(wanted), np.nan)
    heights[sure] = np.linalg.solve(normal[sure], right[sure][..., None])[:, 0, 0]
    return heights
