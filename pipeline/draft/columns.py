"""A file as a draft sees it: its columns with header, unit and what their cells look like, and how it is read."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Literal

import polars as pl

from pipeline.common.limits import STANDARD, Limits
from pipeline.draft.document import Entry, Part
from pipeline.profiles.profile import UNDECIDED, all_known_headers
from pipeline.profiles.style import MISSING, Refused, Style
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from pipeline.read.text.bytes import text_of
from pipeline.read.text.messages import HEADERS as MESSAGES
from pipeline.read.text.messages import is_message_list
from pipeline.standardise.cells.dates import DAY_NUMBER, date_of
from pipeline.standardise.cells.distinct import Cells, missing_out, plain
from pipeline.standardise.cells.header_units import ANY_STYLE, parted, unit_of
from pipeline.standardise.cells.quantity import amount_column
from pipeline.standardise.columns import unit_said
from schemas.codes import fold

_COMMA_STYLE = Style(ton="metric", barrow_l=1.0, decimal=",")

_TEMPERATURE = re.compile(r"(?<![a-z])(?:deg\W*)?(?:[cf]|celsius|fahrenheit)\b", re.IGNORECASE)
_NUMBER = r"^[<>~]?\s*[-+]?[\d½¼¾][\d.,' \x{a0}/½¼¾-]*\s*%?$"
_ORDERS: tuple[Literal["dmy", "mdy", "ymd"], ...] = ("dmy", "mdy", "ymd")
_FIGURE_FIRST = re.compile(r"[<>~]?\s*[-+]?[\d½¼¾⅛⅓⅔][\d.,'\u00a0 /½¼¾-]*\s*(.*)")
MOSTLY = 0.7
"""Share of a column's cells from which on it is held to be of one sort (a threshold of the draft; a person confirms
what comes of it)."""
HALF = 0.5
"""Share of cells from which on a column is asked about rather than passed over (a threshold of the draft)."""
_LOOKED_AT = 100
LONGEST = 200
"""Characters of a header from which on it is a sentence, or cells that a stray quote ran together, and no name: looking
for what it may mean takes time that grows faster than it does."""
_SHORTEST = 3
_BEGINNING = 100_000
_PACKED = (b"PK", b"\xd0\xcf\x11\xe0")
_UTF = ("utf-8", "utf-16", "utf-32")


@dataclass(frozen=True)
class Column:
    """One column of the sheet.

    Attributes:
        header: as written in the file.
        name: its words without the unit, folded by :func:`bare`.
        unit: unit the units row or else the header says, "" where neither does.
        row_unit: unit the units row says, "" where it says none.
        row_said: what the units row says in words that are no known unit, "" elsewhere.
        lines: physical line of each cell.
        cells: text, null where blank.
    """

    header: str
    name: str
    unit: str
    row_unit: str
    row_said: str
    lines: pl.Series
    cells: pl.Series

    @cached_property
    def spelt(self) -> frozenset[str]:
        """The header's words, run together names also taken apart; none of a sentence."""
        return spelt(self.header) if len(self.header) <= LONGEST else frozenset()

    @cached_property
    def filled(self) -> pl.DataFrame:
        """``line`` and ``text`` of the cells that hold something but a mark for "no value"."""
        return pl.DataFrame({"line": self.lines, "text": missing_out(self.cells, Style())}).drop_nulls("text")

    @cached_property
    def words(self) -> dict[str, int]:
        """Distinct texts with how often each stands there, the most frequent first."""
        counts = (
            self.filled["text"]
            .value_counts(sort=True, name="count")
            .sort("count", "text", descending=[True, False], maintain_order=True)
        )
        found: dict[str, int] = {}
        for text, count in counts.iter_rows():
            found[plain(text)] = found.get(plain(text), 0) + count
        return found

    @cached_property
    def numeric(self) -> bool:
        """Whether most filled cells are numbers; a column without any cell may hold some later."""
        text = self.filled["text"]
        return int(text.str.contains(_NUMBER).sum()) >= MOSTLY * len(text)

    @cached_property
    def figured(self) -> bool:
        """Whether most filled cells hold a figure, be it with words (``5 mm``, ``2 bags``)."""
        text = self.filled["text"]
        return int(text.str.contains(r"[\d½¼¾]").sum()) >= MOSTLY * len(text)

    @cached_property
    def amounts(self) -> bool:
        """Whether most filled cells are amounts with a unit or packs (``2 x 25 kg``, ``7 barrow loads``)."""
        texts = list(self.words)[:_LOOKED_AT]
        return bool(texts) and sum(map(_is_amount, texts)) >= MOSTLY * len(texts)

    @cached_property
    def measured(self) -> bool:
        """Whether half the filled cells are numbers, amounts or figures with a unit: no free text is like that."""
        texts = list(self.words.items())[:_LOOKED_AT]
        counted = sum(count for text, count in texts if _is_measured(text))
        return bool(texts) and counted >= HALF * sum(count for _, count in texts)

    @cached_property
    def dated(self) -> bool:
        """Whether most filled cells are dates under some order (day numbers of a spreadsheet are not counted)."""
        return self.days >= MOSTLY

    @cached_property
    def days(self) -> float:
        """The share of the distinct texts that are dates so."""
        texts = list(self.words)[:_LOOKED_AT]
        return sum(map(is_date, texts)) / len(texts) if texts else 0.0


def columns_of(sheet: Sheet) -> tuple[Column, ...]:
    """Every named column of a sheet, in its order; one named "?" cannot stand in a profile and is left out."""
    found = []
    for i, header in enumerate(sheet.headers):
        name, said = parted(header) if len(header) <= LONGEST else ("", "")
        row = unit_of(sheet.units[i]) if sheet.units else ""
        words = "" if row else _words_of(sheet, i)
        found.append(Column(header, bare(name), row or said, row, words, sheet.cells["line"], sheet.cells[f"c{i}"]))
    return tuple(column for column in found if column.header not in {"", UNDECIDED})


def _words_of(sheet: Sheet, column: int) -> str:
    """What the units row says over a column, "" where there is none or a mark for "no value" stands there."""
    said = unit_said(sheet, column)
    return "" if said.casefold() in MISSING else said


def bare(text: str) -> str:
    """Words for comparing: case, accents of type (²), punctuation and repeated blanks taken out; ``%`` stays."""
    folded = unicodedata.normalize("NFKC", text).casefold()
    return " ".join("".join(char if char.isalnum() or char == "%" else " " for char in folded).split())


def spelt(text: str) -> frozenset[str]:
    """A header's words, and the same with names run together taken apart (``sampleId``)."""
    return frozenset({bare(text), bare(re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text))})


@cache
def is_date(text: str) -> bool:
    """Whether a text is a date under some order of day, month and year."""
    for order in _ORDERS:
        try:
            date_of(plain(text), Style(date_order=order))
        except Refused as refused:
            if refused.problem.kind is DAY_NUMBER:
                return False
        else:
            return True
    return False


def _is_amount(text: str) -> bool:
    if _TEMPERATURE.search(text):
        return False
    return any(
        value is not None
        for style in (ANY_STYLE, _COMMA_STYLE)
        for value in amount_column(Cells(pl.Series([1]), pl.Series([text]), ""), style).values.row(0)
    )


def _is_measured(text: str) -> bool:
    """Whether a text is a number, an amount, or a figure with a unit behind it."""
    figure = _FIGURE_FIRST.fullmatch(text)
    if figure is None:
        return _is_amount(text)
    behind = figure.group(1).strip()
    return not behind or behind == "%" or bool(unit_of(behind)) or _is_amount(text)


def read_for_draft(path: Path, sheet_name: str = "", ignored: tuple[str, ...] = (), limits: Limits = STANDARD) -> Sheet:
    """The sheet of a file no profile knows yet; of a workbook the sheet of this name, or the one reading takes.

    ``ignored`` are names of sheets that nobody needs, as loading passes over them.

    The header is looked for by known names of three letters and more: single letters (P, K, S) also stand in rows of
    data. A row of units that the reader did not take for one is found by the units the trade and laboratories write.
    """
    known = frozenset(name for name in all_known_headers(()) if len(name) >= _SHORTEST)
    if _is_message_list(path):
        return read_sheet(path, Reading(messages=True, limits=limits))
    named = sheet_name or None
    how = Reading(known_headers=known, sheet=named, ignored_sheets=ignored, limits=limits)
    sheet = read_sheet(path, how)
    if sheet.units is None and sheet.cells.height and _is_units_row(sheet):
        again = replace(how, header_line=sheet.header_line, units_row=True)
        return read_sheet(path, again)
    return sheet


def reading_part(
    path: Path,
    sheet: Sheet,
    wanted: frozenset[str],
    sheet_name: str = "",
    ignored: tuple[str, ...] = (),
    limits: Limits = STANDARD,
) -> Part:
    """Entries of [reading]: encoding, delimiter and header line where they are not the usual, a row of units.

    ``wanted`` are the folded headers that the profile will name.
    """
    if are_messages(sheet):
        return Part((Entry("messages", True, "a pasted list of messages"),))
    entries = [Entry("sheet", sheet_name)] if sheet_name else []
    if sheet.encoding and not sheet.encoding.startswith(_UTF):
        entries.append(
            Entry("encoding", "cp1252" if " " in sheet.encoding else sheet.encoding, "look at the accented letters")
        )
    if sheet.delimiter not in {"", ","}:
        entries.append(Entry("delimiter", sheet.delimiter))
    known = all_known_headers(()) | wanted
    how = Reading(known_headers=known, sheet=sheet_name or None, ignored_sheets=ignored, limits=limits)
    found = read_sheet(path, how)
    if sheet.header_line > 1 or found.header_line != sheet.header_line:
        entries.append(Entry("header_line", sheet.header_line))
    if sheet.units is not None:
        entries.append(Entry("units_row", True))
    return Part(tuple(entries))


def are_messages(sheet: Sheet) -> bool:
    """Whether the sheet was read from a pasted list of messages."""
    return sheet.header_line == 0 and sheet.headers == MESSAGES


def _is_message_list(path: Path) -> bool:
    with path.open("rb") as file:
        raw = file.read(_BEGINNING)
    return not raw.startswith(_PACKED) and is_message_list(text_of(raw, None).data)


def _is_units_row(sheet: Sheet) -> bool:
    first = [cell for cell in sheet.cells.row(0)[1:] if cell]
    said = [cell for cell in first if unit_of(cell) or fold(cell) in {"ph", "-"}]
    return len(first) > 1 and len(said) == len(first) and any(unit_of(cell) for cell in first)
