"""Rules for sieve analyses: a sample stands or falls whole, since a curve with a hole is another curve."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults

OWNER = FaultKind(
    "sieve.owner",
    "Whose sieve analysis?",
    "A sieve analysis is of a green's root zone or of a material: this row names {value}.",
    "Name the green, or the material, and leave the other blank.",
)
MIXED = FaultKind(
    "sieve.mixed",
    "Two ways of writing in one sample",
    "This sample mixes {value}.",
    "Write one sample in one way: passing or retained, % or g. Two samples on one day need a sample number each.",
)
PASSING_MASS = FaultKind(
    "sieve.passing_mass",
    "Passing as a mass",
    "{value} g passing says nothing without the share.",
    "Write what stayed on each sieve in g, or what passed in %.",
)
TOO_MUCH = FaultKind(
    "sieve.percent",
    "More than the whole",
    "{value} % of a sample cannot be.",
    "Check the figure.",
)
NOT_RISING = FaultKind(
    "sieve.order",
    "More passes a finer sieve than a coarser one",
    "{value} % passing is more than passes a coarser sieve of the same sample.",
    "Check the figures, and whether they are passing at all, or retained.",
)
WRONG_SUM = FaultKind(
    "sieve.sum",
    "Fractions do not come to the whole",
    "The fractions of this sample come to {value}, more than 1 % off the whole ({whole}).",
    "Check the figures and the pan (size 0); the loss of a sieve analysis is a good deal under 1 %.",
)
NO_WHOLE = FaultKind(
    "sieve.whole",
    "Masses without the whole",
    "Masses on the sieves need the pan (size 0) or the dry mass that went in.",
    "Add a row of size 0 for the pan, or fill in dry_mass_g.",
)
SAMPLE = ["date", "green", "material", "sample", "lab"]
"""What is the same in the fractions of one sample."""
LOSS = 0.01
"""Share by which the fractions may be off the whole: common practice, no source (ASTM C136 allows
0.3 %, from memory)."""


def check(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of sieve analyses; an error of a sample is said of each of its lines, so that none stays behind alone."""
    odd = records.filter(pl.col("green").is_null() == pl.col("material").is_null())
    named = pl.when(pl.col("green").is_null()).then(pl.lit("neither")).otherwise(pl.lit("both"))
    faults = [OWNER.of(odd, "green", named)]
    known = records.filter(pl.col("value").is_not_null())
    for _, part in known.group_by(SAMPLE, maintain_order=True):
        faults.append(_of_sample(part))
    return concat(faults)


def _of_sample(part: pl.DataFrame) -> pl.DataFrame:
    bases, units = sorted(part["basis"].unique()), sorted(part["unit"].unique())
    if len(bases) > 1 or len(units) > 1:
        return _each(MIXED, part, " and ".join(bases if len(bases) > 1 else units), "basis")
    if units == ["%"] and (odd := part.filter(pl.col("value") > 100 * (1 + LOSS))).height:
        return _each(TOO_MUCH, part, f"{odd['value'][0]:g}", "value")
    return _passing(part, units[0]) if bases == ["passing"] else _retained(part, units[0])


def _passing(part: pl.DataFrame, unit: str) -> pl.DataFrame:
    if unit == "g":
        return _each(PASSING_MASS, part, f"{part['value'][0]:g}", "unit")
    ordered = part.sort("size_mm", maintain_order=True)
    odd = ordered.filter(pl.col("value") < pl.col("value").cum_max())
    if not odd.height:
        return no_faults()
    most = max(ordered.filter(pl.col("size_mm") < odd["size_mm"][0])["value"].to_list())
    return _each(NOT_RISING, part, f"{most:g}", "value")


def _retained(part: pl.DataFrame, unit: str) -> pl.DataFrame:
    total, pan = part["value"].sum(), bool((part["size_mm"] == 0).any())
    weighed = part["dry_mass_g"].max()
    whole = 100.0 if unit == "%" else float(weighed) if isinstance(weighed, float) else None
    if whole is None:
        return no_faults() if pan else _each(NO_WHOLE, part, None, "dry_mass_g")
    if total > whole * (1 + LOSS) or (pan and total < whole * (1 - LOSS)):
        return _each(WRONG_SUM, part, f"{total:g} {unit}", "value", whole=f"{whole:g} {unit}")
    return no_faults()


def _each(fault: FaultKind, part: pl.DataFrame, value: str | None, column: str, **facts: object) -> pl.DataFrame:
    """The fault at every line of the sample."""
    return fault.of(part.sort("line", maintain_order=True), column, pl.lit(value, dtype=pl.String), **facts)
