"""Figures outside their target: how far, and whether beyond doubt."""

from __future__ import annotations

from pipeline.indicators.base.green_season import Indicator


def miss(one: Indicator) -> float:
    """How far a figure is from its target, as a share of the end it misses; 0 where it misses none."""
    end = {"below": one.target_low, "above": one.target_high}.get(one.standing)
    if end is None or one.value is None:
        return 0.0
    return abs(one.value - end) / (abs(end) or 1.0)


def doubtful(one: Indicator) -> bool:
    """Whether the interval of a figure outside its target reaches into it, so that it may be chance."""
    if one.low is None or one.high is None:
        return False
    if one.standing == "below":
        return one.target_low is not None and one.high >= one.target_low
    return one.standing == "above" and one.target_high is not None and one.low <= one.target_high
