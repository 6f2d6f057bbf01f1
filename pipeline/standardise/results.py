"""Results of a laboratory: oxides and ions as the element, the unit of the analyte, zero against the limit."""

from __future__ import annotations

from typing import Any

import polars as pl

from pipeline.agronomy.soil.nutrients import ATOMIC_WEIGHT, LABORATORY_FORM
from pipeline.agronomy.soil.soil import mg_kg_from_lb_acre
from pipeline.common.faults import FaultKind, concat
from schemas.codes import Code, analytes, code_list

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
EITHER = FaultKind(
    "analyte.either",
    "Oxide, ion or element?",
    "{value} of {analyte} is {readings}; laboratories use the word for each, and nothing says which.",
    "Look at the laboratory's sheet and say in the source profile which it is: {analyte} = {words} under "
    "[aliases.analyte], or as the analyte where the profile sets it.",
)
AS_ELEMENT = FaultKind(
    "analyte.as_element",
    "Oxide or ion turned into the element",
    "{analyte}: given as {form}; it is kept as {element}, the figure times {factor} (atomic weights).",
    "Nothing to do if the laboratory's sheet says {form}.",
    "note",
)
CHARGE = FaultKind(
    "unit.charge",
    "Charge turned into mass",
    "{analyte}: given as charge ({unit}); it is kept in mg/kg, the figure times {factor} (atomic weight and charge).",
    "Nothing to do; a laboratory that works with round weights differs by up to 1.3 %.",
    "note",
)
ZERO_BELOW = FaultKind(
    "value.zero_below",
    "Zero below the limit that other results give",
    "{analyte}: 0 {unit}, where others of this file are given as less than {limit}; it is kept as 0.",
    'Write "<{limit}" where it was looked for and not found, and leave the cell blank where it was not measured.',
    "warning",
)
LESS_THAN_ZERO = FaultKind(
    "value.less_than_zero",
    "Less than nothing",
    "{analyte}: less than 0 cannot be; it is kept as below a limit that is not told.",
    "Write the laboratory's limit instead of the 0.",
    "warning",
)

# Factors between the units a laboratory writes and the one an analyte is stored in: definitions.
_FACTOR = {
    ("g/kg", "%"): 0.1,
    ("mg/kg", "%"): 1e-4,
    ("%", "g/kg"): 10.0,
    ("%", "mg/kg"): 1e4,
    ("g/kg", "mg/kg"): 1e3,
    ("fraction", "%"): 100.0,
    ("fraction", "mg/kg"): 1e6,
    ("µg/kg", "mg/kg"): 1e-3,
    ("mg/100g", "mg/kg"): 10.0,
    ("mmolc/kg", "meq/100g"): 0.1,
    ("mS/m", "dS/m"): 0.01,
    ("µS/cm", "dS/m"): 0.001,
}
_KEPT = {("mg/l", "mg/kg")}
"""Stays in its own unit: not comparable with the other, but a result all the same."""
_CHARGES = {"meq/100g": 10.0, "mmolc/kg": 1.0}
"""Units of charge, with the milligrams in a kilogram that one of them makes of a weight of 1 with one charge."""


def soil_tests(records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Results as the element, in the unit of their analyte where a definition leads there; mg/l stays mg/l."""
    below_limit = pl.col("below_limit").fill_null(value=False)
    records = records.with_columns(
        pl.when(pl.col("value").is_not_null() | below_limit).then(below_limit).alias("below_limit")
    )
    stored, faults, parts = analytes(), [], []
    bare = [name for name, code in stored.items() if code.facts.get("unit") == ""]  # a pH has no unit to be written
    unsaid = pl.col("analyte").is_in(bare) & pl.col("unit").is_null()
    records = records.with_columns(pl.when(unsaid).then(pl.lit("pH")).otherwise("unit").alias("unit"))
    for (analyte, unit), part in records.with_row_index("row").group_by("analyte", "unit", maintain_order=True):
        if analyte is not None and unit is not None:
            code = code_list("analyte")[str(analyte)]
            part, found = _as_element(part, code, str(unit))  # noqa: PLW2901
            faults += found
            if "either" not in code.facts:
                own = stored[str(code.facts.get("of", analyte))]
                part, found = _in_stored_unit(part, own, str(unit), code)  # noqa: PLW2901
                faults += found
        parts.append(part)
    if not parts:
        return records, concat(faults)
    done = pl.concat(parts).sort("row", maintain_order=True).drop("row")
    return _limits(done, faults), concat(faults)


def _as_element(part: pl.DataFrame, code: Code, unit: str) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """Results of an oxide or ion as those of its element; a word that may mean one of several is refused."""
    if "either" in code.facts:
        return part, [_either(part, code, unit)]
    if "of" not in code.facts:
        return part, []
    element, form = str(code.facts["of"]), str(code.facts["form"])
    factor = LABORATORY_FORM[form]
    note = AS_ELEMENT.at(
        column="analyte",
        analyte=code.label,
        form=form,
        element=analytes()[element].label.lower(),
        factor=f"{factor:.4g}",
    )
    return part.with_columns(pl.lit(element).alias("analyte"), (pl.col("value") * factor).round_sig_figs(12)), [note]


def _either(part: pl.DataFrame, code: Code, unit: str) -> pl.DataFrame:
    """The faults of results under a word that means one of several analytes, with what each would be."""
    several = [code_list("analyte")[name] for name in code.facts["either"]]
    words = " or ".join(f'"{one.name}"' for one in several)
    faults = []
    for (value,), same in part.group_by("value", maintain_order=True):
        readings = " or ".join(_reading(value, one, unit) for one in several)
        facts = {"analyte": code.name, "readings": readings, "words": words}
        faults.append(EITHER.of(same, "analyte", pl.lit("a result" if value is None else f"{value:g} {unit}"), **facts))
    return concat(faults)


def _reading(value: Any, code: Code, unit: str) -> str:
    if "of" not in code.facts or value is None:
        return f"{'' if value is None else f'{value:g} {unit} of '}{code.label.lower()} if the element is meant"
    element = analytes()[str(code.facts["of"])].label.lower()
    form = str(code.facts["form"])
    return f"{value * LABORATORY_FORM[form]:.4g} {unit} of {element} if {form} is meant"


def _in_stored_unit(part: pl.DataFrame, code: Code, unit: str, given: Code) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """Results of one analyte and unit turned into the analyte's own, and the faults of those that cannot be right."""
    wanted, low, high = (code.facts["unit"] or "pH"), code.facts["low"], code.facts["high"]
    turned, notes = _turned(unit, wanted), []
    if unit in _CHARGES and wanted == "mg/kg" and given is code and "charge" in code.facts:
        factor = _CHARGES[unit] * ATOMIC_WEIGHT[str(code.facts["element"])] / float(code.facts["charge"])
        turned = (pl.col("value") * factor).round_sig_figs(12)
        notes = [
            CHARGE.at(
                column="unit", analyte=code.label, unit=code_list("soil_unit")[unit].label, factor=f"{factor:.5g}"
            )
        ]
    if turned is None:
        return part, [RESULT_UNIT.of(part, "unit", analyte=given.label, wanted=wanted)]
    kept = unit if (unit, wanted) in _KEPT else wanted
    done = part.with_columns(turned.alias("value"), pl.lit(kept).alias("unit"))
    lost = part.filter(pl.col("value").is_not_null() & done["value"].is_null())
    odd = done.filter(~pl.col("value").is_between(low, high))
    as_text, facts = pl.col("value").cast(pl.String), {"unit": wanted, "low": f"{low:g}", "high": f"{high:g}"}
    return done, [
        *notes,
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


def _limits(records: pl.DataFrame, faults: list[pl.DataFrame]) -> pl.DataFrame:
    """The records, "less than 0" without the 0; zeros where others say "less than" are asked about."""
    zero = pl.col("value") == 0.0
    if not records.select(zero.any()).item():
        return records
    nothing = (zero & pl.col("below_limit")).fill_null(value=False)
    by_thing = pl.col("value").filter(pl.col("below_limit") & ~zero).min().over("analyte", "unit")
    seen = records.with_columns(by_thing.alias("least")).filter(zero)
    for (analyte, unit, least), same in seen.group_by("analyte", "unit", "least", maintain_order=True):
        label = code_list("analyte")[str(analyte)].label if analyte is not None else ""
        faults.append(LESS_THAN_ZERO.of(same.filter(nothing), "value", analyte=label))
        if least is not None:
            asked = same.filter(~nothing)
            faults.append(ZERO_BELOW.of(asked, "value", analyte=label, unit=unit or "", limit=f"{least:g}"))
    return records.with_columns(pl.when(~nothing).then("value").alias("value"))
