"""What the user wrote, kept beside what was understood."""

from __future__ import annotations

from collections.abc import Mapping

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
    if field.numeric:
        same = cells.cast(pl.Float64, strict=False) == value.cast(pl.Float64)
    elif field.type in {"date", "flag"}:
        same = cells == value.cast(pl.String)
    else:
        same = cells == value
    return same.fill_null(False)


def written_json(written: Mapping[str, pl.Series], height: int) -> pl.Series:
    """JSON of the cells as the user wrote them, null where every one was understood as it stands."""
    if not written:
        return pl.Series("written", [None], dtype=pl.String).new_from_index(0, height)
    parts = [
        pl.concat_str(pl.lit(f'"{name}": "'), pl.lit(_escaped(cells)), pl.lit('"')) for name, cells in written.items()
    ]
    joined = parts[0] if len(parts) == 1 else pl.concat_str(parts, separator=", ", ignore_nulls=True).replace("", None)
    return pl.select(pl.concat_str(pl.lit("{"), joined, pl.lit("}")).alias("written")).to_series()


def _escaped(cells: pl.Series) -> pl.Series:
    """The cells as they may stand between the quotes of a JSON string."""
    if not cells.str.contains(r'[\\"\x00-\x1f]').any():
        return cells
    text = cells.str.replace_all("\\", "\\\\", literal=True).str.replace_all('"', '\\"', literal=True)
    text = text.str.replace_all("\n", "\\n", literal=True).str.replace_all("\t", "\\t", literal=True)
    return text.str.replace_all(r"[\x00-\x1f]", " ")
