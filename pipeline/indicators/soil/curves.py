"""Sieve curves out of the fractions of a sample, with the figures that are read from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

import polars as pl

from pipeline.agronomy.soil.particle_size import (
    Curve,
    DressingMatch,
    curve_from_retained,
    dressing_match,
)
from pipeline.agronomy.ways import Interpolation
from pipeline.common.words import listed

READ: dict[Interpolation, str] = {
    "log_linear": "straight between two sieves on the logarithm of size",
    "linear": "straight between two sieves",
}
"""How a curve is read between two sieves, in words."""
D_VALUES = (10, 15, 50, 60, 85, 90)
SAMPLE = ["date", "sample", "lab"]
ROOT_ZONE = "root zone"


@dataclass(frozen=True)
class Sample:
    """One sieve analysis.

    Attributes:
        owner: "root zone", or the name of the material.
        day: day of sampling.
        name: the sample's own number and laboratory, "" where it has none.
        curve: what passes each size; None where the fractions make no curve.
        why: why not; "" where they do.
        rows: the fractions.
        others: names of the other samples of that day, which are not looked at.
    """

    owner: str
    day: date
    name: str
    curve: Curve | None
    why: str
    rows: pl.DataFrame
    others: tuple[str, ...] = ()

    @property
    def beside(self) -> str:
        """A word on the other samples of that day; "" where there are none."""
        if not self.others:
            return ""
        named = listed([f"“{name}”" if name else "one without number and laboratory" for name in self.others])
        return f" Of that day there is {named} as well, not in this figure."


class Samples:
    """Every sample of a green's root zone and of materials, each parted and read once however often it is asked for."""

    def __init__(self, sieves: pl.DataFrame) -> None:
        """The samples of these fractions, which are of one green and of materials (``green`` is null)."""
        self._sieves = sieves
        self._of: dict[str, list[tuple[tuple[Any, ...], pl.DataFrame]]] = {}
        self._curves: dict[tuple[str, int], Curve | str] = {}

    def last(self, last: date, material: str = "") -> Sample | None:
        """The last sample up to a day of the root zone, or of a material; of several of one day the last by number."""
        samples = self._parted(material)
        upto = [at for at, (key, _) in enumerate(samples) if key[0] <= last]
        if not upto:
            return None
        at = upto[-1]
        key, part = samples[at]
        if (material, at) not in self._curves:
            self._curves[material, at] = curve_of(part)
        curve = self._curves[material, at]
        found, why = (None, curve) if isinstance(curve, str) else (curve, "")
        others = tuple(_name(*words) for (on, *words), _ in samples[:at] if on == key[0])
        return Sample(material or ROOT_ZONE, key[0], _name(*key[1:]), found, why, part, others)

    def _parted(self, material: str) -> list[tuple[tuple[Any, ...], pl.DataFrame]]:
        """The samples of the root zone or a material in order, each with what it is known by."""
        if material not in self._of:
            own = pl.col("material") == material if material else pl.col("green").is_not_null()
            known = self._sieves.filter(own).drop_nulls("value")
            known = known.sort("date", "sample", "lab", "size_mm", nulls_last=False, maintain_order=True)
            parts = known.partition_by(SAMPLE, as_dict=True, maintain_order=True) if known.height else {}
            self._of[material] = list(parts.items())
        return self._of[material]


def _name(sample: object, lab: object) -> str:
    return ", ".join(str(word) for word in (sample, lab) if word)


WIDEST_GAP = 10.0
"""Sizes further apart than this tell little of what lies between, from clay at 0.002 mm to a sieve of 0.05 mm for one:
common practice, no source."""


def guessed(curve: Curve, passing_pct: float) -> str:
    """A word on a size that lies where nothing was sieved; "" where sieves stand near it.

    Args:
        curve: the sieve curve.
        passing_pct: share of the mass that is finer than the size, %.
    """
    points = pairwise(zip(curve.passing_pct, curve.sizes_mm, strict=True))
    for (below, fine), (above, coarse) in points:
        if below < passing_pct < above and coarse > WIDEST_GAP * fine:
            return f"Read between {fine:g} and {coarse:g} mm, where nothing was sieved: roughly."
    return ""


def curve_of(rows: pl.DataFrame) -> Curve | str:
    """The curve of one sample's fractions, or why there is none.

    The rules of loading hold within a file; a sample whose fractions came in several files may still be no curve.
    """
    if rows.select("basis", "unit").n_unique() > 1:
        return "its fractions are written in two ways"
    sieves = rows.filter(pl.col("size_mm") > 0)
    if sieves.height < 2:
        return "it has too few sieves"
    sizes, values = sieves["size_mm"].to_list(), sieves["value"].to_list()
    try:
        if rows["basis"][0] == "passing":
            return Curve(tuple(sizes), tuple(min(100.0, value) for value in values))
        return _of_retained(rows, sizes, values)
    except ValueError as error:
        return f"its fractions do not make a curve ({error})"


def _of_retained(rows: pl.DataFrame, sizes: list[float], values: list[float]) -> Curve:
    """A curve from what stayed on each sieve; what is missing to the whole lies in the pan where none is given."""
    pan = rows.filter(pl.col("size_mm") == 0)["value"]
    weighed = rows["dry_mass_g"].drop_nulls()
    whole = 100.0 if rows["unit"][0] == "%" else float(weighed[0]) if len(weighed) else None
    if len(pan):
        return curve_from_retained(sizes, values, float(pan[0]))
    if whole is None:
        raise ValueError("neither the pan nor the dry mass is given")
    return curve_from_retained(sizes, values, max(0.0, whole - sum(values)), whole)


def match_in_words(dressing: Curve, root_zone: Curve, read: Interpolation) -> str:
    """A dressing against the root zone, after its name and a colon: sizes over each other, the class furthest apart.

    A size that lies where nothing was sieved is told roughly.
    """
    match = dressing_match(dressing, root_zone, read)
    told = {}
    for name, ratio in match.d_ratio.items():
        share = float(name.removeprefix("D"))
        rough = guessed(root_zone, share) or guessed(dressing, share)
        if ratio is not None:
            places = 2 if not rough or ratio < 1 else 1 if ratio < 10 else 0
            told[name] = f"{'roughly ' if rough else ''}{ratio:.{places}f} times"
    if not told:
        return f"the sieves do not reach D10, D50 or D90. {furthest_in_words(match)}".rstrip()
    (name, times), *others = told.items()
    more = "".join(f", its {other} {ratio}" for other, ratio in others)
    shares = listed([name.removeprefix("D") for name in told])
    finer = "are finer than these sizes" if others else "is finer than it"
    said = f"its {name} is {times} that of the root zone{more} ({shares} % of the mass {finer}; above 1 it is coarser)."
    return f"{said} {furthest_in_words(match)}".rstrip()


def furthest_in_words(match: DressingMatch) -> str:
    """The class of sizes in which a dressing and the root zone are furthest apart; "" where no class is known."""
    gaps = {name: gap for name, gap in match.class_gap_pct.items() if gap is not None}
    if not gaps:
        return ""
    widest = max(gaps, key=lambda name: abs(gaps[name]))
    more = "more" if gaps[widest] > 0 else "less"
    return f"Furthest apart at {widest}: {abs(gaps[widest]):.0f} percentage points {more} in the dressing."
