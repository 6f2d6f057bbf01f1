"""What the soil needs: nutrients to the MLSN guideline, and exchange capacity by summation, without a verdict."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from pipeline.agronomy.soil.mlsn import mlsn_need_g_m2, nutrient_use_g_m2
from pipeline.agronomy.soil.nutrients import kg_ha
from pipeline.agronomy.soil.reference import guideline
from pipeline.agronomy.soil.soil import Cation, cation_meq_100g, cec_by_summation, g_m2_from_mg_kg
from pipeline.common.amounts import Amount, AmountText, joined
from pipeline.common.words import listed
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords, evidence
from pipeline.indicators.feeding.nutrients import fed
from pipeline.indicators.soil.methods import apart, lab_parts
from pipeline.indicators.soil.soil import band_name, sampled, with_twins
from schemas.codes import code_list

LOWEST_PH = 5.5
"""The guideline holds above this pH (MLSN reference sheet 2014)."""
SAMPLE = ["date", "depth_from_mm", "depth_to_mm", "extractant", "lab", "sample", "reference"]
"""What is the same in the results of one sample."""
_WEIGHTS = {"rounded_k_391": "rounded (K 391)"}
"""Equivalent weights whose name is not as a report prints it."""
CATIONS: dict[str, Cation] = {"calcium": "Ca", "magnesium": "Mg", "potassium": "K", "sodium": "Na"}


@dataclass(frozen=True)
class Needed:
    """A nutrient whose need is computed: its analyte, symbol, and parts of nitrogen to one part of it in the grass."""

    analyte: str
    symbol: str
    nitrogen_parts: float
    source: str


NEEDED = (
    Needed("potassium", "K", 2.0, "a worked example for bent, 2017"),
    Needed("phosphorus", "P", 8.0, "a seminar on leaf content, 2014"),
)
NEEDS = {
    one.analyte: Description(
        f"{one.analyte}_need_kg_ha", f"{code_list('analyte')[one.analyte].label} needed to hold the guideline", "kg/ha",
        "soil", "What keeps the soil at the MLSN guideline while the grass uses what it does; information.",
        "Use + (guideline − soil) × depth × bulk density, never below zero; Mehlich 3 only, use from the season's "
        f"nitrogen ÷ {one.nitrogen_parts:g}, version by method_options.mlsn.",
        decimals=0 if one.symbol == "K" else 1, formulas=(nutrient_use_g_m2, mlsn_need_g_m2, g_m2_from_mg_kg),
        day_needed=False,
    )
    for one in NEEDED
}  # fmt: skip
CAPACITY = Description(
    "cec_meq_100g", "Exchange capacity by summation", "meq/100 g", "soil",
    "Charge of the bases of the latest sample that has calcium, magnesium and potassium. No verdict, and none on "
    "saturation: no target is recommended for sand root zones.",
    "mg/kg over equivalent weights (method_options.cation_weights), summed; acidity is not recorded.",
    band="extractant", formulas=(cation_meq_100g, cec_by_summation), day_needed=False,
)  # fmt: skip


def need(records: GreenRecords) -> Iterator[Indicator]:
    """Need of potassium and phosphorus to the MLSN guideline, and exchange capacity (grain: indicator)."""
    rows = with_twins(records.soil.filter(pl.col("date") <= records.as_of)).drop_nulls("value")
    rows = rows.filter((pl.col("unit") == "mg/kg") & ~pl.col("below_limit").fill_null(value=False))
    for what in NEEDED:
        yield from _need(records, what, rows)
    yield from _capacity(records, rows)


def _need(records: GreenRecords, what: Needed, every: pl.DataFrame) -> Iterator[Indicator]:
    """The need over a season fed as this one was; none without a Mehlich-3 result of a stated layer, or nitrogen."""
    rows = every.filter(
        (pl.col("analyte") == what.analyte)
        & (pl.col("extractant") == "mehlich_3")
        & (pl.col("depth_from_mm").fill_null(0.0) == 0)
        & (pl.col("depth_to_mm") > 0)
    )
    feeds = records.in_season(fed(records)).filter(pl.col("nitrogen") > 0)
    if not rows.height or not feeds.height:
        return
    rows = rows.filter(pl.col("date") == rows["date"].max())
    rows = rows.filter(pl.col("depth_to_mm") == rows["depth_to_mm"].max())
    if len(labs := apart(rows, lab_parts)) > 1:
        means = [f"{float(part['value'].mean()):.0f} mg/kg by {words}" for words, part in labs]  # type: ignore[arg-type]
        day = f"{'in' if rows['date_to'][0] else 'on'} {sampled(rows)}"
        note = f"{listed(means)} {day}: not comparable, and no need is made of the one or the other."
        yield NEEDS[what.analyte].figure(None, rows, "soil_test", standing="not comparable", note=note)
        return
    minimum = guideline("mlsn", records.options.mlsn)[what.symbol]
    soil, depth_mm = float(rows["value"].mean()), float(rows["depth_to_mm"][0])  # type: ignore[arg-type]
    own = rows["bulk_density_t_m3"].drop_nulls()
    density = float(own.mean()) if len(own) else records.settings.bulk_density_t_m3  # type: ignore[arg-type]
    nitrogen = float(feeds["nitrogen"].sum())
    use = nutrient_use_g_m2(nitrogen, what.nitrogen_parts, 1.0)
    amount = mlsn_need_g_m2(use, minimum, soil, depth_mm, density)
    whose = "the soil's" if len(own) else "the workspace's setting"
    said = (Amount(use, "g/m²", ".1f"), Amount(soil, "mg/kg", ".0f"), Amount(minimum, "mg/kg"))
    when = f"; sampled {sampled(rows)}."
    made_of = AmountText("Use ", said[0], ", soil ", said[1], ", guideline ", said[2], when)
    yield NEEDS[what.analyte].figure(
        kg_ha(amount),
        rows,
        note=joined(" ", [made_of, *_ph(records)]),
        method=f"Use + (guideline − soil) × depth × bulk density, never below zero: MLSN {records.options.mlsn}, "
        f"{depth_mm:g} mm, {density:g} t/m³ ({whose}); use is the season's nitrogen ÷ {what.nitrogen_parts:g} "
        f"({what.source}).",
        places=(*evidence(rows, "soil_test"), *evidence(feeds, "job")),
    )


def _ph(records: GreenRecords) -> Iterator[str]:
    """A word where the guideline may not hold: soil more acid than its own samples, or of unknown pH."""
    rows = records.soil.filter((pl.col("analyte") == "ph") & (pl.col("date") <= records.as_of)).drop_nulls("value")
    if not rows.height:
        yield f"The guideline holds above pH {LOWEST_PH:g}; the pH is not on record."
        return
    labs = apart(rows.filter(pl.col("date") == rows["date"].max()), lab_parts)
    means = [(float(part["value"].mean()), words) for words, part in labs]  # type: ignore[arg-type]
    if min(means)[0] <= LOWEST_PH:
        said = listed([f"{mean:.1f} by {words}" if words else f"{mean:.1f}" for mean, words in means])
        yield f"The guideline holds above pH {LOWEST_PH:g}; here it is {said}."


def _capacity(records: GreenRecords, rows: pl.DataFrame) -> Iterator[Indicator]:
    """Exchange capacity of each extractant's latest sample that has calcium, magnesium and potassium.

    Several samples of that day and layer are a figure each, their band parted by laboratory and number.
    """
    bases = rows.filter(pl.col("analyte").is_in(list(CATIONS)))
    whole = bases.group_by(SAMPLE, maintain_order=True).agg(pl.col("analyte").unique()).filter(
        pl.all_horizontal(pl.col("analyte").list.contains(name) for name in ("calcium", "magnesium", "potassium"))
    )  # fmt: skip
    last = whole.sort("date", "depth_to_mm", maintain_order=True).unique("extractant", keep="last", maintain_order=True)
    latest = whole.join(last, on=SAMPLE[:4], how="semi", nulls_equal=True, maintain_order="left")
    several = latest.group_by("extractant", maintain_order=True).agg(pl.len().alias("samples"))
    latest = latest.join(several, on="extractant", nulls_equal=True, maintain_order="left")
    for key in latest.sort(*SAMPLE[3:], nulls_last=True, maintain_order=True).iter_rows(named=True):
        same = [pl.col(name).eq_missing(pl.lit(key[name], dtype=bases.schema[name])) for name in SAMPLE]
        sample = bases.filter(pl.all_horizontal(same))
        means = sample.group_by("analyte", maintain_order=True).agg(pl.col("value").mean())
        mg_kg = {CATIONS[name]: float(value) for name, value in means.iter_rows()}
        weights = records.options.cation_weights
        found = cec_by_summation(mg_kg, weights)
        parts = ", ".join(f"{symbol} {found[symbol]:.2f}" for symbol in CATIONS.values() if symbol in found)
        sodium = "" if "Na" in mg_kg else " Without sodium, which was not measured."
        extractant = code_list("extractant")[key["extractant"]].label if key["extractant"] else "extractant not stated"
        which = [extractant, *(key[name] for name in SAMPLE[4:] if key["samples"] > 1)]
        yield CAPACITY.figure(
            math.fsum(found.values()),
            sample,
            "soil_test",
            band=", ".join(filter(None, which)),
            note=f"{parts}.{sodium} Sampled {sampled(sample)}.",
            method=f"Sum of the bases, {_WEIGHTS.get(weights, weights)} equivalent weights, "
            f"{band_name(key['depth_from_mm'], key['depth_to_mm'])}; acidity is not recorded, so that an acid soil "
            "holds more. No verdict: no target is recommended.",
        )


FAMILY = Family((*NEEDS.values(), CAPACITY), one_by_one(need))
