"""One field of a record: from the cells of its column to typed values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import counted, on_lines
from pipeline.profiles.style import Refused, Style, Understood
from pipeline.standardise.cells import nines, quantity, traces, units
from pipeline.standardise.cells.coded import choice_column
from pipeline.standardise.cells.dates import PERIOD, date_column, month_column, period_column
from pipeline.standardise.cells.distinct import Cells, missing_out, short_texts
from pipeline.standardise.cells.ditto import LONGEST, without_dittos
from pipeline.standardise.cells.layer_ends import OTHER_END, both_ends
from pipeline.standardise.cells.money import as_money, without_signs
from pipeline.standardise.cells.numbers import RANGE, UNIT_UNWANTED, flag_column, number_column, says_passes_and_depth
from pipeline.standardise.cells.powers import mean_power_cells
from pipeline.standardise.cells.text import code_column, text_column
from pipeline.standardise.cells.times import FORMS, PEOPLE_WORD, clock_decimals, people_of, special_of
from pipeline.standardise.observed import species_column
from schemas.field import Field

ZERO_UNDER_LIMIT = FaultKind(
    "value.zero_under_limit",
    "Zero under the laboratory's limit",
    "{value} lies under the limit of {limit} that is stated for it; it is kept as less than {limit}.",
    "Leave the cell blank if it was not measured.",
    "warning",
)
SCALED = FaultKind(
    "number.scaled",
    "Figures scaled as the profile says",
    "Column {column}: each figure was multiplied by {factor}{more}, as the profile says.",
    "Nothing need be done.",
    "note",
)
SCALED_UNIT = FaultKind(
    "number.scaled_unit",
    "Figure with its own unit among scaled ones",
    "{column}: “{value}” says its own unit, and the profile multiplies the figures of this column by {factor}: it "
    "may be meant as it stands, or still be scaled.",
    "Write it as the others are, without a unit.",
)
NO_MIDDLE = FaultKind(
    "number.no_middle",
    "Range where one figure is needed",
    "{column}: “{value}” is a range, and {why}.",
    "Write the one figure that is meant.",
)
WITHOUT_MIDDLE = {
    "size_mm": "what was retained lies on the lower sieve, what passed went through the upper",
    "hammer_kg": "a hammer has one mass",
    "drop": "a reading is of one drop",
    "x_m": "a reading is of one place",
    "y_m": "a reading is of one place",
}
"""Fields that tell one reading from another: the middle of a range would be that of another."""
AMOUNTS: dict[str, Callable[[Cells, Style], Understood]] = {
    "quantity": quantity.amount_column,
    "rate": quantity.rate_column,
    "pack": quantity.pack_column,
    "debris": quantity.debris_column,
}
"""Shorthand that a declared unit completes where a cell is a bare number."""
BESIDE = {"passes": "depth_mm", "depth_mm": "passes"}
"""Fields of which one cell may say both (``3 passes @ 2-3mm``), in whichever's column it stands."""
WORKED = {"hours": False, "trigger_hours": True}
"""Fields of hours that people worked, with whether they are those of one person."""
SODIUM = "Na"
"""The analyte that is written like a mark for missing but for its case."""
MOST_RANGES = 8
"""Ranges of lines named before the rest is counted."""
_SHORTHAND = {**AMOUNTS, "analysis": quantity.analysis_column, "mix": quantity.mix_column}


def understand(field: Field, source: Cells, style: Style, aliases: Mapping[str, Mapping[str, str]]) -> Understood:
    """The field's typed values and the faults met on the way.

    Returns:
        ``values`` has a column named as the field (or the fields a shorthand fills), and ``below`` beside a number
        where any cell only said "less than".
    """
    style = style.also_missing(source.missing)
    if field.type not in {"choice", "code", "text"} and field.name in aliases:
        source = replace(source, cells=source.cells.replace(dict(aliases[field.name])))
    if field.name in _SHORTHAND:
        return _SHORTHAND[field.name](source, style)
    if field.numeric:
        return _with_people(field, source, _with_other_half(field, source, style, _figures(field, source, style)))
    if field.type == "date" and field.fills:
        done = period_column(source, style)
        values = done.values.select(pl.col("value").alias(field.name), pl.col("last").alias(field.fills[0]))
        return Understood(values, concat([done.faults, *_told_of_periods(field, source, done)]), done.as_written)
    if field.type == "date":
        done = (month_column if field.month else date_column)(source, style)
    elif field.type == "flag":
        done = flag_column(source, style)
    else:
        short = short_texts(source.cells, style, LONGEST)
        bare = missing_out(source.cells, style, short)
        if field.choices == "analyte":  # sodium is no mark for missing
            bare = pl.select(pl.when(source.cells == SODIUM).then(source.cells).otherwise(bare)).to_series()
        source, dittos = without_dittos(replace(source, cells=bare), short)
        if field.type == "choice":
            own = {**aliases.get(field.choices, {}), **aliases.get(field.name, {})}
            done = choice_column(source, field.choices, own)
            if field.fills:
                done = replace(
                    done, values=done.values.with_columns(species_column(source.cells, done.values["value"]))
                )
        else:
            renamed = aliases.get(field.refers or field.name, {})
            done = code_column(source, renamed, field.name) if field.type == "code" else text_column(source)
            done = _renamed(done, renamed)
        done = replace(done, faults=concat([done.faults, dittos]))
    beside = [pl.col("species").alias(field.fills[0])] if "species" in done.values.columns else []
    beside += [pl.col("unit")] if "unit" in done.values.columns else []
    return Understood(done.values.select(pl.col("value").alias(field.name), *beside), done.faults, done.as_written)


def _told_of_periods(field: Field, source: Cells, done: Understood) -> list[pl.DataFrame]:
    """A note of which records are of a month or a year; of a register that is what the field asks for."""
    known = done.values["last"].is_not_null()
    if not field.key or not known.any():
        return []
    lines = source.lines.filter(known)
    what = {"number": counted(len(lines), "date"), "where": on_lines(lines, MOST_RANGES)}
    return [PERIOD.at(None, source.cells.filter(known)[0], source.header, **what)]


def _with_other_half(field: Field, source: Cells, style: Style, done: Understood) -> Understood:
    """The values, and beside passes the depth, or beside the depth the passes, where a cell says both."""
    other = BESIDE.get(field.name)
    if other is None or not source.cells.unique().str.contains("(?i)pass").any():
        return done
    both = pl.select(pl.when(says_passes_and_depth(source.cells)).then(source.cells)).to_series()
    half = number_column(replace(source, cells=both, unit=""), style, to="mm" if other == "depth_mm" else "")
    values = done.values.with_columns(half.values["value"].alias(other))
    return Understood(values, concat([done.faults, half.faults]))


def _figures(field: Field, source: Cells, style: Style) -> Understood:
    """The numbers, and beside an end of a layer the other where a cell says both."""
    ends = both_ends(field.name, source, style) if field.name in OTHER_END else None
    if ends is None:
        return _one_figure(field, source, _number(field, source, style))
    own, other = ends
    done, beside = _number(field, own, style), number_column(other, style, to=field.unit)
    values = done.values.with_columns(beside.values["value"].alias(OTHER_END[field.name]))
    return Understood(values, concat([done.faults, beside.faults]))


def _one_figure(field: Field, source: Cells, done: Understood) -> Understood:
    """The numbers; a range is refused where its middle would be another thing, not a guess at the same."""
    ranges = done.faults["code"] == RANGE.code
    if field.name not in WITHOUT_MIDDLE or not ranges.any():
        return done
    met, why = done.faults.filter(ranges), WITHOUT_MIDDLE[field.name]
    return replace(
        done,
        faults=concat(
            [done.faults.filter(~ranges), NO_MIDDLE.frame(met["line"], met["value"], source.header, why=why)]
        ),
    )


def _with_people(field: Field, source: Cells, done: Understood) -> Understood:
    """The values, and beside hours of work the people that a cell names (``2 men x 3 hrs``)."""
    if field.name not in WORKED or WORKED[field.name] or not source.cells.unique().str.contains(PEOPLE_WORD).any():
        return done
    table = {text: people_of(text) for text in source.cells.drop_nulls().unique()}
    people = source.cells.replace_strict(table, default=None, return_dtype=pl.Int64)
    told = pl.select(pl.when(done.values[field.name].is_not_null()).then(people)).to_series()
    return Understood(done.values.with_columns(told.alias("people")), done.faults)


def _measured(field: Field, source: Cells, style: Style, to: str) -> Understood:
    """``value`` and ``below`` of a number in the unit wanted, with the ways of writing a length of time."""
    one_person = WORKED.get(field.name, False)
    special = special_of(to, source.unit, style, one_person=one_person, field=field.name)
    if special and source.unit in FORMS:
        source = replace(source, unit="")
    done = number_column(source, style, to=to, whole=field.type == "whole", special=special)
    if to != units.WORKED:
        return done
    refused, told = clock_decimals(source, style)
    values = done.values.with_columns(pl.when(refused).then(None).otherwise("value").alias("value"))
    return Understood(values if refused.any() else done.values, concat([done.faults, told]), done.as_written)


def _in_row_units(field: Field, source: Cells, style: Style) -> Understood:
    """``value`` and ``below`` of a result, each in the unit its row gives."""
    assert source.row_units is not None
    values, faults = [], []
    for unit in source.row_units.unique(maintain_order=True):
        here = source.row_units.eq_missing(pl.Series([unit], dtype=pl.String))
        known = unit if unit and units.is_known(unit, style) else ""
        done = _measured(field, replace(source.where(here), unit=known), style, known)
        values.append(done.values.with_columns(here.arg_true().alias("place")))
        faults.append(done.faults)
    return Understood(pl.concat(values).sort("place", maintain_order=True).drop("place"), concat(faults))


def _scaled(field: Field, source: Cells, style: Style) -> Understood:
    """``value`` and ``below`` of figures that a factor and an offset turn into the column's unit.

    A cell that says its own unit is refused: the factor would be counted twice.
    """
    factor, offset = source.scaled
    done = number_column(replace(source, unit=""), style, special=None)
    units_too = done.faults["code"] == UNIT_UNWANTED.code
    both, rest = done.faults.filter(units_too), done.faults.filter(~units_too)
    done = replace(
        done, faults=concat([rest, SCALED_UNIT.frame(both["line"], both["value"], source.header, factor=f"{factor:g}")])
    )
    try:
        own, shift = (1.0, 0.0) if source.row_units is not None else units.scale(source.unit or field.unit, field.unit)
    except Refused as refused:
        told = refused.problem.kind.at(None, source.unit, source.header, **dict(refused.problem.facts))
        return Understood(done.values.with_columns(pl.lit(None, dtype=pl.Float64).alias("value")), told)
    value = (((pl.col("value") * factor + offset) * own) + shift).round_sig_figs(12)
    note = SCALED.at(None, None, source.header, factor=f"{factor:g}", more=f" and {offset:+g} added" if offset else "")
    return Understood(done.values.with_columns(value.alias("value")), concat([done.faults, note]))


def _read(field: Field, source: Cells, style: Style) -> Understood:
    """``value`` and ``below`` of a column of figures."""
    if source.scaled != (1.0, 0.0):
        return _scaled(field, source, style)
    if source.row_units is not None and len(source.cells):
        return _in_row_units(field, source, style)
    return _measured(field, source, style, units.WORKED if field.name in WORKED else field.unit)


def _number(field: Field, source: Cells, style: Style) -> Understood:
    source, told = traces.as_zero(source, style) if field.trace else (source, no_faults())
    if field.type == "money":
        source, told = without_signs(source, style)
    source, lacks = nines.taken_out(source, field, style)
    done = _read(field, source, style)
    values, told = done.values, concat([told, lacks, mean_power_cells(source, field)])
    limits = source.row_limits if source.limit is None else pl.Series([source.limit]).new_from_index(0, len(values))
    zeros = no_faults()
    if limits is not None:
        values, zeros = _under_limits(source, values, limits)
    value = values["value"]
    if field.type == "money":
        value, refused = as_money(source, style, value)
        told = concat([told, refused])
    values = values.select(value.cast(field.polars_type).alias(field.name), "below")
    same = done.as_written and limits is None and told.is_empty()
    kept = values if values["below"].any() else values.drop("below")
    return Understood(kept, concat([done.faults, told, zeros]), same)


def _under_limits(source: Cells, values: pl.DataFrame, limits: pl.Series) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The results, those under their row's limit as less than it, and a warning of each zero among them."""
    limits = limits.cast(pl.Float64)
    under = ((values["value"] < limits) & ~values["below"]).fill_null(value=False)
    zero = under & (values["value"] == 0.0)
    at = pl.DataFrame(
        {"line": source.lines.filter(zero), "cell": source.cells.filter(zero), "limit": limits.filter(zero)}
    )
    told = [
        ZERO_UNDER_LIMIT.frame(part["line"], part["cell"], source.header, limit=f"{limit:g}")
        for (limit,), part in at.group_by("limit", maintain_order=True)
    ]
    kept = pl.when(under).then(limits).otherwise("value").alias("value")
    return values.select(kept, pl.col("below") | under), concat(told)


def _renamed(done: Understood, aliases: Mapping[str, str]) -> Understood:
    if not aliases:
        return done
    return Understood(done.values.with_columns(pl.col("value").replace(dict(aliases))), done.faults)
