"""Nutrients carried away in clippings, where the log gives what was boxed off, weighed dry."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.soil.nutrients import LEAF_CONTENT_PCT, kg_ha, removed_g_m2
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import counted
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords

REMOVED = {
    symbol: Description(
        f"{word.lower()}_removed_kg_ha", f"{word} removed in clippings", "kg/ha", "nutrients",
        "Carried away in clippings that were boxed off; only where the log weighs them dry (clippings_g_m2).",
        f"Dry clippings × share of the green mown × {LEAF_CONTENT_PCT[symbol]:g} % of leaf dry matter. What irrigation "
        "water brings is not recorded by design: few greens' water is metered and analysed.",
        decimals=0 if symbol == "N" else 1, formulas=(removed_g_m2,), accumulates=True,
    )
    for symbol, word in (("N", "Nitrogen"), ("P", "Phosphorus"), ("K", "Potassium"))
}  # fmt: skip
"""Symbol of each nutrient told → its indicator."""


def clippings(records: GreenRecords) -> Iterator[Indicator]:
    """Nitrogen, phosphorus and potassium removed in the season's clippings (grain: nutrient)."""
    jobs = records.in_season(records.jobs)
    jobs = jobs.with_columns((pl.col("clippings_g_m2") * pl.col("share")).alias("dry_g_m2"))
    weighed = jobs.drop_nulls("dry_g_m2")
    if not weighed.height:
        return
    dry = float(weighed["dry_g_m2"].sum())
    bare = jobs.filter((pl.col("operation") == "mowing") & pl.col("dry_g_m2").is_null()).height
    verb = "is" if bare == 1 else "are"
    gap = f" {counted(bare, 'mowing')} without weighed clippings {verb} not in it." if bare else ""
    for symbol, what in REMOVED.items():
        content = LEAF_CONTENT_PCT[symbol]
        yield what.figure(
            kg_ha(removed_g_m2(dry, content)),
            weighed,
            note=AmountText("Dry clippings: ", Amount(dry, "g/m²", ".0f"), f".{gap}"),
            method=f"Dry clippings boxed off × {content:g} % of leaf dry matter (a seminar on it, 2014; not measured).",
        )


FAMILY = Family(tuple(REMOVED.values()), one_by_one(clippings))
