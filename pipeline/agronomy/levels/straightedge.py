"""What lies under a straightedge, and what a bowl meets on its way."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.levels.level_grid import LevelGrid, resampled
from pipeline.agronomy.levels.levels import Floats
from pipeline.agronomy.maths import require_positive

STRAIGHTEDGE_M = 3.0
"""Length of the straightedge that trade writers use at the edges of greens; no published limit in mm goes with it."""
GRADIENT_OVER_M = 1.0
"""Length over which the gradient that a bowl meets is taken: common practice, no source."""


def straightedge_gaps(heights_mm: Floats, spacing_m: float, length_m: float) -> Floats:
    """Largest gap that shows over each place under a straightedge laid on two others, mm.

    The edge rests on two points of the ground no further apart than its length; the gap is how far a place between
    them lies below the line through both. Over all ways of laying it, that is the gap below the tightest string.

    Args:
        heights_mm: heights along lines, evenly apart; the last axis runs along the edge. A place that is
            not-a-number carries nothing.
        spacing_m: distance of two places, m; the length must be a whole number of them.
        length_m: length of the straightedge, m.

    Raises:
        ValueError: when the length is no whole number of spacings, or less than two.

    Source: gap between two contact points (as EN 13036-7 has it for pavements, from memory).
    """
    require_positive(spacing_m=spacing_m, length_m=length_m)
    steps = round(length_m / spacing_m)
    if steps < 2 or abs(steps * spacing_m - length_m) > 1e-6 * length_m:
        raise ValueError("the straightedge must be a whole number of spacings long, two at least")
    heights = np.atleast_2d(heights_mm)
    n = heights.shape[-1]
    worst = np.where(np.isnan(heights), np.nan, 0.0)
    for before in range(1, min(steps, n - 1)):
        for after in range(1, min(steps - before, n - 1 - before) + 1):
            left, middle, right = (
                heights[:, : n - before - after],
                heights[:, before : n - after],
                heights[:, before + after :],
            )
            gap = (after * left + before * right) / (before + after) - middle
            place = worst[:, before : n - after]
            np.fmax(place, gap, out=place, where=~np.isnan(middle))
    return worst.reshape(np.shape(heights_mm))


@dataclass(frozen=True)
class Gap:
    """The largest gap under a straightedge.

    Attributes:
        gap_mm: the gap, mm.
        across_m: where it is, across, m.
        along_m: the same along, m.

    Source: definition.
    """

    gap_mm: float
    across_m: float
    along_m: float


def largest_gap(grid: LevelGrid, along: bool) -> Gap | None:
    """The largest gap under a straightedge laid anywhere along or across the rinks; None where the green is too short.

    Args:
        grid: heights of the green.
        along: True for along the rinks, False for across.

    Source: gap between two contact points (as EN 13036-7 has it for pavements, from memory).
    """
    across_step, along_step = grid.step_m
    own = along_step if along else across_step
    step = STRAIGHTEDGE_M / (2 * math.ceil(STRAIGHTEDGE_M / (2 * own) - 1e-9))
    extent = np.ptp(grid.along_m if along else grid.across_m)
    if extent < STRAIGHTEDGE_M:
        return None
    laid = resampled(grid, across_step, step) if along else resampled(grid, step, along_step)
    heights = laid.height_mm.T if along else laid.height_mm
    gaps = straightedge_gaps(heights, step, STRAIGHTEDGE_M)
    if np.isnan(gaps).all():
        return None
    line, place = np.unravel_index(int(np.nanargmax(gaps)), gaps.shape)
    column, row = (line, place) if along else (place, line)
    return Gap(float(gaps[line, place]), float(laid.across_m[column]), float(laid.along_m[row]))


@dataclass(frozen=True)
class BowlPath:
    """What a bowl meets on a straight line.

    Attributes:
        steepest_mm_m: steepest gradient, mm/m; rising is positive.
        steepest_at_m: middle of the stretch it is taken over, m from the start of the line.
        turn_mm_m: largest change of gradient from one stretch to the next, mm/m; a dip is positive.
        turn_at_m: where the two stretches meet, m.

    Source: definition; a real bowl's path curves with its bias.
    """

    steepest_mm_m: float
    steepest_at_m: float
    turn_mm_m: float
    turn_at_m: float


def bowl_path(heights_mm: Floats, spacing_m: float, over_m: float = GRADIENT_OVER_M) -> BowlPath | None:
    """The steepest gradient and the sharpest change of it along a line; None where the line is too short or broken.

    Args:
        heights_mm: heights along the line, evenly apart.
        spacing_m: distance of two of them, m.
        over_m: length gradients are taken over, m; rounded to whole spacings, one at least.

    Source: definition.
    """
    require_positive(spacing_m=spacing_m, over_m=over_m)
    step = max(1, round(over_m / spacing_m))
    reach = step * spacing_m
    gradient = (heights_mm[step:] - heights_mm[:-step]) / reach
    turn = gradient[step:] - gradient[:-step]
    if not turn.size or np.isnan(turn).all():
        return None
    steep, sharp = int(np.nanargmax(np.abs(gradient))), int(np.nanargmax(np.abs(turn)))
    return BowlPath(
        float(gradient[steep]), steep * spacing_m + reach / 2, float(turn[sharp]), sharp * spacing_m + reach
    )
