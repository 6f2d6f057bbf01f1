"""Particle sizes: of the root zone, of the dressings put on in the season, and whether the two match."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import polars as pl

from pipeline.agronomy.soil.particle_size import (
    Check,
    band_checks,
    d_value_mm,
    dressing_match,
    fraction_pct,
    layer_match,
    uniformity_coefficient,
)
from pipeline.agronomy.ways import Interpolation
from pipeline.common.words import long_date
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import NO_PUBLISHED, DefaultTarget, Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.judgement import stand
from pipeline.indicators.base.records import evidence
from pipeline.indicators.soil.curves import (
    D_VALUES,
    READ,
    Sample,
    Samples,
    furthest_in_words,
    guessed,
)
from schemas.construction import construction_of, construction_words

SILT_MM = 0.05
"""Silt and clay are finer than this (USGA classes)."""
SIZES = {
    share: Description(
        f"sieve_d{share}_mm", f"D{share}", "mm", "sieve",
        f"Size that {share} % of the mass is finer than; the root zone's last sample, and each dressing's of the "
        "season.",
        "Read from the sieve curve, straight between two sieves on the logarithm of size, or as "
        "method_options.sieve_interpolation says.",
        band="root zone or material", decimals=3, formulas=(d_value_mm,), si_only=True,
    )
    for share in D_VALUES
}  # fmt: skip
"""Share finer → the size; in mm on every page: specifications of root-zone sand are in mm in the US too."""
UNIFORMITY = Description(
    "sieve_uniformity", "Coefficient of uniformity", "", "sieve",
    "How widely the sizes are graded: low is all of one size.", "D60 ÷ D10.",
    band="root zone or material", formulas=(d_value_mm, uniformity_coefficient),
)  # fmt: skip
_USGA = "From the curve; held against the USGA limit where the register says that the green is sand-based."
FRACTIONS = {
    fraction: Description(
        name, fraction.capitalize(), "%", "sieve", meaning, _USGA,
        band="root zone", decimals=0, formulas=(band_checks,),
    )
    for fraction, name, meaning in (
        ("coarse and medium sand", "sieve_coarse_medium_pct", "Between 0.25 and 1 mm."),
        ("very fine sand, silt and clay", "sieve_very_fine_pct", "Finer than 0.15 mm."),
    )
}  # fmt: skip
"""Fraction of the USGA band → the indicator it is told by."""
SILT_CLAY = Description(
    "sieve_silt_clay_pct", "Silt and clay", "%", "sieve", "Finer than 0.05 mm.", "From the curve.",
    band="root zone", formulas=(fraction_pct,),
)  # fmt: skip
MEDIUM = Description(
    "sieve_medium_pct", "Medium sand", "%", "sieve", "Between 0.25 and 0.5 mm, of a dressing.",
    "From the curve; held against what UK fine turf asks of a dressing sand.",
    band="material", decimals=0, formulas=(band_checks,),
)  # fmt: skip
MATCH = Description(
    "sieve_match", "Dressing against root zone", "", "sieve",
    "Whether a dressing of the season is graded as the root zone it lies on, at D10, D50 and D90 each; 1 is alike.",
    "Size that 10, 50 and 90 % of the mass are finer than, in the dressing over the root zone: alike in the middle "
    "says nothing of the fines. The note gives the class furthest apart.",
    band="material, and D10, D50 or D90", decimals=2, formulas=(d_value_mm, dressing_match),
    targets=(DefaultTarget(None, None, NO_PUBLISHED, note="what is commonly said stands in the set common-practice"),),
)  # fmt: skip
GRAVEL = {
    check: Description(
        name, f"Gravel under root zone: {way}", "", "sieve",
        "Whether the gravel that the register names may lie under the root zone without a layer between.",
        f"{how}; limit of the USGA edition chosen (method_options.layer_match).",
        band="gravel", decimals=2, formulas=(d_value_mm, layer_match),
    )
    for check, name, way, how in (
        ("bridging D15/D85", "gravel_bridging", "bridging", "D15 of the gravel ÷ D85 of the root zone"),
        ("permeability D15/D15", "gravel_permeability", "permeability", "D15 of the gravel ÷ D15 of the root zone"),
        ("uniformity D90/D15", "gravel_uniformity", "uniformity", "D90 ÷ D15 of the gravel"),
    )
} | {
    check: Description(
        name, f"Gravel under root zone: {check}", "%", "sieve",
        f"Share of that gravel that is {way}.",
        "From the curve; limit of the USGA edition chosen (method_options.layer_match), where its shares were seen.",
        band="gravel", formulas=(layer_match,),
    )
    for check, name, way in (
        ("over 12 mm", "gravel_over_12_mm_pct", "too coarse"),
        ("under 2 mm", "gravel_under_2_mm_pct", "too fine"),
        ("under 1 mm", "gravel_under_1_mm_pct", "too fine"),
    )
}  # fmt: skip
"""Check of the published factors and shares → the indicator it is told by."""
STRAIGHT_SAND = (pl.col("sand_pct") == 100) | (pl.col("soil_pct") == 0)
"""Of what was put on: whether the register says of the material that it is sand without soil."""
NOT_SAND = "Limits for dressing sand are not applied: the register does not say that it is sand without soil."


def sieves(asked: Asked) -> Iterator[Indicator]:
    """Figures of the root zone's last sample and of the season's dressings (grain: indicator)."""
    dressings = _dressings(asked)
    samples: dict[int, Samples] = {}  # seasons of a green share its fractions
    for of, records in asked.each.items():
        known = samples.setdefault(id(records.sieves), Samples(records.sieves))
        for one in _of_season(records, known, dressings.get(of, {})):
            yield replace(one, of=of)


def _dressings(asked: Asked) -> dict[int, dict[str, bool]]:
    """Materials the greens were dressed with in each season, by name, and whether each is sand without soil."""
    columns = ("of", "date", "operation", "material", "sand_pct", "soil_pct")
    used = asked.in_season(asked.applications.select(columns)).filter(pl.col("operation") == "top_dressing")
    named = (
        used.drop_nulls("material")
        .group_by("of", "material", maintain_order=True)
        .agg(STRAIGHT_SAND.any().alias("sand"))
    )
    found: dict[int, dict[str, bool]] = {}
    for of, material, sand in named.sort("of", "material", maintain_order=True).select("of", "material", "sand").rows():
        found.setdefault(of, {})[material] = sand
    return found


def _of_season(records: GreenRecords, samples: Samples, dressings: Mapping[str, bool]) -> Iterator[Indicator]:
    root = samples.last(records.as_of)
    read = records.options.sieve_interpolation
    if root:
        yield from _of_root_zone(root, records)
        yield from _over_gravel(root, records, samples)
    for name, sand in dressings.items():
        sample = samples.last(records.until, name)
        if sample:
            yield from _of_dressing(sample, sand, read)
        if root:
            yield from _match(name, sample, root, read)


def not_sand(green: Mapping[str, Any]) -> str:
    """Why limits of sand root zones do not hold for a green, by its register; "" where they do."""
    if construction_of(green) == "sand":
        return ""
    built = construction_words(green)
    return f"the register says “{built}”" if built else "the register does not say how the green is built"


def _of_root_zone(sample: Sample, records: GreenRecords) -> Iterator[Indicator]:
    read = records.options.sieve_interpolation
    yield from _sizes(sample, read)
    if sample.curve is None:
        return
    checks = {one.name: one for one in band_checks(sample.curve, "root_zone", "sand_based", read)}
    unfit = not_sand(records.green)
    for fraction, what in FRACTIONS.items():
        one = _of(what, sample, read, checks[fraction].value)
        if not unfit:
            yield _judged(one, checks[fraction])
        else:
            yield replace(one, note=f"{one.note} Limits for sand root zones are not applied: {unfit}.")
    yield _of(SILT_CLAY, sample, read, fraction_pct(sample.curve, 0.0, SILT_MM, read))


def _over_gravel(root: Sample, records: GreenRecords, samples: Samples) -> Iterator[Indicator]:
    """Whether the gravel that the register says lies under the root zone may lie there without a layer between."""
    name = records.green["gravel"]
    gravel = samples.last(records.until, name) if name else None
    if root.curve is None or gravel is None or gravel.curve is None:
        return
    read, edition = records.options.sieve_interpolation, records.options.layer_match
    both = evidence(pl.concat([gravel.rows, root.rows]), "sieve")
    for check in layer_match(gravel.curve, root.curve, edition, read):
        what = GRAVEL[check.name]
        untold = "do not say whether there is any" if check.high == 0 else "do not reach it"
        unreached = "" if check.value is not None else f" The sieves {untold}."
        how = what.made.partition(";")[0]
        one = replace(
            _of(what, gravel, read, check.value),
            n=len(both),
            evidence=both,
            method=f"{how}; limit of the USGA edition of {edition}. Curves read {READ[read]}.",
        )
        yield _judged(replace(one, note=f"{one.note}{unreached}"), check)


def _of_dressing(sample: Sample, sand: bool, read: Interpolation) -> Iterator[Indicator]:
    yield from _sizes(sample, read)
    if sample.curve is not None:
        check = band_checks(sample.curve, "dressing", "uk_fine_turf", read)[0]
        one = _of(MEDIUM, sample, read, check.value)
        yield _judged(one, check) if sand else replace(one, note=f"{one.note} {NOT_SAND}")


def _judged(one: Indicator, check: Check) -> Indicator:
    """The figure against the published limit of its band."""
    stands = "no target" if one.value is None else "within" if check.holds else stand(one.value, check.low, check.high)
    return replace(one, target_low=check.low, target_high=check.high, target_source=check.source, standing=stands)


def _of(what: Description, sample: Sample, read: Interpolation, value: float | None) -> Indicator:
    """A figure of a sample."""
    name = f", {sample.name}" if sample.name else ""
    return what.figure(
        value,
        sample.rows,
        "sieve",
        band=sample.owner,
        method=f"Read from the sieve curve, {READ[read]}.",
        note=f"Sample of {long_date(sample.day)}{name}.{sample.beside}",
    )


def _sizes(sample: Sample, read: Interpolation) -> Iterator[Indicator]:
    """D-values and the coefficient of uniformity; one line that says why where there is no curve."""
    if sample.curve is None:
        bare = _of(SIZES[50], sample, read, None)
        yield replace(bare, note=f"{bare.note} No curve: {sample.why}.")
        return
    for share, what in SIZES.items():
        one = _of(what, sample, read, d_value_mm(sample.curve, share, read))
        why = "The sieves do not reach it." if one.value is None else guessed(sample.curve, share)
        yield replace(one, note=f"{one.note} {why}".rstrip())
    yield replace(_of(UNIFORMITY, sample, read, uniformity_coefficient(sample.curve, read)), method=UNIFORMITY.made)


def _match(name: str, dressing: Sample | None, root: Sample, read: Interpolation) -> Iterator[Indicator]:
    """Sizes of the dressing over those of the root zone, each judged by itself; one line that says why without both."""
    base = replace(
        _of(MATCH, root, read, None),
        band=name,
        method="Size in the dressing over the same in the root zone; 1 is alike, above 1 the dressing is coarser.",
    )
    if dressing is None or dressing.curve is None or root.curve is None:
        lacking = "the root zone" if dressing is not None and dressing.curve is not None else name
        note = f"No sieve curve of {lacking}: whether it matches is not known."
        yield replace(base, n=0, evidence=(), note=note)
        return
    match = dressing_match(dressing.curve, root.curve, read)
    both = evidence(pl.concat([dressing.rows, root.rows]), "sieve")
    furthest = furthest_in_words(match)
    for size, ratio in match.d_ratio.items():
        note = "The sieves do not reach it."
        if ratio is not None:
            share = float(size.removeprefix("D"))
            note = guessed(root.curve, share) or guessed(dressing.curve, share) or furthest
        yield replace(base, band=f"{name}, {size}", value=ratio, n=len(both), note=note, evidence=both)


FAMILY = Family(
    (*SIZES.values(), UNIFORMITY, *FRACTIONS.values(), SILT_CLAY, MEDIUM, MATCH, *GRAVEL.values()),
    sieves,
)
