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
from schemas.codes import code_list, fold, spellings

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
    """The records with kind-specific last steps done, and faults.

    Args:
        kind: kind of record.
        records: typed frame with ``line``.
        below: for a number field, where its cell said "less than".
    """
    faults = [_below_fault(records, name, where) for name, where in below.items() if name != kind.value_field]
    step = _STEPS.get(kind.name)
    if step is not None:
        records, extra = step(records, below)
        faults.append(extra)
    return records, concat(faults)


def _below_fault(records: pl.DataFrame, name: str, where: pl.Series) -> pl.DataFrame:
    hit = records.filter(where)
    return BELOW_NOT_HERE.frame(hit["line"], "<" + hit[name].cast(pl.String), name)


def _soil_test(records: pl.DataFrame, below: Mapping[str, pl.Series]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Results in the unit of their analyte where a definition leads there; mg/l stays mg/l."""
    if "value" in below:
        records = records.with_columns((pl.col("below_limit").fill_null(False) | below["value"]).alias("below_limit"))
    below_limit = pl.col("below_limit").fill_null(value=False)
    records = records.with_columns(
        pl.when(pl.col("value").is_not_null() | below_limit).then(below_limit).alias("below_limit")
    )
    faults = []
    for (analyte, unit), part in records.group_by("analyte", "unit", maintain_order=True):
        if analyte is None or unit is None:
            continue
        code = code_list("analyte")[str(analyte)]
        wanted = code.facts["unit"] or "pH"
        here = (pl.col("analyte") == analyte) & (pl.col("unit") == unit)
        if unit == "lb/acre" and wanted == "mg/kg":
            bare = part.filter(pl.col("value").is_not_null() & _slice_mg_kg().is_null())
            faults.append(NO_SLICE.frame(bare["line"], bare["value"].cast(pl.String), "unit", analyte=code.label))
            records = records.with_columns(
                pl.when(here).then(_slice_mg_kg()).otherwise(pl.col("value")).alias("value"),
                pl.when(here).then(pl.lit(wanted)).otherwise(pl.col("unit")).alias("unit"),
            )
            part = part.with_columns(_slice_mg_kg().alias("value"))  # noqa: PLW2901
        elif unit != wanted and (unit, wanted) not in _KEPT:
            factor = _FACTOR.get((str(unit), wanted))
            if factor is None:
                faults.append(RESULT_UNIT.frame(part["line"], part["unit"], "unit", analyte=code.label, wanted=wanted))
                continue
            value = pl.when(here).then(pl.col("value") * factor).otherwise(pl.col("value"))
            records = records.with_columns(
                value.alias("value"), pl.when(here).then(pl.lit(wanted)).otherwise(pl.col("unit")).alias("unit")
            )
            part = part.with_columns(pl.col("value") * factor)  # noqa: PLW2901
        low, high = code.facts["low"], code.facts["high"]
        odd = part.filter((pl.col("value") < low) | (pl.col("value") > high))
        facts = {"analyte": code.label, "unit": wanted, "low": f"{low:g}", "high": f"{high:g}"}
        faults.append(RESULT_RANGE.frame(odd["line"], odd["value"].cast(pl.String), "value", **facts))
    return records, concat(faults)


def _slice_mg_kg() -> pl.Expr:
    """Pounds an acre in the sampled layer as mg/kg; null without a layer and its bulk density."""
    layer = pl.col("depth_to_mm") - pl.col("depth_from_mm").fill_null(0.0)
    said = (layer > 0) & pl.col("bulk_density_t_m3").is_not_null() & pl.col("depth_to_mm").is_not_null()
    layer, density = pl.when(said).then(layer), pl.when(said).then(pl.col("bulk_density_t_m3"))
    found: pl.Expr = mg_kg_from_lb_acre(pl.col("value"), layer, density)
    return found


def _green_speed(records: pl.DataFrame, below: Mapping[str, pl.Series]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Readings in seconds or metres; a device named by its unit where none is given; 27 m is not filled in.

    Feet of a timed bowl stay feet: they are refused later, and the person is told of the unit that was written.
    """
    feet = (pl.col("unit") == "ft") & pl.col("device").ne_missing("timed_bowl")
    records = records.with_columns(
        pl.when(feet).then(pl.col("value") * FEET).otherwise(pl.col("value")).alias("value"),
        pl.when(feet).then(pl.lit("m")).otherwise(pl.col("unit")).alias("unit"),
    )
    device = pl.when(pl.col("unit") == "s").then(pl.lit("timed_bowl")).otherwise(pl.lit("stimpmeter"))
    records = records.with_columns(pl.coalesce("device", device).alias("device"))
    hit = records.filter(below["value"]) if "value" in below else None
    if hit is None:
        return records, no_faults()
    return records, BELOW_NOT_HERE.frame(hit["line"], "<" + hit["value"].cast(pl.String), "value")


def _job(records: pl.DataFrame, _below: Mapping[str, pl.Series]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Spacing across is that along where only one is written (square pattern, common practice, no source)."""
    return records.with_columns(pl.coalesce("spacing_across_mm", "spacing_along_mm").alias("spacing_across_mm")), (
        no_faults()
    )


_STEPS: dict[str, Callable[[pl.DataFrame, Mapping[str, pl.Series]], tuple[pl.DataFrame, pl.DataFrame]]] = {
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
