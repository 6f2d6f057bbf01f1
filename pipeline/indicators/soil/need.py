"""What the soil needs: nutrients to the MLSN guideline, and exchange capacity by summation, without a verdict."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.agronomy.soil.mlsn import mlsn_need_g_m2, nutrient_use_g_m2
from pipeline.agronomy.soil.nutrients import kg_ha
from pipeline.agronomy.soil.reference import guideline
from pipeline.agronomy.soil.soil import Cation, cation_meq_100g, cec_by_summation, g_m2_from_mg_kg
from pipeline.common.amounts import Amount, AmountText, in_list, joined
from pipeline.common.words import listed
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.rows import Rows
from pipeline.indicators.feeding.nutrients import fed
from pipeline.indicators.soil.methods import apart, lab_parts
from pipeline.indicators.soil.soil import OF_RESULT, band_name, last_day, sampled, with_twins
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
LOOKED_AT = sorted({"ph", *CATIONS, *(one.analyte for one in NEEDED)})
"""Analytes that need and capacity are made from."""
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


def need(asked: Asked) -> Iterator[Indicator]:
    """Need of potassium and phosphorus to the MLSN guideline, and exchange capacity (grain: indicator)."""
    fed_so = asked.in_season(asked.once(fed)).filter(pl.col("nitrogen") > 0)
    feeds_of = {feeds.of: feeds for feeds in asked.each_season(fed_so, "job", "nitrogen")}
    rows = with_twins(asked.so_far(asked.soil.filter(pl.col("analyte").is_in(LOOKED_AT)))).drop_nulls("value")
    for every in asked.each_season(rows, "soil_test", *OF_RESULT, "from_mg_l"):
        records = asked.each[every.of]
        by_weight = every.having("unit", "mg/kg").where(lambda row: not row["below_limit"])
        if every.of in feeds_of:
            acid = list(_ph(every))
            for what in NEEDED:
                yield from _need(records, what, by_weight, feeds_of[every.of], acid)
        yield from _capacity(records, by_weight)


def _need(records: GreenRecords, what: Needed, every: Rows, feeds: Rows, acid: list[str]) -> Iterator[Indicator]:
    """The need over a season fed as this one was; none without a Mehlich-3 result of a stated layer, or nitrogen."""
    rows = every.having("analyte", what.analyte).having("extractant", "mehlich_3").having("depth_from_mm", None, 0.0)
    rows = rows.where(lambda row: (row["depth_to_mm"] or 0.0) > 0)
    if not rows:
        return
    rows = rows.having("date", last_day(rows))
    rows = rows.having("depth_to_mm", max(rows.column("depth_to_mm")))
    if len(labs := apart(rows, lab_parts)) > 1:
        means = [AmountText(Amount(part.mean("value"), "mg/kg", ".0f"), f" by {words}") for words, part in labs]
        day = f"{'in' if rows.rows[0]['date_to'] else 'on'} {sampled(rows)}"
        note = AmountText(in_list(means), f" {day}: not comparable, and no need is made of the one or the other.")
        yield NEEDS[what.analyte].figure(None, rows, standing="not comparable", note=note)
        return
    minimum = guideline("mlsn", records.options.mlsn)[what.symbol]
    soil, depth_mm = rows.mean("value"), float(rows.rows[0]["depth_to_mm"])
    own = rows.given("bulk_density_t_m3")
    density = own.mean("bulk_density_t_m3") if own else records.settings.bulk_density_t_m3
    nitrogen = feeds.total("nitrogen")
    use = nutrient_use_g_m2(nitrogen, what.nitrogen_parts, 1.0)
    amount = mlsn_need_g_m2(use, minimum, soil, depth_mm, density)
    whose = "the soil's" if own else "the workspace's setting"
    said = (Amount(use, "g/m²", ".1f"), Amount(soil, "mg/kg", ".0f"), Amount(minimum, "mg/kg"))
    when = f"; sampled {sampled(rows)}."
    made_of = AmountText("Use ", said[0], ", soil ", said[1], ", guideline ", said[2], when)
    yield NEEDS[what.analyte].figure(
        kg_ha(amount),
        rows,
        note=joined(" ", [made_of, *acid]),
        method=f"Use + (guideline − soil) × depth × bulk density, never below zero: MLSN {records.options.mlsn}, "
        f"{depth_mm:g} mm, {density:g} t/m³ ({whose}); use is the season's nitrogen ÷ {what.nitrogen_parts:g} "
        f"({what.source}).",
        places=(*rows.evidence, *feeds.evidence),
    )


def _ph(every: Rows) -> Iterator[str]:
    """A word where the guideline may not hold: soil more acid than its own samples, or of unknown pH."""
    rows = every.having("analyte", "ph")
    if not rows:
        yield f"The guideline holds above pH {LOWEST_PH:g}; the pH is not on record."
        return
    means = [(part.mean("value"), words) for words, part in apart(rows.having("date", last_day(rows)), lab_parts)]
    if min(means)[0] <= LOWEST_PH:
        said = listed([f"{mean:.1f} by {words}" if words else f"{mean:.1f}" for mean, words in means])
        yield f"The guideline holds above pH {LOWEST_PH:g}; here it is {said}."


def _capacity(records: GreenRecords, rows: Rows) -> Iterator[Indicator]:
    """Exchange capacity of each extractant's latest sample that has calcium, magnesium and potassium.

    Several samples of that day and layer are a figure each, their band parted by laboratory and number.
    """
    bases = rows.having("analyte", *CATIONS)
    whole = [(key, of) for key, of in bases.split(*SAMPLE).items() if {*of.column("analyte")} >= {*list(CATIONS)[:3]}]
    latest: dict[str | None, tuple[Any, ...]] = {}
    for key, _ in sorted(whole, key=lambda one: (one[0][0], one[0][2] is not None, one[0][2] or 0.0)):
        latest[key[3]] = key[:4]
    samples = [(key, of) for key, of in whole if latest[key[3]] == key[:4]]
    many = Counter(key[3] for key, _ in samples)
    for key, sample in sorted(samples, key=lambda one: [(name is None, name or "") for name in one[0][3:]]):
        yield _summed(records, key, sample, several=many[key[3]] > 1)


def _summed(records: GreenRecords, key: tuple[Any, ...], sample: Rows, *, several: bool) -> Indicator:
    """Exchange capacity of one sample; ``key`` as in ``SAMPLE``."""
    _, top, foot, by, *beside = key
    mg_kg = {CATIONS[name]: part.mean("value") for (name,), part in sample.split("analyte").items()}
    weights = records.options.cation_weights
    found = cec_by_summation(mg_kg, weights)
    parts = ", ".join(f"{symbol} {found[symbol]:.2f}" for symbol in CATIONS.values() if symbol in found)
    sodium = "" if "Na" in mg_kg else " Without sodium, which was not measured."
    extractant = code_list("extractant")[by].label if by else "extractant not stated"
    return CAPACITY.figure(
        math.fsum(found.values()),
        sample,
        band=", ".join(filter(None, [extractant, *(beside if several else ())])),
        note=f"{parts}.{sodium} Sampled {sampled(sample)}.",
        method=f"Sum of the bases, {_WEIGHTS.get(weights, weights)} equivalent weights, {band_name(top, foot)}; "
        "acidity is not recorded, so that an acid soil holds more. No verdict: no target is recommended.",
    )


FAMILY = Family((*NEEDS.values(), CAPACITY), need)
