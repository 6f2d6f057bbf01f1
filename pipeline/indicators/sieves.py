"""Particle sizes: of the root zone, of the dressings put on in the season, and whether the two match."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from pipeline.agronomy.particle_size import Check, band_checks, d_value_mm, fraction_pct, uniformity_coefficient
from pipeline.indicators.curves import (
    D_VALUES,
    INTERPOLATION,
    Sample,
    latest,
    match_in_words,
    match_of,
    material_samples,
    root_zone_samples,
)
from pipeline.indicators.record import Indicator
from pipeline.indicators.records import GreenRecords
from pipeline.indicators.standing import evidence, stand
from pipeline.words import long_date

SILT_MM = 0.05
"""Silt and clay are finer than this (USGA classes)."""
ROOT_ZONE_FRACTIONS = {
    "coarse and medium sand": "sieve_coarse_medium_pct",
    "very fine sand, silt and clay": "sieve_very_fine_pct",
}
"""Fraction of the USGA band → the indicator it is told by."""


NOT_SAND = "Limits for dressing sand are not applied: the register does not say that it is sand without soil."


def sieves(records: GreenRecords) -> list[Indicator]:
    """Figures of the root zone's last sample and of the season's dressings (grain: indicator)."""
    root = latest(root_zone_samples(records.sieves, records.green["green"]), records.as_of)
    used = records.in_season(records.applications).filter(pl.col("operation") == "top_dressing")
    materials = sorted(used["material"].drop_nulls().unique())
    dressings = [(name, latest(material_samples(records.sieves, name), records.as_of)) for name in materials]
    found = list(_of_root_zone(root, records)) if root else []
    for name, sample in dressings:
        if sample:
            found += _of_dressing(sample, straight_sand(used, name))
        if root:
            found.append(_match(name, sample, root))
    return found


def sands(construction: str | None) -> bool:
    """Whether a green's construction, in the register's own words, is a sand root zone."""
    return bool(re.search(r"\bsand[ -](?:based|root|profile|green)|^sand$|\busga\b", construction or "", re.IGNORECASE))


def straight_sand(used: pl.DataFrame, material: str) -> bool:
    """Whether the register says of a material put on that it is sand without soil.

    Args:
        used: what was put on, with what the register of materials says of it.
        material: its name.
    """
    own = used.filter(pl.col("material") == material)
    return bool(((own["sand_pct"] == 100) | (own["soil_pct"] == 0)).any())


def _of_root_zone(sample: Sample, records: GreenRecords) -> Iterator[Indicator]:
    yield from _sizes(sample)
    if sample.curve is None:
        return
    checks = {one.name: one for one in band_checks(sample.curve, "root_zone", "usga", INTERPOLATION)}
    built = records.green["construction"]
    for fraction, name in ROOT_ZONE_FRACTIONS.items():
        one = replace(
            _base(sample), name=name, label=fraction.capitalize(), unit="%", decimals=0, value=checks[fraction].value
        )
        if sands(built):
            yield _judged(one, checks[fraction])
        else:
            said = f"the register says “{built}”" if built else "the register does not say how the green is built"
            yield replace(one, note=f"{one.note} Limits for sand root zones are not applied: {said}.")
    yield replace(
        _base(sample),
        name="sieve_silt_clay_pct",
        label="Silt and clay",
        unit="%",
        value=fraction_pct(sample.curve, 0.0, SILT_MM, INTERPOLATION),
    )


def _of_dressing(sample: Sample, sand: bool) -> Iterator[Indicator]:
    yield from _sizes(sample)
    if sample.curve is not None:
        check = band_checks(sample.curve, "dressing", "uk_fine_turf", INTERPOLATION)[0]
        one = replace(_base(sample), name="sieve_medium_pct", label="Medium sand", unit="%", decimals=0)
        one = replace(one, value=check.value)
        yield _judged(one, check) if sand else replace(one, note=f"{one.note} {NOT_SAND}")


def _judged(one: Indicator, check: Check) -> Indicator:
    """The figure against the published limit of its band."""
    stands = "no target" if one.value is None else stand(one.value, check.low, check.high)
    return replace(one, target_low=check.low, target_high=check.high, target_source=check.source, standing=stands)


def _base(sample: Sample) -> Indicator:
    """What every figure of a sample has in common."""
    name = f", {sample.name}" if sample.name else ""
    return Indicator(
        "",
        "",
        sample.owner,
        None,
        "mm",
        sample.rows.height,
        family="sieve",
        decimals=1,
        method="Read from the sieve curve, straight between two sieves on the logarithm of size.",
        note=f"Sample of {long_date(sample.day)}{name}.",
        evidence=evidence(sample.rows, "sieve"),
    )


def _sizes(sample: Sample) -> Iterator[Indicator]:
    """D-values and the coefficient of uniformity; one line that says why where there is no curve."""
    base = _base(sample)
    if sample.curve is None:
        why = f"{base.note} No curve: {sample.why}."
        yield replace(base, name="sieve_d50_mm", label="D50", decimals=3, note=why)
        return
    for share in D_VALUES:
        value = d_value_mm(sample.curve, share, INTERPOLATION)
        note = base.note if value is not None else f"{base.note} The sieves do not reach it."
        yield replace(base, name=f"sieve_d{share}_mm", label=f"D{share}", value=value, decimals=3, note=note)
    yield replace(
        base,
        name="sieve_uniformity",
        label="Coefficient of uniformity",
        value=uniformity_coefficient(sample.curve, INTERPOLATION),
        unit="",
        method="D60 ÷ D10.",
    )


def _match(name: str, dressing: Sample | None, root: Sample) -> Indicator:
    """The dressing's D50 over the root zone's, with the rest of the comparison in words."""
    base = replace(
        _base(root),
        name="sieve_match",
        label="Dressing against root zone, D50",
        band=name,
        unit="",
        decimals=2,
        method="D50 of the dressing over D50 of the root zone; 1 is alike, above 1 the dressing is coarser.",
    )
    if dressing is None or dressing.curve is None or root.curve is None:
        lacking = "the root zone" if dressing is not None and dressing.curve is not None else name
        return replace(base, n=0, evidence=(), note=f"No sieve curve of {lacking}: whether it matches is not known.")
    match = match_of(dressing.curve, root.curve)
    both = evidence(pl.concat([dressing.rows, root.rows]), "sieve")
    said = match_in_words(match)
    return replace(base, value=match.d_ratio["D50"], n=len(both), note=said, evidence=both)
