"""Rows that are no data: comments, totals, repeated headers, the row of units under the header."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import polars as pl

from schemas.codes import fold

COMMENT, TOTALS, REPEATED_HEADER, UNITS_ROW = "comment", "totals", "repeated header", "units row"

_COMMENT_WORDS = ("comment", "comments", "Comment", "Comments", "COMMENT", "COMMENTS")
_UNITS_WORDS = frozenset({"unit", "units"})
_UNIT_WORDS = (
    "% ‰ percent pct per cent g kg mg ug µg μg t tonne tonnes lb lbs l ml dl litre litres mm cm m m2 m² cm2 cm² cm3 "
    "cm³ m3 m³ ft in inch inches ha acre acres s sec secs second seconds min mins h hr hrs hour hours day days month "
    "months year years degc °c c degf °f ph ppm ppb meq cmol cmolc mmol ds ms us cfu kph mph km mi mile miles knot "
    "knots kn kt kts mj kj j w kw wh kwh langley langleys ly kpa hpa no number count gbp eur usd £ € $ yyyy mm/dd dd -"
)
_UNIT_PARTS = frozenset(_UNIT_WORDS.split())


@dataclass(frozen=True)
class Marks:
    """What marks a row as no data.

    Attributes:
        width: cells of a row.
        comment: declared mark of comment rows, or None.
        totals: folded words for totals.
    """

    width: int
    comment: str | None
    totals: frozenset[str]


def reason_of(cells: Sequence[str | None], marks: Marks) -> str | None:
    """Why a row is no data, or None where it is.

    A row that begins with ``#`` is a comment only where it is no full row of the table: ``#1`` may be a code.
    """
    filled = [cell for cell in cells if cell]
    if not filled:
        return None
    first = filled[0]
    if marks.comment and (first.startswith(marks.comment) or marks.comment in filled):
        return COMMENT
    if first.startswith("#") and (len(cells) != marks.width or (len(filled) == 1 and marks.width > 1)):
        return COMMENT
    if len(filled) <= 2 and marks.width > 2 and any(cell in _COMMENT_WORDS for cell in filled):
        return COMMENT
    return TOTALS if _folded(first) in marks.totals else None


def reasons(cells: pl.DataFrame, marks: Marks) -> pl.DataFrame:
    """Line and reason of each row (``line`` and ``c0``..``cN``, blank as null) that is no data."""
    names = cells.columns[1:]
    first = cells[names[0]] if not cells[names[0]].null_count() else cells.select(pl.coalesce(names)).to_series()
    suspects = _suspects(first, marks)
    mask = pl.lit(first.is_in(suspects))
    for name in names if marks.comment else names[:4]:
        mask = mask | pl.col(name).is_in([marks.comment] if marks.comment else list(_COMMENT_WORDS)).fill_null(False)
    return _told(((row[0], row[1:]) for row in cells.filter(mask).iter_rows()), marks)


def ragged_reasons(ragged: pl.DataFrame, marks: Marks) -> pl.DataFrame:
    """Line and reason of each ragged row (``line`` and ``cells``, a list each) that is no data."""
    first = pl.col("cells").list.drop_nulls().list.eval(pl.element().filter(pl.element() != "")).list.first()
    heads = ragged.select(first.alias("first")).to_series()
    suspects = _suspects(heads, marks)
    words = [marks.comment] if marks.comment else list(_COMMENT_WORDS)
    marked = pl.col("cells").list.eval(pl.element().is_in(words)).list.any()
    return _told(ragged.filter(heads.is_in(suspects) | marked)["line", "cells"].iter_rows(), marks)


def _told(rows: Iterable[tuple[int, Sequence[str | None]]], marks: Marks) -> pl.DataFrame:
    told = [(line, reason) for line, cells in rows if (reason := reason_of(cells, marks))]
    return pl.DataFrame(told, schema={"line": pl.Int64, "reason": pl.String}, orient="row")


def repeated_headers(cells: pl.DataFrame, header: Sequence[str]) -> pl.DataFrame:
    """Lines of rows that are the header once more."""
    same = [pl.col(f"c{index}").eq_missing(pl.lit(name or None, dtype=pl.String)) for index, name in enumerate(header)]
    return cells.lazy().filter(pl.all_horizontal(same)).select("line").collect()


def first_other_header(cells: pl.DataFrame, header: Sequence[str]) -> int | None:
    """Line of the first row that holds all the column names in another order (another export, appended)."""
    names = [name for name in header if name]
    if len(set(names)) < 3:
        return None
    columns = cells.columns[1:]
    suspects = cells.filter(pl.col(columns[0]).is_in(names) & pl.col(columns[1]).is_in(names))
    for row in suspects.iter_rows():
        filled = [cell for cell in row[1:] if cell]
        if sorted(filled) == sorted(names) and filled != names:
            return int(row[0])
    return None


def is_units_row(cells: Sequence[str | None]) -> bool:
    """Whether a row names units: nothing but words for units stands in it, or it says so in its first cell."""
    filled = [cell for cell in cells if cell]
    if not filled:
        return False
    if fold(filled[0]) in _UNITS_WORDS:
        return not any(re.fullmatch(r"[-+<>]?\d+([.,]\d+)?", cell) for cell in filled)
    named = [cell for cell in filled if _names_unit(cell)]
    marks = [cell for cell in named if cell != "-"]
    told = len(filled) > 1 or not cells[0]
    return told and len(named) == len(filled) and len(marks) >= max(1, len(filled) / 2)


def _names_unit(cell: str) -> bool:
    """Whether every word of a cell is a unit's; ``mg kg-1`` is, a lone ``G-1`` may be a green."""
    words = re.sub(r"[()\[\]]", " ", cell.casefold()).replace("º", "°").replace("/", " ").replace("^", "").split()
    if len(words) > 1:
        words = [re.sub(r"-?[123]$", "", word) for word in words if not word.isdigit()]
    return bool(words) and all(word in _UNIT_PARTS for word in words)


def _suspects(first: pl.Series, marks: Marks) -> list[str]:
    """Of the first cells of rows those that may begin a comment or totals."""
    words: list[str] = first.unique(maintain_order=True).drop_nulls().to_list()
    return [word for word in words if word.startswith(("#", marks.comment or "#")) or _folded(word) in marks.totals]


def _folded(word: str) -> str:
    return fold(word.strip(" :.=*"))
