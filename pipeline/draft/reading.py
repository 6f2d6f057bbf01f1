"""A file read for drafting, and what must be said so that loading reads it the same way."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from pipeline.draft.document import Entry, Part
from pipeline.draft.headings import unit_of
from pipeline.profiles.profile import all_known_headers
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from schemas.codes import fold

_SHORTEST = 3
_UTF = ("utf-8", "utf-16", "utf-32")


def read_for_draft(path: Path) -> Sheet:
    """The sheet of a file no profile knows yet.

    The header is looked for by known names of three letters and more: single letters (P, K, S) also stand in rows of
    data. A row of units that the reader did not take for one is found by the units the trade and laboratories write.
    """
    known = frozenset(name for name in all_known_headers(()) if len(name) >= _SHORTEST)
    sheet = read_sheet(path, Reading(known_headers=known))
    if sheet.units is None and sheet.cells.height and _is_units_row(sheet):
        return read_sheet(path, Reading(known_headers=known, header_line=sheet.header_line, units_row=True))
    return sheet


def broken(sheet: Sheet) -> bool:
    """Whether the file could not be read as a table at all."""
    return sheet.faults.filter(pl.col("line").is_null() & (pl.col("severity") == "error")).height > 0


def reading_part(path: Path, sheet: Sheet, wanted: frozenset[str]) -> Part:
    """Entries of [reading]: encoding, delimiter and header line where they are not the usual, a row of units.

    Args:
        path: the file.
        sheet: as drafting read it.
        wanted: folded headers the profile will name.
    """
    entries = []
    if sheet.encoding and not sheet.encoding.startswith(_UTF):
        entries.append(
            Entry("encoding", "cp1252" if " " in sheet.encoding else sheet.encoding, "look at the accented letters")
        )
    if sheet.delimiter not in {"", ","}:
        entries.append(Entry("delimiter", sheet.delimiter))
    found = read_sheet(path, Reading(known_headers=all_known_headers(()) | wanted))
    if sheet.header_line > 1 or found.header_line != sheet.header_line:
        entries.append(Entry("header_line", sheet.header_line))
    if sheet.units is not None:
        entries.append(Entry("units_row", True))
    return Part(tuple(entries))


def _is_units_row(sheet: Sheet) -> bool:
    first = [cell for cell in sheet.cells.row(0)[1:] if cell]
    said = [cell for cell in first if unit_of(cell) or fold(cell) in {"ph", "-"}]
    return len(first) > 1 and len(said) == len(first) and any(unit_of(cell) for cell in first)
