"""A flat green rink by rink: how each lies, falls and plays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.levels.level_grid import LevelGrid, resampled
from pipeline.agronomy.levels.levels import Floats, fit_plane
from pipeline.agronomy.levels.straightedge import BowlPath, bowl_path


@dataclass(frozen=True)
class RinkLevels:
    """One rink.

    Attributes:
        number: counted from the side where "across" is zero.
        n: points on it.
        mean_mm: its mean height over that of the green, mm.
        within_pct: share of its points within the tolerance of the green's mean, %.
        fall_mm: rise of its best-fit plane from one end to the other, mm; negative where it falls.
        crossfall_mm: rise of that plane from its near boundary to the far one, mm.
        path: what a bowl meets on its middle line; None where that line is not covered.

    Source: definition; plane of least squares.
    """

    number: int
    n: int
    mean_mm: float | None
    within_pct: float | None
    fall_mm: float | None
    crossfall_mm: float | None
    path: BowlPath | None


def rink_levels(
    across_m: Floats, along_m: Floats, z_mm: Floats, grid: LevelGrid, count: int, tolerance_mm: float
) -> tuple[RinkLevels, ...]:
    """Every rink, as equal strips across the green.

    Args:
        across_m: place of each point across, from the corner, m.
        along_m: place along, m.
        z_mm: height, mm.
        grid: the same points as a grid.
        count: rinks side by side.
        tolerance_mm: how far from the green's mean still counts as level, mm.

    Source: definition; plane of least squares.
    """
    width, length, mean = float(across_m.max()), float(along_m.max()), float(z_mm.mean())
    wide = width / count
    strip = np.minimum((across_m / wide + 1e-9).astype(np.intp), count - 1)
    step = grid.step_m[1]
    lines = resampled(grid, wide / 2.0, step).height_mm
    found = []
    for number in range(count):
        here = strip == number
        off = z_mm[here] - mean
        middle = 2 * number + 1
        path = bowl_path(lines[:, middle], step) if middle < lines.shape[1] else None
        fall, cross = _falls(across_m[here], along_m[here], z_mm[here], length, wide)
        found.append(
            RinkLevels(
                number + 1,
                int(here.sum()),
                float(off.mean()) if off.size else None,
                100.0 * float((np.abs(off) <= tolerance_mm + 1e-9).mean()) if off.size else None,
                fall,
                cross,
                path,
            )
        )
    return tuple(found)


def _falls(
    across_m: Floats, along_m: Floats, z_mm: Floats, length_m: float, wide_m: float
) -> tuple[float | None, float | None]:
    try:
        plane = fit_plane(across_m, along_m, z_mm)
    except ValueError:
        return None, None
    return plane.rise_y_mm_m * length_m, plane.rise_x_mm_m * wide_m
