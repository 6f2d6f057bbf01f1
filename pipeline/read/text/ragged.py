"""What comes out of reading rows: those that are rows, and those that are not, with why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import polars as pl

from pipeline.common.faults import FaultKind
from pipeline.common.limits import Limits, TooLarge

RAGGED_SCHEMA: dict[str, pl.DataType] = {"line": pl.Int64(), "cells": pl.List(pl.String), "code": pl.String()}

Ragged = tuple[int, list[str], FaultKind]
"""A row that could not be read as one: its line, its cells and the kind of fault."""

SHORT = FaultKind(
    "row.short",
    "row with cells missing",
    "The row has fewer cells than the header: {value}",
    "Put the missing cells in (an empty one is just two delimiters), or export the file again.",
)
LONG = FaultKind(
    "row.long",
    "row with cells too many",
    "The row has more cells than the header: {value}",
    'Put quotes round the cell that holds the delimiter ("..."), or take the extra cell out.',
)
QUOTE = FaultKind(
    "row.quote",
    "quote that does not close",
    "A quote opens on this line and does not close as it should: {value}",
    'Close the quote, or double each quote that belongs to the text ("" inside "...").',
)
TOO_LONG = FaultKind(
    "row.too_long",
    "line too long to be a row",
    "The line is too long to be a row of a table; it begins: {value}",
    "Look whether line ends were lost, and export the file again, or raise line_kb under [limits] in settings.toml.",
)


def refuse_odd(rows: int, limits: Limits) -> None:
    """Refuse a file in which next to nothing is a row: each that is none has its cells and its fault in memory.

    Raises:
        TooLarge: there are more than are told.
    """
    if rows > limits.odd_rows:
        raise TooLarge(f"has more than {limits.odd_rows:,} lines that cannot be read as rows", "odd_rows")


def ragged_frame(rows: Sequence[Ragged]) -> pl.DataFrame:
    """Ragged rows as a frame: ``line``, ``cells`` and the fault's ``code``; one without a cell is a blank line."""
    flat = [cell for _, cells, _ in rows for cell in cells]
    sizes = pl.Series([len(cells) for _, cells, _ in rows], dtype=pl.Int64)
    frame = pl.DataFrame(
        {
            "line": pl.Series([line for line, _, _ in rows], dtype=pl.Int64),
            "code": pl.Series([kind.code for _, _, kind in rows], dtype=pl.String),
        }
    )
    if not flat:
        return pl.DataFrame(schema=RAGGED_SCHEMA)
    repeated = frame.select(pl.all().repeat_by(sizes)).explode("line", "code")
    in_line = repeated.with_columns(cells=pl.Series(flat, dtype=pl.String))
    return in_line.group_by("line", "code", maintain_order=True).agg("cells").select(list(RAGGED_SCHEMA))


def frame_of(lines: list[int], rows: list[list[str]], width: int) -> pl.DataFrame:
    """Rows of equal width as a frame of text."""
    columns = list(zip(*rows, strict=True)) if rows else [()] * width
    data = {"line": pl.Series(lines, dtype=pl.Int64)}
    data.update({f"c{index}": pl.Series(cells, dtype=pl.String) for index, cells in enumerate(columns)})
    return pl.DataFrame(data)


@dataclass
class Rows:
    """Rows of a table.

    Attributes:
        cells: ``line`` and ``c0``..``cN``, as written; None or "" where blank.
        ragged: ``line``, ``cells`` and ``code`` of the fault for what could not be read as a row.
        broken: whether a cell may hold a line end.
    """

    cells: pl.DataFrame
    ragged: pl.DataFrame = field(default_factory=lambda: ragged_frame([]))
    broken: bool = False
