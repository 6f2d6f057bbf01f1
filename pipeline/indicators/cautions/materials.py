"""Cautions about what was put on: iron, dry sand, fertiliser near water, heavy bags."""

from __future__ import annotations

import polars as pl

from pipeline.common.amounts import Amount, AmountText, joined
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Caution
from pipeline.indicators.cautions.trigger import COMMON, caution

HEAVY_PACK_KG = 25.0
"""Packs from this mass on are named: below about 25 kg, gripped close to the body in good conditions, the risk to most
people is low (HSE, agriculture, manual handling). It is no limit: the regulations set none."""
HAND_PACK_KG = 100.0
"""A pack above this is taken to be moved by machine: common practice, no source."""
WATER_DISTANCE_M = 2.0
"""No manufactured nitrogen nearer to surface water than this (Defra, nitrate vulnerable zones, leaflet 9)."""


def iron(records: GreenRecords) -> Caution | None:
    """Feeds whose label gives iron."""
    rows = _put_on(records).filter(pl.col("fe_pct") > 0)
    text = (
        "Iron stains paving, stone and footwear: sweep it off hard surfaces, keep it out of drains and off wet shoes."
    )
    brief = "Iron stains: sweep it off paving and stone, keep it out of drains and off wet shoes."
    return caution(text, COMMON, rows, brief=brief)


def sand(records: GreenRecords) -> Caution | None:
    """Dressings, but for those that the register says hold no sand."""
    dressing = (pl.col("sort") == "top_dressing") | (pl.col("operation") == "top_dressing")
    rows = _put_on(records).filter(dressing.fill_null(False) & (pl.col("sand_pct").fill_null(100.0) > 0))
    text = (
        "Dry sand raises respirable silica dust: keep the dressing damp, stay upwind, and use breathing protection as "
        "the site's own assessment says."
    )
    source = "“EH40/2005 Workplace exposure limits”: respirable crystalline silica, 0.1 mg/m³ over 8 h (UK)"
    unsaid = rows.filter(pl.col("sand_pct").is_null()).height
    brief = "Dry sand raises silica dust: damp it, stay upwind, breathing protection as the site's assessment says."
    said = "share of sand not on record for all of them" if unsaid else ""
    return caution(text, source, rows, said, brief=brief, by="EH40/2005")


def water(records: GreenRecords) -> Caution | None:
    """Feeds whose label gives nitrogen or phosphorus."""
    rows = feeds(records)
    text = AmountText(
        "Keep fertiliser out of drains and watercourses: by nitrate-zone rules ",
        Amount(WATER_DISTANCE_M, "m"),
        " off surface water and never on frozen or waterlogged ground. Check what holds here; the label decides.",
    )
    source = "Defra, nitrate vulnerable zones, leaflet 9 (for farmland)"
    brief = AmountText(
        "Feed: not in drains or within ",
        Amount(WATER_DISTANCE_M, "m"),
        " of water, nor on frozen or sodden ground; law and label decide.",
    )
    return caution(text, source, rows, brief=brief, by="Defra leaflet 9")


def bags(records: GreenRecords) -> Caution | None:
    """Packs that a person may have lifted, at or above the guideline figure."""
    rows = _put_on(records).filter(pl.col("pack_kg").is_between(HEAVY_PACK_KG, HAND_PACK_KG))
    text = AmountText(
        "Bags of ",
        Amount(HEAVY_PACK_KG, "kg"),
        " or more: use a truck or lift with two; the employer's own assessment decides.",
    )
    brief = AmountText(
        "Bags of ",
        Amount(HEAVY_PACK_KG, "kg"),
        " or more: a truck, or two to lift; the employer's own assessment decides.",
    )
    source, by = "HSE, agriculture, manual handling; no legal limit", "HSE manual handling"
    return caution(text, source, rows, _sizes(rows), brief=brief, by=by)


def feeds(records: GreenRecords) -> pl.DataFrame:
    """What was put on in the season with nitrogen or phosphorus on its label (grain: job)."""
    return _put_on(records).filter((pl.col("n_pct") > 0) | (pl.col("p_pct") > 0))


def _put_on(records: GreenRecords) -> pl.DataFrame:
    return records.in_season(records.applications)


def _sizes(rows: pl.DataFrame) -> str:
    sizes = rows["pack_kg"].unique().sort()
    ends = dict.fromkeys((*sizes.head(1), *sizes.tail(1)))
    return AmountText("packs of ", joined(" and ", [AmountText(Amount(size, "kg")) for size in ends]))
