"""The rejects file: rejected rows as they stood, then why; mended in a spreadsheet, the same file loads."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import polars as pl

from pipeline.common.faults import errors
from pipeline.common.spreadsheet_cells import guarded, guarded_column, lines, quoted_column
from pipeline.forms.day_numbers import DAY_NUMBER
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.workbook.workbook import MERGED_ACROSS, UNSTORED
from schemas.codes import fold

LOST = {
    UNSTORED.code: "formula without a result",
    MERGED_ACROSS.code: "merged over several columns",
    DAY_NUMBER.code: "a number in a cell formatted as a date",
}
"""Kind of fault that text cannot show → what is written behind the cell, so that it is refused until it is mended."""
REASONS = ("line", "code", "message", "hint")
"""Last columns of a rejects file."""


def rejected_csv(sheet: Sheet, rejected: pl.DataFrame, faults: pl.DataFrame) -> bytes:
    """The rows an error concerns, as they stood, with their faults behind; UTF-8 with a mark spreadsheets know.

    Of the rejected records only the ``line`` is used. ``line`` in the file is that of the source, also where the rows
    come from a file of rejected rows and are rejected once more.
    """
    why = _reasons(faults)
    cells = [name for name in sheet.cells.columns if name != "line"]
    rows = (
        _with_what_is_lost(sheet, faults)
        .filter(pl.col("line").is_in(rejected["line"].unique().implode()))
        .sort("line", maintain_order=True)
    )
    rows = _where_they_stood(sheet, rows.join(why, on="line", how="left", maintain_order="left"))
    text = [quoted_column(guarded_column(pl.col(name))).alias(name) for name in (*cells, *REASONS[1:])]
    frame = rows.with_columns(text).select(*cells, *REASONS)
    heads = [[*map(guarded, sheet.headers), *REASONS]]
    if sheet.units:
        heads.append([*(guarded(unit or "") for unit in sheet.units), *[""] * len(REASONS)])
    body = io.BytesIO()
    frame.write_csv(body, include_header=False, line_terminator="\r\n", quote_style="never")
    return b"".join(
        [
            lines(heads).encode("utf-8-sig"),
            body.getvalue(),
            lines(_ragged(sheet, why)).encode() if sheet.rejected.height else b"",
        ]
    )


def _with_what_is_lost(sheet: Sheet, faults: pl.DataFrame) -> pl.DataFrame:
    """The sheet's cells, those marked of which the text alone would be taken for what stood there."""
    cells, places = sheet.cells, {fold(header): f"c{i}" for i, header in enumerate(sheet.headers)}
    for (code, column), part in faults.filter(pl.col("code").is_in(list(LOST))).group_by(
        "code", "column", maintain_order=True
    ):
        name = places.get(fold(str(column)))
        if name is None:
            continue
        said = pl.concat_str(pl.col(name), pl.lit(f"({LOST[str(code)]})"), separator=" ", ignore_nulls=True)
        here = pl.col("line").is_in(part["line"].implode())
        cells = cells.with_columns(pl.when(here).then(said).otherwise(name).alias(name))
    return cells


def _where_they_stood(sheet: Sheet, rows: pl.DataFrame) -> pl.DataFrame:
    """The rows with the line each had in its own file, where they come from a file of rejected rows."""
    if sheet.stood is None:
        return rows
    both = rows.join(sheet.stood, on="line", how="left", maintain_order="left")
    return both.with_columns(pl.coalesce("stood", "line").alias("line")).drop("stood")


def _reasons(faults: pl.DataFrame) -> pl.DataFrame:
    """Codes, messages and hints of each line's errors, joined (grain: line)."""
    return (
        errors(faults)
        .filter(pl.col("line").is_not_null())
        .group_by("line", maintain_order=True)
        .agg(
            pl.col("code").unique(maintain_order=True).str.join(" · "),
            pl.col("message").str.join(" · "),
            pl.col("hint").unique(maintain_order=True).str.join(" · "),
        )
    )


def _ragged(sheet: Sheet, why: pl.DataFrame) -> list[list[str]]:
    """The rows that could not be read as rows: their cells as they stand, however many."""
    width = len(sheet.headers)
    rows = sheet.rejected.join(why, on="line", how="left", maintain_order="left").sort("line", maintain_order=True)
    rows = _where_they_stood(sheet, rows)
    found = []
    for line, cells, *said in rows.select("line", "cells", *REASONS[1:]).iter_rows():
        kept = [guarded(cell or "") for cell in cells]
        kept += [""] * (width - len(kept))
        found.append([*kept, str(line), *(guarded(text or "") for text in said)])
    return found


def is_rejects_file(path: Path) -> bool:
    """Whether a file is one of rejected rows, written for mending: columns of it say why each row was rejected."""
    with path.open("rb") as source:
        head = source.read(65536).decode("utf-8-sig", errors="replace")
    for delimiter in ",;\t":
        first = next(csv.reader(io.StringIO(head, newline=""), delimiter=delimiter), [])
        if {cell.strip() for cell in first}.issuperset(REASONS):
            return True
    return False


def reading_of_rejects_file(known_headers: frozenset[str]) -> Reading:
    """How a rejects file is read, whatever the profile says of the source's own files."""
    return Reading(header_line=1, known_headers=known_headers, mending=True)
