"""What follows from a fitted organic-matter balance: where it goes, and what dressing brings it where wanted."""

from __future__ import annotations

import math

import numpy as np

from pipeline.statistics.accumulation import Balance
from pipeline.statistics.balance import dressing_to_hold, dressing_to_reach, fraction_after
from pipeline.statistics.interval import Estimate, Refused

_STEP = 1e-30  # complex-step derivative: exact to double precision


def _end_slopes(balance: Balance, years: float, dressing: float, c: float) -> tuple[float, ...]:
    """Slopes of the fraction after some years by A, by the fraction now, by ln of the layer's mass, by the dressing."""
    step = 1j * _STEP * np.eye(4)
    after = fraction_after(
        balance.fraction + step[1],
        years,
        balance.accumulation + step[0],
        dressing + step[3],
        balance.layer_mass * (1 + step[2]),
        dressing_fraction=c,
    )
    return tuple(float(v) for v in after.imag / _STEP)


def _half(balance: Balance, slopes: tuple[float, ...]) -> float:
    """Half width of the interval of a figure with these slopes by what ``joint`` is of."""
    gradient = np.array(slopes)
    return balance.quantile * math.sqrt(max(0.0, float(gradient @ np.array(balance.joint) @ gradient)))


def forecast(balance: Balance, years: float, dressing: float, dressing_fraction: float = 0.0) -> Estimate:
    """True organic fraction some years after the last sample under a steady dressing, with its interval.

    The interval is that of the layer's own fraction; a new sample adds its sampling error to it.

    Args:
        balance: the fitted balance.
        years: time after the last sample, at least 0.
        dressing: kg/m² dry a year, as the log weighs it; 0 for none.
        dressing_fraction: its organic fraction.

    Raises:
        ValueError: years or dressing below zero.

    Source: `fraction_after`; interval by the delta method.
    """
    if years < 0 or dressing < 0:
        raise ValueError("years and dressing must not be below zero")
    landed = dressing * balance.lands
    after = fraction_after(
        balance.fraction,
        years,
        balance.accumulation,
        landed,
        balance.layer_mass,
        dressing_fraction=dressing_fraction,
    )
    value = float(after)
    by_a, by_fraction, by_mass, by_dressing = _end_slopes(balance, years, landed, dressing_fraction)
    half = _half(balance, (by_a, by_fraction, by_mass, by_dressing * landed))
    return Estimate(value, max(0.0, value - half), min(1.0, value + half))


def dressing_needed(
    balance: Balance, target: float, years: float | None, dressing_fraction: float = 0.0
) -> Estimate | Refused:
    """Dry dressing a year, kg/m² as the log weighs it, that holds the target fraction, or reaches it in time.

    0 where the target is met without dressing; the upper end says what it may take if growth is as strong as the
    interval allows.

    Args:
        balance: the fitted balance.
        target: organic fraction wanted, 0…1.
        years: time to reach it from the last sample; None to hold it once there.
        dressing_fraction: organic fraction of the dressing to be used.

    Raises:
        ValueError: years not above zero.

    Source: `dressing_to_hold` and `dressing_to_reach`; interval by the delta method.
    """
    c = dressing_fraction
    value = (
        dressing_to_hold(target, balance.accumulation, c)
        if years is None
        else dressing_to_reach(
            target,
            balance.fraction,
            years,
            accumulation=balance.accumulation,
            layer_mass=balance.layer_mass,
            dressing_fraction=c,
        )
    )
    if value is None:
        return Refused("the dressing holds as much organic matter as is wanted: no amount of it gets there.")
    if years is None:
        half = _half(balance, ((1 - target) / (target - c), 0.0, 0.0, -value))
    else:
        by_a, by_fraction, by_mass, by_dressing = _end_slopes(balance, years, value, c)
        half = _half(balance, (by_a / by_dressing, by_fraction / by_dressing, by_mass / by_dressing, value))
    ends = (max(0.0, one) / balance.lands for one in (value, value - half, value + half))
    return Estimate(*ends)
