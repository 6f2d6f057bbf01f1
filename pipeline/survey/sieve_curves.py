"""Sieve curves of a visit: the root zone's and the season's dressings', with bands, and whether they match."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from pipeline.agronomy.soil.particle_size import (
    BandTable,
    band_checks,
    d_value_mm,
    uniformity_coefficient,
)
from pipeline.agronomy.soil.reference import one_set
from pipeline.agronomy.ways import Interpolation
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.soil.curves import (
    D_VALUES,
    Sample,
    Samples,
    guessed,
    match_in_words,
)
from pipeline.indicators.soil.sieves import NOT_SAND, STRAIGHT_SAND, not_sand
from pipeline.survey.visit_observations import SieveCurve, SieveMatch

BANDS: dict[str, tuple[BandTable, str]] = {
    "root zone": ("root_zone", "sand_based"),
    "dressing": ("dressing", "uk_fine_turf"),
}
"""Published band each kind of sample is held against."""


def curves_and_matches(records: GreenRecords, day: date) -> tuple[tuple[SieveCurve, ...], tuple[SieveMatch, ...]]:
    """The root zone's last curve up to a day and the season's dressings' with theirs, and each match."""
    samples = Samples(records.sieves)
    root = samples.last(day)
    used = records.in_season(records.applications).filter(
        (pl.col("operation") == "top_dressing") & (pl.col("date") <= day)
    )
    found = [samples.last(day, name) for name in sorted(used["material"].drop_nulls().unique())]
    dressings = [sample for sample in found if sample]
    straight = set(used.filter(STRAIGHT_SAND)["material"])
    read = records.options.sieve_interpolation
    curves = [_curve(root, "root zone", read, _unfit(records.green))] if root else []
    curves += [_curve(sample, "dressing", read, "" if sample.owner in straight else NOT_SAND) for sample in dressings]
    matches = [_match(sample, root, read) for sample in dressings if root and root.curve and sample.curve]
    return tuple(curves), tuple(matches)


def _unfit(green: Mapping[str, Any]) -> str:
    """Why the limits of a sand root zone are not applied; "" where they are."""
    why = not_sand(green)
    return f"Limits for sand root zones are shown and not applied: {why}." if why else ""


def _curve(sample: Sample, kind: str, read: Interpolation, unfit: str) -> SieveCurve:
    if sample.curve is None:
        why = f"No curve: {sample.why}."
        return SieveCurve(sample.owner, sample.day, sample.name, (), (), None, "", "", (), judged=False, note=why)
    table, version = BANDS[kind]
    band = one_set(table, version)
    return SieveCurve(
        owner=sample.owner,
        day=sample.day,
        sample=sample.name,
        points=tuple(zip(sample.curve.sizes_mm, sample.curve.passing_pct, strict=True)),
        sizes_mm=tuple((f"D{share}", d_value_mm(sample.curve, share, read)) for share in D_VALUES),
        uniformity=uniformity_coefficient(sample.curve, read),
        band=str(band["title"]),
        source=str(band["source"]),
        checks=band_checks(sample.curve, table, version, read),
        judged=not unfit,
        note=unfit,
        rough=tuple(f"D{share}" for share in D_VALUES if guessed(sample.curve, share)),
    )


def _match(dressing: Sample, root: Sample, read: Interpolation) -> SieveMatch:
    assert dressing.curve and root.curve
    return SieveMatch(dressing.owner, match_in_words(dressing.curve, root.curve, read))
