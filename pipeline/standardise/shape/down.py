"""Cells that say "as above": blank or with ditto marks, filled from the row over them where the profile says so."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.read.sheet import Sheet
from pipeline.standardise.cells.ditto import is_ditto
from schemas.codes import fold

if TYPE_CHECKING:
    from pipeline.profiles.profile import Profile

NOTHING_ABOVE = FaultKind(
    "cell.nothing_above",
    "Cell that says “as above” with nothing above it",
    "{column}: {what} says “as above”, and there is nothing above it: {why}.",
    "Write the value there. Cells are filled from the row right above, not across a blank line, a total or a row that "
    "was left out.",
)
FILLED = FaultKind(
    "cell.as_above",
    "Cells filled from the row above",
    "{column}: {value} took the value of the row above, as the profile says.",
    "Nothing need be done.",
    "note",
)


def filled_down(sheet: Sheet, profile: Profile | None) -> Sheet:
    """The sheet with every cell that says "as above" filled, with a note a column, and a fault where nothing is above.

    A file of rejected rows has had its cells filled: one that is blank there stays a fault, for what stands over it is
    another row.
    """
    wanted = {name: origin for name, origin in profile.fields.items() if origin.as_above} if profile else {}
    if not wanted or not sheet.cells.height:
        return sheet
    places = {fold(header): at for at, header in reversed(list(enumerate(sheet.headers)))}
    cells, faults = sheet.cells, [sheet.faults]
    block = _blocks(sheet)
    for origin in wanted.values():
        for column in origin.columns:
            at = places.get(fold(column))
            if at is None:
                continue  # said when its column is looked for
            name = f"c{at}"
            old = sheet.cells[name]
            means = _marked(old) | (old.is_null() if origin.as_above == "blank" else False)
            bare = pl.select(pl.when(means).then(None).otherwise(old)).to_series()
            done = (
                bare
                if sheet.mending
                else pl.DataFrame({"b": block, "c": bare}).select(pl.col("c").forward_fill().over("b")).to_series()
            )
            lacking = means & done.is_null()
            faults += _told(sheet, column, old, means & done.is_not_null(), lacking)
            cells = cells.with_columns(pl.when(lacking).then(old).otherwise(done).alias(name))
    return replace(sheet, cells=cells, faults=concat(faults))


def _told(sheet: Sheet, column: str, old: pl.Series, filled: pl.Series, lacking: pl.Series) -> list[pl.DataFrame]:
    """The note of the cells that were filled, and the faults of those that could not be."""
    lines = sheet.cells["line"]
    why = "its row was taken out of its file" if sheet.mending else "it stands first, or under a gap"
    told = []
    for blank in (True, False):
        here = lacking & (old.is_null() if blank else old.is_not_null())
        values = old.filter(here)
        for text in values.unique(maintain_order=True) if len(values) else []:
            some = here & old.eq_missing(pl.Series([text], dtype=pl.String))
            what = "a blank cell" if text is None else f"“{text}”"
            told.append(NOTHING_ABOVE.frame(lines.filter(some), old.filter(some), column, what=what, why=why))
    count = int(filled.sum())
    if count:
        told.append(FILLED.at(None, f"{count:,} cell{'s' if count > 1 else ''}", column))
    return told


def _marked(cells: pl.Series) -> pl.Series:
    """Whether each cell is a ditto mark."""
    found = [text for text in cells.drop_nulls().unique() if is_ditto(text)]
    return cells.is_in(found).fill_null(value=False)


def _blocks(sheet: Sheet) -> pl.Series:
    """A number for each row: rows of one number stand under each other without a gap (a blank line, a row left out).

    A line break inside a cell of a text makes its row longer; a workbook's rows are one each.
    """
    lines = sheet.cells["line"]
    texts = sheet.cells.columns[1:]
    longer = pl.sum_horizontal(pl.col(name).str.count_matches("\n", literal=True).fill_null(0) for name in texts)
    extra = sheet.cells.select(longer).to_series() if sheet.encoding else pl.repeat(0, len(lines), eager=True)
    ends = (lines + extra.cast(pl.Int64)).shift(1)
    return pl.select((lines != ends + 1).fill_null(value=True).cast(pl.Int64).cum_sum()).to_series()
