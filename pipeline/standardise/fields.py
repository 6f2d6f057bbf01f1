"""One field of a record: from the cells of its column to typed values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import polars as pl

from pipeline.common.faults import concat
from pipeline.profiles.style import MISSING, Style, Understood
from pipeline.standardise.cells import quantity, units
from pipeline.standardise.cells.coded import choice_column
from pipeline.standardise.cells.dates import date_column
from pipeline.standardise.cells.numbers import flag_column, number_column, says_passes_and_depth
from pipeline.standardise.cells.text import code_column, text_column
from schemas.field import Field

AMOUNTS: dict[str, Callable[..., Understood]] = {
    "quantity": quantity.amount_column,
    "rate": quantity.rate_column,
    "pack": quantity.pack_column,
    "debris": quantity.debris_column,
}
"""Shorthand that a declared unit completes where a cell is a bare number."""
BESIDE = {"passes": "depth_mm", "depth_mm": "passes"}
"""Fields of which one cell may say both (``3 passes @ 2-3mm``), in whichever's column it stands."""
COMPOSITIONS: dict[str, Callable[..., Understood]] = {"analysis": quantity.analysis_column, "mix": quantity.mix_column}


@dataclass(frozen=True)
class Cells:
    """The cells of one field as they stand in the file.

    Attributes:
        lines: physical lines, Int64.
        cells: text, null where blank.
        header: column as the person sees it.
        unit: unit the source declares, "" where none.
        missing: marks for missing that hold for this column alone.
        limit: the laboratory's limit, in the cells' unit; a figure under it says only "less than" that.
        row_units: unit as each row's own unit field writes it, None where the field's unit is fixed. A unit in a cell
            (``4.8%``, ``9'6"``) is turned into that.
    """

    lines: pl.Series
    cells: pl.Series
    header: str
    unit: str = ""
    missing: tuple[str, ...] = ()
    limit: float | None = None
    row_units: pl.Series | None = None


def understand(field: Field, source: Cells, style: Style, aliases: Mapping[str, Mapping[str, str]]) -> Understood:
    """The field's typed values and the faults met on the way.

    Returns:
        ``values`` has a column named as the field (or the fields a shorthand fills), and ``below`` beside a number
        where any cell only said "less than".
    """
    style = replace(style, missing=(*style.missing, *source.missing))
    if field.type not in {"choice", "code", "text"} and field.name in aliases:
        source = replace(source, cells=source.cells.replace(dict(aliases[field.name])))
    if field.name in COMPOSITIONS:
        return COMPOSITIONS[field.name](source.lines, source.cells, source.header, style)
    if field.name in AMOUNTS:
        return AMOUNTS[field.name](source.lines, source.cells, source.header, style, unit=source.unit)
    if field.type == "choice":
        done = choice_column(
            source.lines,
            missing_out(source.cells, style),
            source.header,
            field.choices,
            {**aliases.get(field.choices, {}), **aliases.get(field.name, {})},
        )
    elif field.type == "date":
        done = date_column(source.lines, source.cells, source.header, style)
    elif field.type == "flag":
        done = flag_column(source.lines, source.cells, source.header, style)
    elif field.type in {"number", "whole"}:
        return _with_other_half(field, source, style, _number(field, source, style))
    else:
        reader = code_column if field.type == "code" else text_column
        done = reader(source.lines, missing_out(source.cells, style), source.header)
        done = _renamed(done, aliases.get(field.refers or field.name, {}))
    return Understood(done.values.select(pl.col("value").alias(field.name)), done.faults, done.as_written)


def _with_other_half(field: Field, source: Cells, style: Style, done: Understood) -> Understood:
    """The values, and beside passes the depth, or beside the depth the passes, where a cell says both."""
    other = BESIDE.get(field.name)
    if other is None or not source.cells.unique().str.contains("(?i)pass").any():
        return done
    both = pl.select(pl.when(says_passes_and_depth(source.cells)).then(source.cells)).to_series()
    half = number_column(source.lines, both, source.header, style, to="mm" if other == "depth_mm" else "")
    values = done.values.with_columns(half.values["value"].alias(other))
    return Understood(values, concat([done.faults, half.faults]))


def _in_row_units(source: Cells, style: Style) -> Understood:
    """``value`` and ``below`` of a result, each in the unit its row gives."""
    assert source.row_units is not None
    values, faults = [], []
    for unit in source.row_units.unique(maintain_order=True):
        here = source.row_units.eq_missing(pl.Series([unit], dtype=pl.String))
        known = unit if unit and units.is_known(unit, style) else ""
        at = (source.lines.filter(here), source.cells.filter(here))
        done = number_column(*at, source.header, style, unit=known, to=known)
        values.append(done.values.with_columns(here.arg_true().alias("place")))
        faults.append(done.faults)
    return Understood(pl.concat(values).sort("place", maintain_order=True).drop("place"), concat(faults))


def _number(field: Field, source: Cells, style: Style) -> Understood:
    done = (
        _in_row_units(source, style)
        if source.row_units is not None and len(source.cells)
        else number_column(
            source.lines,
            source.cells,
            source.header,
            style,
            unit=source.unit,
            to=field.unit,
            whole=field.type == "whole",
        )
    )
    values = done.values
    if source.limit is not None:
        under = ((pl.col("value") < source.limit) & ~pl.col("below")).fill_null(value=False)
        values = values.select(
            pl.when(under).then(source.limit).otherwise("value").alias("value"), pl.col("below") | under
        )
    values = values.select(pl.col("value").cast(field.polars_type).alias(field.name), "below")
    same = done.as_written and source.limit is None
    return Understood(values if values["below"].any() else values.drop("below"), done.faults, same)


def _renamed(done: Understood, aliases: Mapping[str, str]) -> Understood:
    if not aliases:
        return done
    return Understood(done.values.with_columns(pl.col("value").replace(dict(aliases))), done.faults)


def missing_out(cells: pl.Series, style: Style) -> pl.Series:
    """The cells, with marks for "no value" made null."""
    longest = max(len(mark) for mark in (*MISSING, *style.missing))
    short = cells.filter(cells.str.len_chars() <= longest).unique()
    marks = short.filter(short.str.to_lowercase().is_in(list(MISSING)) | short.is_in(list(style.missing)))
    if not len(marks):
        return cells
    return pl.select(pl.when(cells.is_in(marks.implode())).then(None).otherwise(cells)).to_series()
