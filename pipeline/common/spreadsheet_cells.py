"""Cells of text for files that a spreadsheet will open: none runs there as a formula, and each comes back as it was."""

from __future__ import annotations

import re

import polars as pl

_RUNS = "[ \u00a0']*[=+\\-@\t\r\n＝＋－＠]"
_NUMBER = r"[+-]?(\d[\d ,.]*|[.,]\d+)([eE][+-]?\d+)?\s*%?"
_RUNS_HERE, _NUMBER_HERE = re.compile(_RUNS), re.compile(_NUMBER)


def guarded(cell: str) -> str:
    """The cell with an apostrophe before it where a spreadsheet may take it for a formula; a number stays as it is.

    A cell that has an apostrophe and a formula behind it gets another, so that ``unguarded`` gives each back as it was.

    Source: OWASP, "CSV Injection" (cells that begin with =, +, -, @, a tab or a line end; full-width forms too).
    """
    return f"'{cell}" if _RUNS_HERE.match(cell) and not _NUMBER_HERE.fullmatch(cell) else cell


def guarded_column(column: pl.Expr) -> pl.Expr:
    """The same as ``guarded`` for a whole column of text."""
    runs, number = column.str.contains(f"^(?:{_RUNS})"), column.str.contains(f"^(?:{_NUMBER})$")
    return pl.when(runs & ~number).then(pl.concat_str(pl.lit("'"), column)).otherwise(column)


def unguarded_columns(columns: pl.Expr) -> pl.Expr:
    """Columns of text without the apostrophes that ``guarded`` put there."""
    return columns.str.replace(f"^'({_RUNS})", "$1")
