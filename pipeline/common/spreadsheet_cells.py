"""Cells of text for files that a spreadsheet will open: none runs there as a formula, and each comes back as it was.

An apostrophe is put before such a cell. It is taken off again of a file that says it is there, and of no other: a file
of rejected rows by the columns that say why, every other file of ours by a column headed ``GUARDED``, which stands in
it where a cell of it needed one. In any other file an apostrophe may be a person's own: it stays, with a warning.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

import polars as pl

GUARDED = "an apostrophe before = + - @ is not part of a cell"
"""Header of an empty last column: so a file says that ``guarded`` put apostrophes before cells of it."""
KEPT = 4_096
"""Cells that are kept as written: a figure's method and note stand beside each record behind it."""
_RUNS = "[ \u00a0']*[=+\\-@\t\r\n＝＋－＠]"
_NUMBER = r"[+-]?(\d[\d ,.]*|[.,]\d+)([eE][+-]?\d+)?\s*%?"
_PARTS = '[",;\t\r\n]'
_PARTS_HERE = re.compile(_PARTS)
_RUNS_HERE, _NUMBER_HERE = re.compile(_RUNS), re.compile(_NUMBER)


def guarded(cell: str) -> str:
    """The cell with an apostrophe before it where a spreadsheet may take it for a formula; a number stays as it is.

    A cell that has an apostrophe and a formula behind it gets another, so that ``unguarded`` gives each back as it was.

    Source: OWASP, "CSV Injection" (cells that begin with =, +, -, @, a tab or a line end; full-width forms too).
    """
    return f"'{cell}" if _RUNS_HERE.match(cell) and not _NUMBER_HERE.fullmatch(cell) else cell


_guarded = lru_cache(maxsize=KEPT)(guarded)


def guarded_column(column: pl.Expr) -> pl.Expr:
    """The same as ``guarded`` for a whole column of text."""
    runs, number = column.str.contains(f"^(?:{_RUNS})"), column.str.contains(f"^(?:{_NUMBER})$")
    return pl.when(runs & ~number).then(pl.concat_str(pl.lit("'"), column)).otherwise(column)


def unguarded(cell: str) -> str:
    """The cell without the apostrophe that ``guarded`` put there."""
    return cell[1:] if cell.startswith("'") and _RUNS_HERE.match(cell, 1) else cell


def unguarded_columns(columns: pl.Expr) -> pl.Expr:
    """Columns of text without the apostrophes that ``guarded`` put there."""
    return columns.str.replace(f"^'({_RUNS})", "$1")


def perhaps_guarded(column: pl.Expr) -> pl.Expr:
    """Whether each cell begins as one that ``guarded`` put an apostrophe before; null where it is blank."""
    return column.str.contains(f"^'{_RUNS}")


def lines(rows: Iterable[Sequence[str]]) -> str:
    """Rows as lines of CSV (RFC 4180, CRLF); a cell with a semicolon or tab is quoted too.

    A spreadsheet may be set to part cells at those as well: what stands behind one would begin a cell, and run.
    """
    return "".join(f"{','.join(map(_quoted, row))}\r\n" for row in rows)


@lru_cache(maxsize=KEPT)
def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if _PARTS_HERE.search(cell) else cell


def quoted_column(column: pl.Expr) -> pl.Expr:
    """Cells of a column as they stand in such a line; blank ones stay null."""
    quoted = pl.concat_str(pl.lit('"'), column.str.replace_all('"', '""', literal=True), pl.lit('"'))
    return pl.when(column.str.contains(_PARTS)).then(quoted).otherwise(column)


def csv_table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """A table as CSV: UTF-8 with a mark spreadsheets know, no cell a formula.

    Args:
        header: names of the columns, none of them a user's.
        rows: as many cells in each; one that ``guarded`` alters makes a last column headed ``GUARDED``.
    """
    safe, says = [], False
    for row in rows:
        cells = [_guarded(cell) for cell in row]
        says = says or any(map(str.__ne__, cells, row))
        safe.append(cells)
    ending = ([GUARDED], [""]) if says else ([], [])
    whole = ([*header, *ending[0]], *([*cells, *ending[1]] for cells in safe))
    return lines(whole).encode("utf-8-sig")
