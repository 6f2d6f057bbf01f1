"""What stands in a file, and how it is to be read: what the ways of reading share."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.common.limits import STANDARD, Limits
from pipeline.read.text.ragged import Rows


@dataclass(frozen=True)
class Reading:
    """How a file is to be read; None and () mean: find out.

    Attributes:
        encoding: name of the encoding where the file does not tell it.
        delimiter: one character; a blank stands for columns laid out with blanks.
        header_line: physical line of the column names.
        comment: mark of comment rows: a row whose line begins with it or one of whose cells is it.
        units_row: whether the row under the header names units; None: told by what stands there.
        totals: words that mark a row of totals when its first filled cell is one of them.
        messages: whether the text is a pasted list of messages (``12/03/2026, 08:14 - Sam: scarified``): read into the
            columns date, sent at, by and message; a line that begins no message belongs to the one above.
        sheet: name of a workbook's sheet.
        ignored_sheets: names of sheets that nobody needs, ``*`` for any letters; a named one is read all the same.
        known_headers: folded (``schemas.codes.fold``) column names that profiles and kinds know; they find the header
            line and confirm the delimiter.
        mending: whether it is a file of rejected rows, whatever became of the columns this program added to it.
        limits: how much of it is read.
    """

    encoding: str | None = None
    delimiter: str | None = None
    header_line: int | None = None
    comment: str | None = None
    units_row: bool | None = None
    totals: tuple[str, ...] = ("total", "totals", "sum", "grand total")
    messages: bool = False
    sheet: str | None = None
    ignored_sheets: tuple[str, ...] = ()
    known_headers: frozenset[str] = frozenset()
    mending: bool = False
    limits: Limits = STANDARD


@dataclass(frozen=True)
class Unread:
    """A sheet of the workbook beside the one that was read.

    Attributes:
        name: its name.
        cells: how many of its cells are filled, None where they are more than are read.
        table: whether it has rows and columns, as records have.
    """

    name: str
    cells: int | None
    table: bool


@dataclass(frozen=True)
class Sheet:
    """What stands in a file; data lines found = rows of cells, ignored and rejected together.

    Attributes:
        file: name as shown to the person.
        sha256: of the file's bytes.
        encoding: what the text was read as ("" for a workbook).
        delimiter: what parts the cells ("" for a workbook).
        header_line: physical line of the column names (a sheet's row), 0 where none was found.
        headers: column names as written, stripped; a repeated one ends in " (2)", a missing one is "column 7".
        cells: ``line`` (physical line the row begins on) and ``c0``..``cN``: text as written without the spaces
            around it, a line feed for each line break inside; blank is null. One row a data row.
        units: units row under the header by column, or None.
        ignored: rows that are no data, with the reason: comment, totals, repeated header, units row.
        rejected: rows that could not be read as a row; each has a fault.
        faults: an error without a line concerns the whole file: then there are no cells.
        name: name of the workbook's sheet, "" of a text.
        unread: its other sheets with cells.
        mending: whether it is a file of rejected rows.
        stood: of such a file, the line that each row had in its own (by ``line``); None where nothing says it.
        above: cells of every row over the header, from line 1 on: titles, and what a form's head says of all its rows.
    """

    file: str
    sha256: str
    encoding: str
    delimiter: str
    header_line: int
    headers: tuple[str, ...]
    cells: pl.DataFrame
    units: tuple[str, ...] | None
    ignored: pl.DataFrame
    rejected: pl.DataFrame
    faults: pl.DataFrame
    name: str = ""
    unread: tuple[Unread, ...] = ()
    mending: bool = False
    stood: pl.DataFrame | None = None
    above: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class Found:
    """Rows found in a text or a workbook, before the rows that are no data are skipped.

    Attributes:
        encoding: as in :class:`Sheet`.
        delimiter: as in :class:`Sheet`.
        header_line: as in :class:`Sheet`.
        header: the header's cells, stripped.
        rows: the rows under it.
        faults: what was found on the way.
        damaged: whether NULs or unreadable characters may stand in the cells.
        plain: whether ordinary spaces are the only blanks in the cells.
        name: as in :class:`Sheet`.
        unread: as in :class:`Sheet`.
        above: as in :class:`Sheet`.
    """

    encoding: str
    delimiter: str
    header_line: int
    header: tuple[str, ...]
    rows: Rows
    faults: pl.DataFrame
    damaged: bool = False
    plain: bool = False
    name: str = ""
    unread: tuple[Unread, ...] = ()
    above: tuple[tuple[str, ...], ...] = ()
