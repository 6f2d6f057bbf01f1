"""What one kind of record needs beyond its single fields: results into their stored unit, "less than" kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import polars as pl

from pipeline.agronomy.soil.soil import mg_kg_from_lb_acre
from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.profiles.style import Refused
from pipeline.standardise import levelled, observed
from pipeline.standardise.cells import units
from schemas import Kind
from schemas.codes import Code, code_list, fold, spellings

RESULT_UNIT = FaultKind(
    "unit.analyte",
    "Unit does not fit what was measured",
    "{analyte} in “{value}” cannot be stored in {wanted}.",
    "Ask the laboratory which unit its figure is in; mg/l becomes mg/kg only with a density, which is not guessed.",
)
NO_SLICE = FaultKind(
    "unit.slice",
    "Pounds an acre of soil of unknown weight",
    "{analyte} of {value} lb/acre is so much in a slice whose depth and bulk density are not both given.",
    "Fill in depth_from_mm, depth_to_mm and bulk_density_t_m3. A laboratory that doubles its mg/kg means a slice of 6 "
    "inches that weighs 2 million lb an acre: 0 to 152.4 mm at 1.471 t/m3.",
)
RESULT_RANGE = FaultKind(
    "value.analyte",
    "Result outside what is possible",
    "{analyte} of {value} {unit} cannot be: possible is {low} to {high}.",
    "Check the figure and its unit against the laboratory's sheet.",
)
BELOW_NOT_HERE = FaultKind(
    "number.below",
    "“Less than” where a figure is needed",
    "{column}: “{value}” is a limit, not a figure.",
    "Only a result of a laboratory can be below a limit; write the figure, or leave the cell blank.",
)
FEET = 0.3048
"""Metres in a foot, exact (international foot)."""

# Factors between the units a laboratory writes and the one an analyte is stored in: definitions.
_FACTOR = {("g/kg", "%"): 0.1, ("mg/kg", "%"): 1e-4, ("%", "g/kg"): 10.0, ("%", "mg/kg"): 1e4, ("g/kg", "mg/kg"): 1e3}
_KEPT = {("mg/l", "mg/kg")}
"""Stays in its own unit: not comparable with the other, but a result all the same."""


def finish(kind: Kind, records: pl.DataFrame, below: Mapping[str, pl.Series]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The typed records with kind-specific last steps done, and faults; ``below``: where a field said "less than"."""
    faults = []
    for name, where in below.items():
        if name != kind.value_field or "below_limit" not in kind.by_name:
            fault = _BELOW.get(kind.name, BELOW_NOT_HERE) if name == kind.value_field else BELOW_NOT_HERE
            faults.append(fault.of(records.filter(where), name, "<" + pl.col(name).cast(pl.String)))
    if "value" in below and "below_limit" in kind.by_name:
        records = records.with_columns((pl.col("below_limit").fill_null(False) | below["value"]).alias("below_limit"))
    if kind.name in _STEPS:
        records, extra = _STEPS[kind.name](records)
        faults.append(extra)
    return records, concat(faults)


def _soil_test(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Results in the unit of their analyte where a definition leads there; mg/l stays mg/l."""
    below_limit = pl.col("below_limit").fill_null(value=False)
    records = records.with_columns(
        pl.when(pl.col("value").is_not_null() | below_limit).then(below_limit).alias("below_limit")
    )
    faults, parts = [], []
    for (analyte, unit), part in records.with_row_index("row").group_by("analyte", "unit", maintain_order=True):
        if analyte is not None and unit is not None:
            part, found = _in_stored_unit(part, code_list("analyte")[str(analyte)], str(unit))  # noqa: PLW2901
            faults += found
        parts.append(part)
    return pl.concat(parts).sort("row", maintain_order=True).drop("row") if parts else records, concat(faults)


def _in_stored_unit(part: pl.DataFrame, code: Code, unit: str) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """Results of one analyte and unit turned into the analyte's own, and the faults of those that cannot be right."""
    wanted, low, high = (code.facts["unit"] or "pH"), code.facts["low"], code.facts["high"]
    turned = _turned(unit, wanted)
    if turned is None:
        return part, [RESULT_UNIT.of(part, "unit", analyte=code.label, wanted=wanted)]
    kept = unit if (unit, wanted) in _KEPT else wanted
    done = part.with_columns(turned.alias("value"), pl.lit(kept).alias("unit"))
    lost = part.filter(pl.col("value").is_not_null() & done["value"].is_null())
    odd = done.filter(~pl.col("value").is_between(low, high))
    as_text, facts = pl.col("value").cast(pl.String), {"unit": wanted, "low": f"{low:g}", "high": f"{high:g}"}
    return done, [
        NO_SLICE.of(lost, "unit", as_text, analyte=code.label),
        RESULT_RANGE.of(odd, "value", as_text, analyte=code.label, **facts),
    ]


def _turned(unit: str, wanted: str) -> pl.Expr | None:
    """Results in the unit wanted, or in their own where that is kept; None where nothing leads there."""
    if unit == wanted or (unit, wanted) in _KEPT:
        return pl.col("value")
    if (unit, wanted) == ("lb/acre", "mg/kg"):
        return _slice_mg_kg()
    factor = _FACTOR.get((unit, wanted))
    return None if factor is None else pl.col("value") * factor


def _slice_mg_kg() -> pl.Expr:
    """Pounds an acre in the sampled layer as mg/kg; null without a layer and its bulk density."""
    layer = pl.col("depth_to_mm") - pl.col("depth_from_mm").fill_null(0.0)
    said = (layer > 0) & pl.col("bulk_density_t_m3").is_not_null() & pl.col("depth_to_mm").is_not_null()
    layer, density = pl.when(said).then(layer), pl.when(said).then(pl.col("bulk_density_t_m3"))
    found: pl.Expr = mg_kg_from_lb_acre(pl.col("value"), layer, density)
    return found


def _green_speed(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Readings in seconds or metres; a device named by its unit where none is given; 27 m is not filled in.

    Feet of a timed bowl stay feet: they are refused later, and the person is told of the unit that was written.
    """
    feet = (pl.col("unit") == "ft") & pl.col("device").ne_missing("timed_bowl")
    device = pl.when(pl.col("unit") == "s").then(pl.lit("timed_bowl")).otherwise(pl.lit("stimpmeter"))
    metres = records.with_columns(
        pl.when(feet).then(pl.col("value") * FEET).otherwise(pl.col("value")).alias("value"),
        pl.when(feet).then(pl.lit("m")).otherwise(pl.col("unit")).alias("unit"),
        pl.coalesce("device", device).alias("device"),
    )
    return metres, no_faults()


def _job(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Spacing across is that along where only one is written (square pattern, common practice, no source)."""
    across = pl.coalesce("spacing_across_mm", "spacing_along_mm").alias("spacing_across_mm")
    return records.with_columns(across), no_faults()


_BELOW = {"observation": observed.BELOW_A_LIMIT, "level": levelled.BELOW_A_LIMIT}
"""What is said of “less than” in the value of a kind, where it is not the same as of any other field."""
_STEPS: dict[str, Callable[[pl.DataFrame], tuple[pl.DataFrame, pl.DataFrame]]] = {
    "soil_test": _soil_test,
    "green_speed": _green_speed,
    "job": _job,
    "observation": observed.observations,
    "level": levelled.levels,
}


def same_unit(one: str, other: str) -> bool:
    """Whether two spellings name the same unit."""
    words = spellings("soil_unit")
    if fold(one) == fold(other) or (fold(one) in words and words.get(fold(one)) == words.get(fold(other))):
        return True
    try:
        return units.scale(one, other) == (1.0, 0.0)
    except Refused:
        return False
