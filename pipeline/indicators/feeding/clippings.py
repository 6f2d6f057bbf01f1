"""Nutrients carried away in clippings, where the log gives what was boxed off, weighed dry."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.soil.nutrients import LEAF_CONTENT_PCT, kg_ha, removed_g_m2
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import counted
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_season import Indicator

REMOVED = {
    symbol: Description(
        f"{word.lower()}_removed_kg_ha", f"{word} removed in clippings", "kg/ha", "nutrients",
        "Carried away in clippings that were boxed off; only where the log weighs them dry (clippings_g_m2).",
        f"Dry clippings × share of the green mown × {LEAF_CONTENT_PCT[symbol]:g} % of leaf dry matter. What irrigation "
        "water brings is not recorded by design: few greens' water is metered and analysed.",
        decimals=0 if symbol == "N" else 1, formulas=(removed_g_m2,), accumulates=True,
        added_by=("mowing",),
    )
    for symbol, word in (("N", "Nitrogen"), ("P", "Phosphorus"), ("K", "Potassium"))
}  # fmt: skip
"""Symbol of each nutrient told → its indicator."""


def clippings(asked: Asked) -> Iterator[Indicator]:
    """Nitrogen, phosphorus and potassium removed in the seasons' clippings (grain: nutrient)."""
    jobs = asked.in_season(asked.jobs).with_columns((pl.col("clippings_g_m2") * pl.col("share")).alias("dry_g_m2"))
    mown = jobs.filter((pl.col("operation") == "mowing") & pl.col("dry_g_m2").is_null())
    bare_of = dict(mown.group_by("of", maintain_order=True).len().iter_rows())
    for weighed in asked.each_season(jobs.drop_nulls("dry_g_m2"), "job", "dry_g_m2"):
        dry, bare = weighed.total("dry_g_m2"), bare_of.get(weighed.of, 0)
        verb = "is" if bare == 1 else "are"
        gap = f" {counted(bare, 'mowing')} without weighed clippings {verb} not in it." if bare else ""
        for symbol, what in REMOVED.items():
            content = LEAF_CONTENT_PCT[symbol]
            yield what.figure(
                kg_ha(removed_g_m2(dry, content)),
                weighed,
                note=AmountText("Dry clippings: ", Amount(dry, "g/m²", ".0f"), f".{gap}"),
                method=f"Dry clippings boxed off × {content:g} % of leaf dry matter (a seminar on it, 2014; not "
                "measured).",
            )


FAMILY = Family(tuple(REMOVED.values()), clippings)
