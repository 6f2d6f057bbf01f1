"""Dressing by trays laid on the green: a second basis beside the delivery note, and what did not land on the green."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.agronomy import dressing as formula
from pipeline.common.amounts import Amount, AmountText
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords, lacking
from pipeline.indicators.works.dressing import dressings

WAY = "Dry mass caught ÷ opening of the tray × share of the green dressed, summed over the dressings that were caught."

TRAYS = Description(
    "dressing_tray_kg_m2", "Top dressing by trays", "kg/m²", "dressing",
    "What trays on the green caught: a second basis beside the delivery note; the note says how far it is off.",
    "Dry mass caught ÷ opening of the tray (tray_g, tray_cm2) × share of the green dressed, summed over the dressings "
    "that were caught.", decimals=2, formulas=(formula.tray_rate_kg_m2,), accumulates=True,
)  # fmt: skip
AS_DEPTH = Description(
    "dressing_tray_mm", "The same as depth", "mm", "dressing", "What the trays caught, as a layer.",
    "kg/m² caught ÷ dry bulk density.", formulas=(formula.tray_depth_mm,), accumulates=True,
)  # fmt: skip
OFF_GREEN = Description(
    "dressing_off_green_kg", "Dressing that did not land on the green", "kg", "dressing",
    "Overspread, left over, or an error of note or tray.",
    "Dry mass delivered − rate by tray × the area of the green dressed; without a tray, where the treated area is "
    "larger than the green, by that area.", decimals=0, formulas=(formula.tray_rate_kg_m2, formula.off_green_kg),
    accumulates=True,
)  # fmt: skip


def trays(records: GreenRecords) -> Iterator[Indicator]:
    """Dressing by trays, and what was delivered and did not land on the green (grain: indicator)."""
    every = _rates(records.in_season(dressings(records)))
    yield from _caught(every)
    yield from _off_green(every.drop_nulls("green_m2"))


def _rates(rows: pl.DataFrame) -> pl.DataFrame:
    """Dressings with ``tray_kg_m2`` and ``tray_mm`` over the whole green; null where no tray was weighed."""
    caught, opening = pl.col("tray_g"), pl.col("tray_cm2")
    return rows.with_columns(
        (formula.tray_rate_kg_m2(caught, opening) * pl.col("share")).alias("tray_kg_m2"),
        (formula.tray_depth_mm(caught, opening, pl.col("density")) * pl.col("share")).alias("tray_mm"),
    )


def _caught(every: pl.DataFrame) -> Iterator[Indicator]:
    rows = every.drop_nulls("tray_kg_m2")
    if not rows.height:
        return
    said = lacking(every, rows, "dressings without a tray are not in it.")
    note = AmountText(_beside(rows), " " if said else "", said)
    yield TRAYS.figure(float(rows["tray_kg_m2"].sum()), rows, note=note, method=WAY)
    densities = ", ".join(f"{value:g}" for value in rows["density"].unique().sort())
    how = f"kg/m² caught ÷ dry bulk density ({densities} t/m³)."
    yield AS_DEPTH.figure(float(rows["tray_mm"].sum()), rows, note=said, method=how)


def _beside(rows: pl.DataFrame) -> str:
    """What the delivery notes of the same dressings say, and how far the trays are from it."""
    both = rows.drop_nulls("kg_m2")
    if not both.height:
        return "The same dressings have no mass by delivery note."
    noted, caught = float(both["kg_m2"].sum()), float(both["tray_kg_m2"].sum())
    apart = f": the trays say {100 * (caught / noted - 1):+.0f} %." if noted else "."
    return AmountText("By delivery note the same dressings are ", Amount(noted, "kg/m²", ".2f"), apart)


def _off_green(every: pl.DataFrame) -> Iterator[Indicator]:
    """Mass delivered less what landed on the green: by its trays, else by a treated area larger than the green."""
    wide = pl.col("treated_area_m2") > pl.col("green_m2")
    landed = pl.coalesce("tray_kg_m2", pl.when(wide).then(pl.col("kg_m2")))
    rows = every.with_columns(landed.alias("landed")).drop_nulls(["landed", "dry_kg"])
    if not rows.height:
        return
    left = formula.off_green_kg(pl.col("dry_kg"), pl.col("landed"), pl.col("green_m2"))
    by_tray = rows["tray_kg_m2"].is_not_null().sum()
    yield OFF_GREEN.figure(
        float(rows.select(left.sum()).item()),
        rows,
        note=f"Overspread, left over, or an error of note or tray. {by_tray} of {rows.height} dressings by trays, the "
        "others by a treated area larger than the green.",
        method="Dry mass delivered − rate that landed × area of the green dressed; below zero the trays say more.",
    )


FAMILY = Family((TRAYS, AS_DEPTH, OFF_GREEN), one_by_one(trays))
