"""Measurements on the surface: levels against their own mean, infiltration, hardness."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.agronomy.maths import Quantity, require_not_negative, require_positive

GRAVITIES_PER_CIV = 10.0
"""Gravities in one Clegg impact value (New Zealand Sports Turf Institute)."""


@dataclass(frozen=True)
class LevelSummary:
    """Levels of a flat green about their own mean. A crown green has to have its crown fitted first.

    Attributes:
        largest_deviation_mm: largest distance from the mean, mm.
        within_pct: share of the points within the tolerance of the mean, %.

    Source: C. Mumford, "Indoor and outdoor surfaces for bowls", UK trade magazine (each point against the mean height).
    """

    largest_deviation_mm: float
    within_pct: float


def level_summary(heights_mm: Sequence[float], tolerance_mm: float) -> LevelSummary:
    """Levels of a flat green about their own mean, so that the benchmark's height does not matter.

    Args:
        heights_mm: height of each point over the benchmark, mm; two at least.
        tolerance_mm: how far from the mean still counts as level, mm.

    Raises:
        ValueError: with fewer than two points.

    Opinion differs: ± 6 mm in Britain, ± 5 mm in Australia, 3 mm as the ideal (Comba 2013).

    Source: C. Mumford, "Indoor and outdoor surfaces for bowls", UK trade magazine; Comba 2013.
    """
    require_not_negative(tolerance_mm=tolerance_mm)
    if len(heights_mm) < 2:
        raise ValueError("levels need two points at least")
    mean = statistics.fmean(heights_mm)
    deviations = [abs(height - mean) for height in heights_mm]
    within = sum(deviation <= tolerance_mm + 1e-9 for deviation in deviations)
    return LevelSummary(max(deviations), 100.0 * within / len(heights_mm))


def infiltration_mm_h(volume_ml: Quantity, ring_mm: Quantity, minutes: Quantity) -> Quantity:
    """Infiltration rate in mm/h through the inner ring.

    Formula: `10 · volume / (π/4 · (ring/10)²) / (minutes / 60)` with mL and cm.

    Args:
        volume_ml: water that went in, mL.
        ring_mm: inside diameter of the inner ring, mm.
        minutes: time it took, min.

    Source: ASTM D3385 (inner ring only).
    """
    require_not_negative(volume_ml=volume_ml)
    require_positive(ring_mm=ring_mm, minutes=minutes)
    area_cm2 = math.pi / 4.0 * ring_mm**2 / 100.0
    return 10.0 * volume_ml / area_cm2 * 60.0 / minutes


def falling_head_mm_h(head_mm: Quantity, head_end_mm: Quantity, minutes: Quantity) -> Quantity:
    """Infiltration rate in mm/h from the fall of the water standing in the inner ring.

    The rate falls with the head, so a falling head is compared with a falling head alone.

    Formula: `(head − head_end) / (minutes / 60)`.

    Args:
        head_mm: water standing in the ring at the start, mm.
        head_end_mm: water standing in it at the end, mm.
        minutes: time it took, min.

    Source: definition; the water of the inner ring alone, as in ASTM D3385.
    """
    require_not_negative(head_end_mm=head_end_mm, fall_mm=head_mm - head_end_mm)
    require_positive(minutes=minutes)
    return (head_mm - head_end_mm) * 60.0 / minutes
