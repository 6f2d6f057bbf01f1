"""Dressing by trays laid on the green: a second basis beside the delivery note, and what did not land on the green."""

from __future__ import annotations

import math
from collections.abc import Iterator

import polars as pl

from pipeline.agronomy import dressing as formula
from pipeline.common.amounts import Amount, AmountText
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import lacking
from pipeline.indicators.base.rows import Row, Rows
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


def trays(asked: Asked) -> Iterator[Indicator]:
    """Dressing by trays, and what was delivered and did not land on the green (grain: indicator)."""
    rows = _rates(asked.in_season(asked.once(dressings)))
    for every in asked.each_season(rows, "job", *OF_TRAYS):
        yield from _caught(every)
        yield from _off_green(every.given("green_m2"))


OF_TRAYS = ("tray_kg_m2", "tray_mm", "density", "kg_m2", "dry_kg", "green_m2", "treated_area_m2")


def _rates(rows: pl.DataFrame) -> pl.DataFrame:
    """Dressings with ``tray_kg_m2`` and ``tray_mm`` over the whole green; null where no tray was weighed."""
    caught, opening = pl.col("tray_g"), pl.col("tray_cm2")
    return rows.with_columns(
        (formula.tray_rate_kg_m2(caught, opening) * pl.col("share")).alias("tray_kg_m2"),
        (formula.tray_depth_mm(caught, opening, pl.col("density")) * pl.col("share")).alias("tray_mm"),
    )


def _caught(every: Rows) -> Iterator[Indicator]:
    rows = every.given("tray_kg_m2")
    if not rows:
        return
    said = lacking(every, rows, "dressings without a tray are not in it.")
    note = AmountText(_beside(rows), " " if said else "", said)
    yield TRAYS.figure(rows.total("tray_kg_m2"), rows, note=note, method=WAY)
    densities = ", ".join(f"{value:g}" for value in sorted(set(rows.column("density"))))
    how = f"kg/m² caught ÷ dry bulk density ({densities} t/m³)."
    yield AS_DEPTH.figure(rows.total("tray_mm"), rows, note=said, method=how)


def _beside(rows: Rows) -> str:
    """What the delivery notes of the same dressings say, and how far the trays are from it."""
    both = rows.given("kg_m2")
    if not both:
        return "The same dressings have no mass by delivery note."
    noted, caught = both.total("kg_m2"), both.total("tray_kg_m2")
    apart = f": the trays say {100 * (caught / noted - 1):+z.0f} %." if noted else "."
    return AmountText("By delivery note the same dressings are ", Amount(noted, "kg/m²", ".2f"), apart)


def _off_green(every: Rows) -> Iterator[Indicator]:
    """Mass delivered less what landed on the green: by its trays, else by a treated area larger than the green."""
    rows = every.given("dry_kg").where(lambda row: _landed(row) is not None)
    if not rows:
        return
    left = [formula.off_green_kg(row["dry_kg"], _landed(row), row["green_m2"]) for row in rows]
    yield OFF_GREEN.figure(
        math.fsum(left),
        rows,
        note="Overspread, left over, or an error of note or tray. "
        f"{len(rows.given('tray_kg_m2'))} of {len(rows)} dressings by trays, the others by a treated area larger than "
        "the green.",
        method="Dry mass delivered − rate that landed × area of the green dressed; below zero the trays say more.",
    )


def _landed(row: Row) -> float | None:
    """What landed on the green, kg/m², by the tray, or by a treated area larger than the green; None else."""
    if row["tray_kg_m2"] is not None:
        return float(row["tray_kg_m2"])
    return row["kg_m2"] if (row["treated_area_m2"] or 0.0) > row["green_m2"] else None


FAMILY = Family((TRAYS, AS_DEPTH, OFF_GREEN), trays)
