"""Lows of a green and what it takes to fill them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.dressing import mass_of_volume_kg
from pipeline.agronomy.levels.level_grid import LevelGrid
from pipeline.agronomy.maths import require_not_negative, require_positive

LIFT_MM = 3.0
"""Thickness of one dressing that grass grows through: common practice, no source."""
MOST_LIFTS = 10
"""Lifts after which a low is no longer dressed up but levelled under lifted turf: common practice, no source."""
MOST_MEAN_MM = 10.0
"""Filling, as a depth over the whole green, above which nobody dresses it in: it is relaid, or the survey is wrong
(common practice, no source; heavy dressing of a year is 4 mm)."""


@dataclass(frozen=True)
class Low:
    """One connected area that lies too low.

    Attributes:
        across_m: its deepest place across, m.
        along_m: the same along, m.
        deepest_mm: how far that place lies below the surface aimed at, mm.
        area_m2: ground that lies below it by more than the tolerance, m².
        volume_m3: what fills that ground up to the surface aimed at, m³.
        mass_t: the same as dry dressing, t.
        lifts: dressings of ``LIFT_MM`` that the deepest place takes.

    Source: definition.
    """

    across_m: float
    along_m: float
    deepest_mm: float
    area_m2: float
    volume_m3: float
    mass_t: float
    lifts: int

    @property
    def dressed(self) -> bool:
        """Whether a green can take what fills it, in lifts."""
        return self.lifts <= MOST_LIFTS


def lows(residuals: LevelGrid, tolerance_mm: float, bulk_density_t_m3: float) -> tuple[Low, ...]:
    """Connected areas that lie below the surface aimed at by more than the tolerance, the largest filling first.

    Places count as connected where they touch by a side. A low is filled up to the surface aimed at itself; the slope
    at its rim, which lies within the tolerance, is left as it is.

    Args:
        residuals: heights over the surface aimed at (the mean of a flat green, the fitted crown of a crown green).
        tolerance_mm: how far below still counts as level, mm.
        bulk_density_t_m3: dry bulk density of the dressing as it lies, t/m³.

    Source: definition (mass = volume × bulk density); areas by connected components, side neighbours (scipy.ndimage).
    """
    from scipy import ndimage

    require_not_negative(tolerance_mm=tolerance_mm)
    require_positive(bulk_density_t_m3=bulk_density_t_m3)
    depth = np.where(np.isnan(residuals.height_mm), 0.0, -residuals.height_mm)
    below = depth > tolerance_mm + 1e-9
    labels, count = ndimage.label(below)
    if not count:
        return ()
    numbers = np.arange(1, count + 1)
    areas = ndimage.sum_labels(residuals.areas_m2, labels, numbers)
    volumes = ndimage.sum_labels(residuals.areas_m2 * depth / 1000.0, labels, numbers)
    deepest = ndimage.maximum_position(depth, labels, numbers)
    found = []
    for area, volume, (row, column) in zip(areas, volumes, deepest, strict=True):
        low = float(depth[row, column])
        mass = mass_of_volume_kg(float(volume), bulk_density_t_m3) / 1000.0
        place = float(residuals.across_m[column]), float(residuals.along_m[row])
        found.append(Low(*place, low, float(area), float(volume), mass, math.ceil(low / LIFT_MM - 1e-9)))
    return tuple(sorted(found, key=lambda one: (-one.volume_m3, one.along_m, one.across_m)))


def cut_and_fill_m3(residuals: LevelGrid) -> tuple[float, float]:
    """Volume above and volume below the surface aimed at, m³: what is to come off, and what to be put on.

    Args:
        residuals: heights over the surface aimed at.

    Source: definition (trapezoidal rule over the grid).
    """
    parts = residuals.areas_m2 * np.nan_to_num(residuals.height_mm) / 1000.0
    return float(parts[parts > 0].sum()), float(-parts[parts < 0].sum())
