"""Organic matter of a sampled layer over time: what grows in against what dressing dilutes.

The layer keeps its mass: as growth and dressing come in at the top, as much leaves it at the bottom, of the layer's
own mix. With f the organic fraction by mass, M the layer's dry mass, A the organic matter that stays each year and S
the dressing each year, of organic fraction c::

    M · df/dt = A · (1 − f) − S · (f − c)

so that f nears f* = (A + c·S)/(A + S) as exp(−(A + S)·t/M). Masses are kg/m² (a year), fractions 0…1, times years.
Cores taken out without refilling leave f as it is. Cores of mass R filled with a mass F within the layer leave
((M − R)·f + F·c)/(M − R + F), which is what a dressing of M·ln(1 + F/(M − R)) leaves; what lies deeper does nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

ASSUMPTIONS = (
    "The sampled layer keeps its dry mass and is well mixed; what grows and what is spread pushes as much out below.",
    "Organic matter is gained at one steady net rate over the samples: growth less decay.",
    "Each dressing counts on its own day and stays on the sampled ground; a planned one is spread evenly.",
)


@dataclass(frozen=True, slots=True)
class Doses:
    """Top dressing applied: one entry a dose, in any order.

    Attributes:
        years: time of each dose in years.
        mass: dry mass, kg/m², with what fills core holes within the layer.
        fraction: organic fraction of the dressing, 0…1.

    Source: definition.
    """

    years: NDArray[np.float64]
    mass: NDArray[np.float64]
    fraction: NDArray[np.float64]

    def between(self, start: float, end: float) -> Doses:
        """The doses from start on and before end."""
        inside = (self.years >= start) & (self.years < end)
        return Doses(self.years[inside], self.mass[inside], self.fraction[inside])


def _share_gone(z: Any) -> Any:
    """(1 − e^(−z))/z, 1 at z = 0; number or array, real or complex."""
    z = np.asarray(z)
    near_zero = np.abs(z) < 1e-9
    safe = np.where(near_zero, 1.0, z)
    return np.where(near_zero, 1 - z / 2, -np.expm1(-safe) / safe)


def fraction_after(
    fraction: Any,
    years: Any,
    accumulation: Any,
    dressing: Any,
    layer_mass: Any,
    *,
    dressing_fraction: Any = 0.0,
) -> Any:
    """Organic fraction after some years at a steady rate; numbers or arrays that broadcast.

    Written as f + f′·t·(1 − e^(−kt))/(kt), k = (A + S)/M, which holds for k = 0 and below too (net decay).

    Args:
        fraction: organic fraction by mass at the start, 0…1.
        years: time passed.
        accumulation: A, kg/m² organic matter a year, net of decay; below zero where decay outruns growth.
        dressing: S, kg/m² dry dressing a year.
        layer_mass: M, kg/m² dry.
        dressing_fraction: c, organic fraction of the dressing, 0…1.

    Source: solution of the balance above, which is conservation of mass; no published worked figure.
    """
    rate = (accumulation * (1 - fraction) - dressing * (fraction - dressing_fraction)) / layer_mass
    return fraction + rate * years * _share_gone((accumulation + dressing) * years / layer_mass)


def refill_as_dressing(layer_mass: float, left: float, filled: float) -> float:
    """Dressing on the surface, kg/m², that leaves the layer with the same fraction as filling its core holes.

    Filling shrinks f − c by left/(left + filled), a dressing m by exp(−m/M): m = M · ln(1 + filled/left). The layer
    is then brought back to its mass M as by any dressing: of what is too much, its own mix leaves below.

    Args:
        layer_mass: M, dry mass of the layer, kg/m².
        left: dry mass in the layer before filling: M less the cores, with what is in the holes already.
        filled: dry mass of dressing that fills holes within the layer, kg/m².

    Raises:
        ValueError: nothing is left, or a mass below zero.

    Source: the balance above solved for a dose; same ten-step example.
    """
    if left <= 0 or layer_mass <= 0 or filled < 0:
        raise ValueError("layer_mass and left must be above zero, filled not below")
    return layer_mass * math.log1p(filled / left)


def dressing_to_hold(fraction: float, accumulation: float, dressing_fraction: float = 0.0) -> float | None:
    """Dressing, kg/m² a year, that holds the layer at this organic fraction: S = A(1 − f)/(f − c).

    Below zero where organic matter is lost without any dressing. None where the dressing is itself no poorer in
    organic matter than the fraction to hold.

    Args:
        fraction: organic fraction to hold, 0…1.
        accumulation: A, kg/m² organic matter a year, net of decay.
        dressing_fraction: c, organic fraction of the dressing, 0…1.

    Source: the balance above at rest, solved for S.
    """
    if fraction <= dressing_fraction:
        return None
    return accumulation * (1 - fraction) / (fraction - dressing_fraction)


def dressing_to_reach(
    target: float,
    fraction: float,
    years: float,
    *,
    accumulation: float,
    layer_mass: float,
    dressing_fraction: float = 0.0,
) -> float | None:
    """Dressing, kg/m² a year, that brings the layer to the target fraction in this many years.

    Below zero where the target is passed without any dressing. None where no amount gets there: the dressing is no
    poorer in organic matter than the target.

    Args:
        target: organic fraction wanted, 0…1.
        fraction: organic fraction now.
        years: time to get there.
        accumulation: A, kg/m² organic matter a year, net of decay.
        layer_mass: M, kg/m² dry.
        dressing_fraction: c, organic fraction of the dressing, 0…1.

    Raises:
        ValueError: years or layer_mass not above zero.

    Source: `fraction_after` solved for S; sand need of the Asian Turfgrass Center (8 to 6 % in 20 mm).
    """
    from scipy.optimize import brentq

    if years <= 0 or layer_mass <= 0:
        raise ValueError("years and layer_mass must be above zero")
    if target <= dressing_fraction or fraction <= dressing_fraction:
        return None

    def excess(dressing: float) -> float:
        after = fraction_after(fraction, years, accumulation, dressing, layer_mass, dressing_fraction=dressing_fraction)
        return float(after) - target

    # More dressing always leaves a lower fraction (f > c), so the root lies between two bounds that double outwards.
    step = layer_mass / years
    low, high = -accumulation - step, -accumulation + step
    while excess(high) > 0:
        high += step
        step *= 2
    step = layer_mass / years
    while excess(low) < 0:
        low -= step
        step *= 2
        if not math.isfinite(excess(low)):
            raise AssertionError("no dressing reaches the target: inputs outside the model")
    return float(brentq(excess, low, high, xtol=1e-14 * layer_mass, rtol=1e-14))


def fractions_at_samples(
    start: Any,
    accumulation: Any,
    years: NDArray[np.float64],
    doses: Doses,
    *,
    layer_mass: Any,
    dose_scale: Any = 1.0,
) -> NDArray[Any]:
    """Modelled fraction at each sample, every dose in its place; shape (samples, …), parameters of shape (…).

    Between doses 1 − f shrinks by exp(−A·t/M); a dose m shrinks f − c by exp(−m/M). Both are the equation above, so
    that f·exp(K), K the sum of all exponents so far, is a running sum.

    Args:
        start: fraction at the first sample.
        accumulation: A, kg/m² a year.
        years: times of the samples, rising, shape (samples,).
        doses: the dressing; doses before the first sample or from the last one on play no part, and a sample is taken
            before a dose of the same day.
        layer_mass: M, kg/m².
        dose_scale: what all doses are multiplied with, to ask what an error of the records would do.

    Source: the balance above, dose by dose.
    """
    within = doses.between(float(years[0]), float(years[-1]))
    times = np.concatenate([years, within.years])
    is_dose = np.arange(times.size) >= years.size
    order = np.lexsort((is_dose, times))
    shape = (times.size,) + (1,) * np.ndim(start + accumulation + layer_mass + dose_scale)

    def in_order(at_samples: NDArray[np.float64], at_doses: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate([at_samples, at_doses])[order].reshape(shape)

    none = np.zeros(years.size)
    steps = np.diff(times[order], prepend=times[order][0]).reshape(shape)
    grown = accumulation * steps / layer_mass
    spread = dose_scale * in_order(none, within.mass) / layer_mass
    gain = -np.expm1(-grown) * np.exp(-spread) - in_order(none, within.fraction) * np.expm1(-spread)
    exponent = np.cumsum(grown + spread, axis=0)
    path = np.exp(-exponent) * (start + np.cumsum(gain * np.exp(exponent), axis=0))
    return np.asarray(path[~is_dose[order]])
