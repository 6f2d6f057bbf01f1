"""Green speed: a bowl timed over 27 m, and a ball rolled off a Stimpmeter. Never one turned into the other.

The bowl is heavier, biased and delivered at another speed; no conversion is published, so there is none here.
On a bowling green a SLOW green has FEWER seconds: the bowl has to be sent harder and gets there sooner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.agronomy.maths import (
    Quantity,
    require_positive,
    sqrt,
)
from pipeline.agronomy.units import MM_PER_INCH

BOWLS_DISTANCE_M = 27.0
"""Mat line to jack in the bowls timing rule (Lawn Bowls Hong Kong memo 2016, same words as the Laws)."""
STOP_WITHIN_M = 1.0
"""A timed bowl counts when it stops this near to the jack (same memo)."""
GRAVITY_M_S2 = 9.81
STIMP_SERIES_SPREAD_MM = 8 * MM_PER_INCH
"""Three balls of a series must stop within this (USGA Stimpmeter booklet, as quoted by scangolf.no)."""
STIMP_WAYS_APART_MM = 18 * MM_PER_INCH
"""Two ways further apart than this make the reading questionable (same booklet)."""
BALLS_IN_A_SERIES = 3
PLAYED_S = (5.0, 25.0)
"""Seconds over 27 m that greens are played at (common practice, no source; advice is 10 to 18 s)."""
STIMP_PLAYED_M = (1.0, 5.0)
"""Metres off a Stimpmeter that greens give (common practice, no source; the booklet's table has 4.5 to 10.5 ft)."""
ROUNDING_MM = 1e-6
"""What feet and inches turned into mm may be off: a distance on the limit itself keeps the rule."""


def seconds_at_27_m(seconds: Quantity, distance_m: Quantity) -> Quantity:
    """Seconds the same green would have given over 27 m.

    Formula: `t · √(27 / d)`, from uniform deceleration.

    Args:
        seconds: time from delivery to rest, s.
        distance_m: distance run, m.

    Source: kinematics of uniform deceleration (croquet pages on lawn speed); no published worked figure.
    """
    require_positive(seconds=seconds, distance_m=distance_m)
    return seconds * sqrt(BOWLS_DISTANCE_M / distance_m)


def deceleration_m_s2(seconds: Quantity, distance_m: Quantity) -> Quantity:
    """Mean deceleration in m/s² of a ball or bowl that ran to rest.

    Formula: `2 d / t²`.

    Args:
        seconds: time to rest, s.
        distance_m: distance run, m.

    Source: kinematics of uniform deceleration; 35 yd in 12 s is 0.486 yd/s² (croquet pages on lawn speed).
    """
    require_positive(seconds=seconds, distance_m=distance_m)
    return 2.0 * distance_m / seconds**2


def rolling_coefficient(deceleration_m_s2: Quantity) -> Quantity:
    """Coefficient of rolling resistance, no unit.

    Formula: `a / g`, g 9.81 m/s².

    Args:
        deceleration_m_s2: mean deceleration, m/s².

    Source: definition.
    """
    require_positive(deceleration_m_s2=deceleration_m_s2)
    return deceleration_m_s2 / GRAVITY_M_S2


def brede_speed(up: Quantity, down: Quantity) -> Quantity:
    """Green speed corrected for a slope, in the unit of length that went in.

    Formula: `2 · S↑ · S↓ / (S↑ + S↓)`, the harmonic mean. Wants an even slope rolled straight up and down.

    Args:
        up: distance rolled uphill.
        down: distance rolled downhill, same unit.

    Source: Brede 1990, USGA Green Section Record 28(6):10–12.
    """
    require_positive(up=up, down=down)
    return 2.0 * up * down / (up + down)


def evenness_s(means_s: Sequence[float]) -> float:
    """Range in seconds between the means of rinks, hands or directions; the smaller the evener.

    Formula: `max − min`.

    Args:
        means_s: one mean a rink (or hand, or direction), s; two at least.

    Raises:
        ValueError: with fewer than two means.

    Source: C. Mumford, "Indoor and outdoor surfaces for bowls", UK trade magazine (all rinks within 0.5 s).
    """
    if len(means_s) < 2:
        raise ValueError("evenness needs two rinks at least")
    return max(means_s) - min(means_s)


@dataclass(frozen=True)
class StimpReading:
    """A Stimpmeter reading and whether the procedure's own rules stand behind it.

    Attributes:
        distance_mm: mean of the two ways, mm.
        doubts: rules that the balls broke, in words; empty where none.

    Source: USGA Stimpmeter booklet, as quoted by scangolf.no.
    """

    distance_mm: float
    doubts: tuple[str, ...]


def stimpmeter_reading(one_way_mm: Sequence[float], other_way_mm: Sequence[float]) -> StimpReading:
    """The reading of two series of balls rolled opposite ways, with the rules they broke.

    Formula: mean of each series, then mean of the two. Balls are rolled from the standard notch: the second one of the
    2012 Stimpmeter gives half the distance (from memory).

    Args:
        one_way_mm: distance of each ball one way, mm.
        other_way_mm: distance of each ball the other way, mm.

    Raises:
        ValueError: when a series is empty or a distance is not above zero.

    Source: USGA Stimpmeter booklet, as quoted by scangolf.no.
    """
    if not one_way_mm or not other_way_mm:
        raise ValueError("a Stimpmeter reading needs balls both ways")
    for ball in (*one_way_mm, *other_way_mm):
        require_positive(distance_mm=ball)
    ways = (one_way_mm, other_way_mm)
    means = [sum(series) / len(series) for series in ways]
    doubts = []
    if any(len(series) != BALLS_IN_A_SERIES for series in ways):
        doubts.append("a series is not of three balls")
    if any(max(series) - min(series) > STIMP_SERIES_SPREAD_MM + ROUNDING_MM for series in ways):
        doubts.append("the balls of a series lie more than 203 mm (8 in) apart")
    if abs(means[0] - means[1]) > STIMP_WAYS_APART_MM + ROUNDING_MM:
        doubts.append("the two ways differ by more than 457 mm (18 in)")
    return StimpReading(distance_mm=(means[0] + means[1]) / 2.0, doubts=tuple(doubts))
