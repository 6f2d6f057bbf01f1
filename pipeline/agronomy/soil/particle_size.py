"""Particle sizes: sieve curves, D-values, uniformity, published bands, and the match of one layer to another."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from pipeline.agronomy.maths import require_between, require_not_negative, require_one_of, require_positive
from pipeline.agronomy.soil.reference import Table, one_set
from pipeline.agronomy.ways import Interpolation

BandTable = Literal["root_zone", "dressing"]
CLASS_LIMITS_MM = (0.05, 0.15, 0.25, 0.5, 1.0, 2.0)
"""Limits of the sand classes (USGA recommendations for a method of putting green construction)."""


@dataclass(frozen=True)
class Curve:
    """A sieve curve: what passes each size, fine to coarse.

    Attributes:
        sizes_mm: sieve openings, mm, rising.
        passing_pct: mass that passes each, %, never falling.

    Source: definition.
    """

    sizes_mm: tuple[float, ...]
    passing_pct: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.sizes_mm) < 2 or len(self.sizes_mm) != len(self.passing_pct):
            raise ValueError("a sieve curve needs two sizes at least, and one figure for each")
        for size, passing in zip(self.sizes_mm, self.passing_pct, strict=True):
            require_positive(sieve_size_mm=size)
            require_between(0.0, 100.0, passing_pct=passing)
        if any(b <= a for a, b in itertools.pairwise(self.sizes_mm)):
            raise ValueError("sieve sizes must rise")
        if any(b < a for a, b in itertools.pairwise(self.passing_pct)):
            raise ValueError("more cannot pass a finer sieve than a coarser one")


def curve_from_retained(
    sizes_mm: Sequence[float], retained_g: Sequence[float], pan_g: float, dry_mass_g: float | None = None
) -> Curve:
    """The sieve curve of a sample, from what stayed on each sieve.

    Formula: `passing = 100 · (mass − Σ retained on this and coarser) / mass`.

    Args:
        sizes_mm: sieve openings, mm, in any order.
        retained_g: mass (or %) that stayed on each.
        pan_g: mass (or %) in the pan under the finest.
        dry_mass_g: dry mass that went in, where it was weighed; else the sum of the parts.

    Raises:
        ValueError: when the parts weigh more than the whole by over 1 %.

    Source: definition (sieve analysis).
    """
    rows = sorted(zip(sizes_mm, retained_g, strict=True), reverse=True)
    for _, mass in rows:
        require_not_negative(retained_g=mass)
    require_not_negative(pan_g=pan_g)
    parts = math.fsum([mass for _, mass in rows] + [pan_g])
    whole = parts if dry_mass_g is None else dry_mass_g
    require_positive(dry_mass_g=whole)
    if parts > whole * 1.01:
        raise ValueError(f"the sieves hold {parts:g} g of a sample of {whole:g} g")
    on_or_above = itertools.accumulate(mass for _, mass in rows)
    passing = [max(0.0, 100.0 * (whole - held) / whole) for held in on_or_above]
    return Curve(tuple(size for size, _ in reversed(rows)), tuple(reversed(passing)))


def _between(x: float, x0: float, x1: float, y0: float, y1: float) -> float:
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def d_value_mm(curve: Curve, passing_pct: float, interpolation: Interpolation) -> float | None:
    """The size in mm that a percentage of the mass is finer than; None where the sieves do not reach it.

    Formula: between two sieves, `ln D` (or D) runs straight with % passing.

    Args:
        curve: the sieve curve.
        passing_pct: the percentage: 15 for D15.
        interpolation: how to read between two sieves.

    Opinion differs: straight lines on a plain scale give a coefficient of uniformity of 2.63 where the logarithmic
    plot gives 2.55, on the same sand.

    Source: definition; the semi-logarithmic plot is the soil laboratory's (ASTM D6913, from memory).
    """
    require_one_of(("log_linear", "linear"), interpolation=interpolation)
    require_between(0.0, 100.0, passing_pct=passing_pct)
    points = list(zip(curve.passing_pct, curve.sizes_mm, strict=True))
    if passing_pct == points[0][0]:
        return points[0][1]
    for (below, fine), (above, coarse) in itertools.pairwise(points):
        if below < passing_pct <= above:
            if interpolation == "linear":
                return _between(passing_pct, below, above, fine, coarse)
            return math.exp(_between(passing_pct, below, above, math.log(fine), math.log(coarse)))
    return None


def uniformity_coefficient(curve: Curve, interpolation: Interpolation) -> float | None:
    """Coefficient of uniformity, no unit; None where the sieves do not reach D10 or D60.

    Formula: `Cu = D60 / D10`.

    Args:
        curve: the sieve curve.
        interpolation: how to read between two sieves.

    Source: definition (Hazen).
    """
    return _ratio(d_value_mm(curve, 60.0, interpolation), d_value_mm(curve, 10.0, interpolation))


def gradation_index(curve: Curve, interpolation: Interpolation) -> float | None:
    """Gradation index D90/D10, no unit; None where the sieves do not reach.

    Formula: `D90 / D10`.

    Args:
        curve: the sieve curve.
        interpolation: how to read between two sieves.

    Source: common practice, no source.
    """
    return _ratio(d_value_mm(curve, 90.0, interpolation), d_value_mm(curve, 10.0, interpolation))


def _ratio(above: float | None, below: float | None) -> float | None:
    return None if above is None or below is None else above / below


def passing_at_pct(curve: Curve, size_mm: float, interpolation: Interpolation) -> float | None:
    """Mass in % finer than a size; None where it lies outside the sieves.

    All of the mass is finer than anything coarser than a sieve that all of it passes; none is finer than nothing.

    Args:
        curve: the sieve curve.
        size_mm: the size, mm.
        interpolation: how to read between two sieves.

    Source: definition, inverse of `d_value_mm`.
    """
    require_one_of(("log_linear", "linear"), interpolation=interpolation)
    require_not_negative(size_mm=size_mm)
    if size_mm == 0.0 or (size_mm <= curve.sizes_mm[0] and curve.passing_pct[0] == 0.0):
        return 0.0
    if size_mm >= curve.sizes_mm[-1] and curve.passing_pct[-1] == 100.0:
        return 100.0
    for (fine, below), (coarse, above) in itertools.pairwise(zip(curve.sizes_mm, curve.passing_pct, strict=True)):
        if fine <= size_mm <= coarse:
            if interpolation == "linear":
                return _between(size_mm, fine, coarse, below, above)
            return _between(math.log(size_mm), math.log(fine), math.log(coarse), below, above)
    return None


def fraction_pct(curve: Curve, from_mm: float, to_mm: float, interpolation: Interpolation) -> float | None:
    """Mass in % between two sizes; None where the sieves do not reach one of them.

    Args:
        curve: the sieve curve.
        from_mm: the finer size, mm; 0 for all that is finer.
        to_mm: the coarser size, mm.
        interpolation: how to read between two sieves.

    Source: definition.
    """
    require_positive(width_of_the_fraction_mm=to_mm - from_mm)
    fine = passing_at_pct(curve, from_mm, interpolation)
    coarse = passing_at_pct(curve, to_mm, interpolation)
    return None if fine is None or coarse is None else coarse - fine


@dataclass(frozen=True)
class Check:
    """One figure held against a published limit.

    Attributes:
        name: what is judged.
        value: the figure; None where the sieves do not reach.
        low: lower limit, None where there is none.
        high: upper limit, None where there is none.
        source: where the limit is published.

    Source: definition.
    """

    name: str
    value: float | None
    low: float | None
    high: float | None
    source: str

    @property
    def holds(self) -> bool | None:
        """Whether the figure keeps the limits; None where there is no figure or no limit."""
        if self.value is None or (self.low is None and self.high is None):
            return None
        rounding = 1e-9
        return (self.low is None or self.value >= self.low - rounding) and (
            self.high is None or self.value <= self.high + rounding
        )


def band_checks(curve: Curve, table: BandTable, version: str, interpolation: Interpolation) -> tuple[Check, ...]:
    """Each fraction of a published band, with what the curve has there, %.

    Args:
        curve: the sieve curve.
        table: root zones or dressings.
        version: which published set.
        interpolation: how to read between two sieves where a limit falls between them.

    Source: the set names its own (`bands/root_zone.toml`, `bands/dressing.toml`).
    """
    names: Table = table
    band = one_set(names, version)
    return tuple(
        Check(
            row["name"],
            fraction_pct(curve, row["from_mm"], row["to_mm"], interpolation),
            _limit(row, "low_pct"),
            _limit(row, "high_pct"),
            band["source"],
        )
        for row in band["fraction"]
    )


def _limit(row: Mapping[str, Any], name: str) -> float | None:
    """A limit of a fraction: a number with a point, however its file writes it; None where there is none."""
    return None if row.get(name) is None else float(row[name])


def layer_match(gravel: Curve, root_zone: Curve, version: str, interpolation: Interpolation) -> tuple[Check, ...]:
    """Whether gravel may lie under a root zone without a layer between: bridging, permeability, uniformity, shares.

    Formula: bridging `D15(gravel) ≤ k₁·D85(root zone)`, permeability `D15(gravel) ≥ k₂·D15(root zone)`, uniformity
    `D90/D15(gravel) ≤ k₃`; each given as the ratio that its factor limits. Shares by mass: none coarser than 12 mm, at
    most 10 % finer than 2 mm, at most 5 % finer than 1 mm.

    Args:
        gravel: sieve curve of the gravel.
        root_zone: sieve curve of the root zone.
        version: which edition's factors ("2018" or "1993").
        interpolation: how to read between two sieves.

    Opinion differs: the 1993 edition asks 5 and 2.5 where 2018 asks 8 and 3; shares are checked for 2018 alone, since
    those of 1993 were not seen.

    Source: USGA recommendations for a method of putting green construction (`bands/layer_match.toml`).
    """
    factors = one_set("layer_match", version)
    d15 = d_value_mm(gravel, 15.0, interpolation)
    source = factors["source"]
    bridging = _ratio(d15, d_value_mm(root_zone, 85.0, interpolation))
    permeability = _ratio(d15, d_value_mm(root_zone, 15.0, interpolation))
    uniformity = _ratio(d_value_mm(gravel, 90.0, interpolation), d15)
    return (
        Check("bridging D15/D85", bridging, None, factors["bridging_d85"], source),
        Check("permeability D15/D15", permeability, factors["permeability_d15"], None, source),
        Check("uniformity D90/D15", uniformity, None, factors["uniformity_d90_d15"], source),
        *_shares(gravel, factors, interpolation),
    )


def _shares(gravel: Curve, factors: Mapping[str, Any], interpolation: Interpolation) -> Iterator[Check]:
    """Shares of the gravel that are too coarse or too fine, %, where the edition gives limits for them."""
    if "largest_mm" in factors:
        largest = float(factors["largest_mm"])
        yield Check(f"over {largest:g} mm", _coarser_pct(gravel, largest, interpolation), None, 0.0, factors["source"])
    for size, most in factors.get("finer", ()):
        finer = passing_at_pct(gravel, size, interpolation)
        yield Check(f"under {size:g} mm", finer, None, most, factors["source"])


def _coarser_pct(curve: Curve, size_mm: float, interpolation: Interpolation) -> float | None:
    """Mass in % coarser than a size; None where the sieves leave open whether there is any.

    Between a sieve that holds some back and a coarser one that all passes, the largest grain may lie on either side:
    reading between the two would make a share of grains that nobody has seen.
    """
    all_passes = min((size for size, share in _points(curve) if share == 100.0), default=math.inf)
    held = [size for size, share in _points(curve) if share < 100.0]
    if max(held, default=0.0) < size_mm < all_passes < math.inf:
        return None
    passing = passing_at_pct(curve, size_mm, interpolation)
    return None if passing is None else 100.0 - passing


def _points(curve: Curve) -> Iterator[tuple[float, float]]:
    return zip(curve.sizes_mm, curve.passing_pct, strict=True)


@dataclass(frozen=True)
class DressingMatch:
    """How a dressing compares with the root zone under it, without a verdict.

    Attributes:
        d_ratio: dressing over root zone for D10, D50 and D90 (1 is the same); None where sieves do not reach.
        class_gap_pct: dressing less root zone for each sand class, percentage points.

    Source: common practice, no source.
    """

    d_ratio: dict[str, float | None]
    class_gap_pct: dict[str, float | None]


def dressing_match(dressing: Curve, root_zone: Curve, interpolation: Interpolation) -> DressingMatch:
    """How a dressing's sizes compare with those of the root zone under it: ratios and gaps, no verdict.

    Args:
        dressing: sieve curve of the dressing.
        root_zone: sieve curve of the root zone.
        interpolation: how to read between two sieves.

    Source: common practice, no source (a dressing is to match the root zone; no published limit was found).
    """
    ratios = {
        f"D{share}": _ratio(d_value_mm(dressing, share, interpolation), d_value_mm(root_zone, share, interpolation))
        for share in (10, 50, 90)
    }
    gaps: dict[str, float | None] = {}
    for fine, coarse in itertools.pairwise(CLASS_LIMITS_MM):
        upper = fraction_pct(dressing, fine, coarse, interpolation)
        under = fraction_pct(root_zone, fine, coarse, interpolation)
        gaps[f"{fine:g}–{coarse:g} mm"] = None if upper is None or under is None else upper - under
    return DressingMatch(ratios, gaps)
