"""What of a file was left out: sheets of a workbook, and layers, that no profile reads."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.file_names import fits_any
from pipeline.common.words import counted, listed
from pipeline.profiles.profile import Profile
from pipeline.read.sheet import Sheet, Unread
from schemas.codes import fold

SHEET_UNREAD = FaultKind(
    "workbook.sheet_unread",
    "Sheet with data that was not read",
    "Sheet “{value}” ({cells}) was not read; {read}.",
    'Write a source profile that reads it (sheet = "{value}" under [reading]); if it is not needed, list it under '
    "ignore_sheets in settings.toml, or under sheets in [ignore] of the profile.",
    severity="warning",
)
SHEET_PASSED = FaultKind(
    "workbook.sheet_passed",
    "Sheet without a table that was not read",
    "Sheet “{value}” ({cells}) was not read; it holds no table.",
    "Nothing need be done if it holds no records; ignore_sheets in settings.toml silences this.",
    severity="note",
)
LAYER_UNREAD = FaultKind(
    "header.layer_unread",
    "Layer that was not read",
    "Column {column} was not read, and {read} beside it was: they look like two layers of one sample.",
    "Give it a [[long]] entry of its own in the source profile, or a profile that says which part it reads (part under "
    "[match]); if it is not needed, list it under headers in [ignore].",
    severity="warning",
)
LEFT_OUT = frozenset({SHEET_UNREAD.code, LAYER_UNREAD.code})
"""Warnings that data was left out: a load that has one was not a full success."""
_LAYER = re.compile(r"\d+(?:[.,]\d+)?\s*(?:-|–|—|to)\s*\d+(?:[.,]\d+)?", re.IGNORECASE)


@dataclass(frozen=True)
class LeftOut:
    """What may be left out of a file, and what was taken from it.

    Attributes:
        profiles: those that read the file.
        sheets: names of sheets that are not needed, ``*`` for any letters.
    """

    profiles: Sequence[Profile] = ()
    sheets: tuple[str, ...] = ()

    def needed(self, sheet: str) -> bool:
        """Whether nobody has said that a sheet of this name is not needed."""
        patterns = (*self.sheets, *(name for one in self.profiles for name in one.ignore.sheets))
        return not fits_any(sheet, patterns)


def sheets_left_out(sheet: Sheet, read: Collection[str], may_be: LeftOut) -> pl.DataFrame:
    """A warning for each sheet with a table that was not read, a note for each other one with cells.

    Args:
        sheet: what was read of the file, or the first of several parts.
        read: names of the sheets that were read.
        may_be: what may be left out, and the profiles that read the file.
    """
    names = listed([f"“{name}”" for name in dict.fromkeys(read)])
    taken = f"{names} {'was' if len(set(read)) == 1 else 'were'}"
    return concat(_unread(one, taken) for one in sheet.unread if one.name not in read and may_be.needed(one.name))


def _unread(sheet: Unread, read: str) -> pl.DataFrame:
    cells = "more cells than are read" if sheet.cells is None else counted(sheet.cells, "filled cell")
    kind = SHEET_UNREAD if sheet.table else SHEET_PASSED
    return kind.at(None, sheet.name, cells=cells, read=read)


def layers_left_out(sheet: Sheet, profiles: Sequence[Profile]) -> pl.DataFrame:
    """A warning for each filled column that nobody reads and that is named as a column read is, but for its depths."""
    explained = frozenset(fold(header) for one in profiles for header in (*one.headers_read, *one.ignore.headers))
    layers = {_bare(header): header for one in profiles for header in one.headers_read if _LAYER.search(header)}
    faults = [no_faults()]
    for at, header in enumerate(sheet.headers):
        beside = layers.get(_bare(header)) if _LAYER.search(header) else None
        if beside and fold(header) not in explained and sheet.cells[f"c{at}"].count():
            faults.append(LAYER_UNREAD.at(None, None, header, read=beside))
    return concat(faults)


def _bare(header: str) -> str:
    return fold(_LAYER.sub("#", header))
