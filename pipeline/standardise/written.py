"""What the user wrote, kept beside what was understood."""

from __future__ import annotations

import polars as pl

from schemas.field import Field


def written_column(field: Field, cells: pl.Series, values: pl.DataFrame) -> pl.Series | None:
    """The cells where they say more than the value shows, null elsewhere; None where none does."""
    if field.type == "shorthand":
        kept = cells
    else:
        value = values[field.name]
        kept = pl.select(pl.when(_as_it_stands(field, cells, value)).then(None).otherwise(cells)).to_series()
    return kept if kept.is_not_null().any() else None


def _as_it_stands(field: Field, cells: pl.Series, value: pl.Series) -> pl.Series:
    if field.type in {"number", "whole"}:
        same = cells.cast(pl.Float64, strict=False) == value.cast(pl.Float64)
    elif field.type in {"date", "flag"}:
        same = cells == value.cast(pl.String)
    else:
        same = cells == value
    return same.fill_null(False)
