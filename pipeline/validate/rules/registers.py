"""Rules for registers: a mix that is more than the whole, a green whose size contradicts its area."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, concat

MIX_TOO_MUCH = FaultKind(
    "mix.too_much",
    "Parts of a mix come to more than the whole",
    "Sand and soil come to {value} %.",
    "Write shares by mass that come to at most 100.",
)
LIQUID_BASIS = FaultKind(
    "analysis.liquid",
    "Liquid's analysis by weight or by volume?",
    "The figures of a liquid (“{value}”) are by weight (g in 100 g) or by volume (g in 100 ml); nothing says which.",
    "Write w/w or w/v into analysis_by, as on the label; by weight needs the density too.",
)
SIZE_AND_AREA = FaultKind(
    "area.size",
    "Length, width and area contradict each other",
    "Length times width is {value} m², far from the area given.",
    "Measure again, or leave blank what is not sure; the area is what rates are made from (a tenth apart is "
    "asked about: common practice, no source).",
    severity="warning",
)
CLOSED_BEFORE_LAID = FaultKind(
    "green.closed",
    "Green closed before it was laid",
    "The green was closed on {value}, before the day it was laid.",
    "Check laid_on and closed_on.",
)
ROUNDING = 0.5
"""Percent that rounded shares of a mix may come to above 100."""
PARTS = ("n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "ca_pct", "mn_pct")
"""What a label gives in percent."""
AREA_APART = 0.10
"""Share by which length × width may differ from the area: common practice, no source."""


def check_material(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of materials that single fields cannot show."""
    total = pl.col("sand_pct") + pl.col("soil_pct")
    unsaid = (pl.col("form") == "liquid") & pl.any_horizontal(pl.col(PARTS) > 0) & pl.col("analysis_by").is_null()
    return concat(
        [
            MIX_TOO_MUCH.of(records.filter(total > 100 + ROUNDING), "sand_pct", total),
            LIQUID_BASIS.of(records.filter(unsaid), "analysis_by", pl.col("material")),
        ]
    )


def check_green(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of greens that single fields cannot show."""
    size = pl.col("length_m") * pl.col("width_m")
    apart = (size - pl.col("area_m2")).abs() > AREA_APART * pl.col("area_m2")
    return concat(
        [
            SIZE_AND_AREA.of(records.filter(apart), "area_m2", size.round(0)),
            CLOSED_BEFORE_LAID.of(records.filter(pl.col("closed_on") < pl.col("laid_on")), "closed_on"),
        ]
    )
