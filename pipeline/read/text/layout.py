"""Where a table begins in a text and what parts its cells."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import polars as pl

from pipeline.common.faults import FaultKind
from pipeline.read.text.bytes import BLANK
from pipeline.read.text.skipped import is_units_row
from schemas.codes import fold

SAMPLE_LINES = 200
"""Lines looked at to find the header and the delimiter."""

BLANKS = " "
"""Delimiter of tables laid out in columns with runs of blanks."""

NO_HEADER = FaultKind(
    "header.none",
    "no header line",
    "Line {place} already holds values ({value}): there is no line with column names.",
    "Write the column names into the first line of the file, or say which line they stand on (header_line in "
    "[reading] of the profile).",
)
HEADER_BEYOND = FaultKind(
    "header.beyond",
    "declared header line is not there",
    "The profile says that the column names stand on line {place}, but nothing stands there.",
    "Look at the file and mend header_line in [reading] of the profile.",
)

HEADER_SWALLOWED = FaultKind(
    "header.swallowed",
    "column name that runs on over other cells",
    "A column name in the header on line {place} runs on over the lines below, other cells and all: {value}",
    'A quotation mark in the header is never closed, or closed too late: take it out (or write it twice, "", where it '
    "belongs to the name) and load again.",
)

_SHOWN = 200
_CELLS_SWALLOWED = 2
"""Delimiters behind a line break from which on a column name holds cells: a comma in a name of two lines is none."""
_DELIMITERS = (",", ";", "\t", "|")
_SEP_LINE = re.compile(r'"?sep=(.)"?[,;]*', re.IGNORECASE)
_YEAR = re.compile(r"(1[89]|20)\d\d")
_VALUE = re.compile(r"[<>±+-]?\s*\d+([.,/:-]\d+)*\s*%?([ T]\d\d:\d\d(:\d\d)?)?")
_MONTH = re.compile(r"(\d{4})[-/](0[1-9]|1[0-2])")
_MONTHS = 3
"""Months one after another, 2021-01 2021-02 …, from which on they are a column's name each."""
_LIKE_VALUE = re.compile(r"[<>+-]?\d|[-*]+$|na$", re.IGNORECASE)


@dataclass(frozen=True)
class Layout:
    """Where the table stands in the text.

    Attributes:
        delimiter: one character, or ``BLANKS``.
        header_line: physical line the header begins on.
        body_line: physical line after the header.
        cells: the header's cells, stripped.
        header: the header's line as it stands (``BLANKS`` reads columns by their place).
    """

    delimiter: str
    header_line: int
    body_line: int
    cells: tuple[str, ...]
    header: str = ""


@dataclass(frozen=True)
class Record:
    """A line of the sample that is not blank: the physical line it begins on, the one after its end, its cells."""

    line: int
    end: int
    cells: tuple[str, ...]

    @property
    def filled(self) -> int:
        """How many cells hold something."""
        return sum(1 for cell in self.cells if cell)

    def known(self, headers: frozenset[str]) -> int:
        """How many known column names stand in it."""
        return len({fold(cell) for cell in self.cells} & headers)


def layout_of(
    lines: list[str], delimiter: str | None, header_line: int | None, known_headers: frozenset[str]
) -> Layout | int:
    """Where the table begins; the number of the offending line where there is no header.

    The delimiter is the one under which a line holds most known column names, else the one under which most lines
    have the same number of cells. The header is the line with most known names (two at least), else the first line
    as wide as the table; where that line holds values, there is no header. Known names are folded.
    """
    sep = _SEP_LINE.fullmatch(lines[0].strip()) if lines else None
    skip = 1 if sep else 0
    wanted = delimiter or (sep.group(1) if sep else None)
    chosen = wanted or _most_likely(lines[skip:], known_headers)
    records = list(_records(lines, chosen, skip))
    header = header_of(records, header_line, known_headers, prose=chosen == BLANKS)
    if isinstance(header, int):
        return header
    return Layout(chosen, header.line, header.end, header.cells, lines[header.line - 1])


def header_of(
    records: list[Record], declared: int | None, known: frozenset[str], *, prose: bool = False
) -> Record | int:
    """The header among the records; the number of the offending line where there is none.

    In ``prose`` words of titles look like cells, so that only the values under it find the header.
    """
    if declared is not None:
        return next((record for record in records if record.line <= declared < record.end), declared)
    header = _header_above_values(records, known) if prose else _header(records, known)
    if header is None:
        return 1
    if header.known(known) < 2 and _holds_values(header.cells):
        return header.line
    return header


def header_fault(line: int, shown: str, declared: int | None) -> pl.DataFrame:
    """The fault of a file without a header: the line where it should be, and what stands there."""
    kind = NO_HEADER if declared is None else HEADER_BEYOND
    return kind.at(value=shown.strip()[:_SHOWN], place=line)


def swallowed(layout: Layout) -> pl.DataFrame | None:
    """The fault of a column name in which a stray quote ran the lines below together; None where there is none."""
    if layout.delimiter == BLANKS:
        return None
    for cell in layout.cells:
        if cell.partition("\n")[2].count(layout.delimiter) >= _CELLS_SWALLOWED:
            return HEADER_SWALLOWED.at(None, " ".join(cell.split())[:_SHOWN], place=layout.header_line)
    return None


def split(line: str, delimiter: str) -> list[str]:
    """The cells of one line, stripped."""
    if delimiter == BLANKS:
        return line.split()
    try:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=delimiter != "\t"), [])
    except csv.Error:
        cells = line[:1000].split(delimiter)
    return [cell.strip(BLANK) for cell in cells]


def _most_likely(lines: list[str], known: frozenset[str]) -> str:
    ranked = [(_rank(list(_records(lines, mark, 0)), known), mark) for mark in _DELIMITERS]
    best, mark = max(ranked, key=lambda item: item[0])
    if best[0] >= 2 or best[1] >= 0.5:
        return mark
    blanks = list(_records(lines, BLANKS, 0))
    if _rank(blanks, known)[0] >= 2 or _values_begin(blanks) is not None:
        return BLANKS
    return mark if best[1] > 0 else ","


def _rank(records: list[Record], known: frozenset[str]) -> tuple[int, float, int]:
    """(known names in the best line, share of lines as wide as most, that width)."""
    if not records:
        return 0, 0.0, 0
    names = max(record.known(known) for record in records)
    widths = Counter(len(record.cells) for record in records if len(record.cells) > 1)
    if not widths:
        return names if names > 1 else 0, 0.0, 1
    width, times = max(widths.items(), key=lambda item: (item[1], item[0]))
    return (names if names > 1 else 0), times / len(records), width


def _records(lines: Iterable[str], delimiter: str, skip: int) -> Iterator[Record]:
    """Records of the sample that are not blank, with the physical lines they begin and end on."""
    kept = list(lines)[skip:]
    if delimiter == BLANKS:
        for number, line in enumerate(kept, skip + 1):
            if line.strip():
                yield Record(number, number + 1, tuple(line.split()))
        return
    reader = csv.reader((line + "\n" for line in kept), delimiter=delimiter, skipinitialspace=delimiter != "\t")
    start = skip + 1
    try:
        for row in reader:
            end = skip + reader.line_num + 1
            cells = tuple(cell.strip(BLANK) for cell in row)
            if any(cells):
                yield Record(start, end, cells)
            start = end
    except csv.Error:
        return


def _header(records: list[Record], known: frozenset[str]) -> Record | None:
    if not records:
        return None
    best = max(records, key=lambda record: record.known(known))
    if best.known(known) >= 2:
        return best
    widths = Counter(len(record.cells) for record in records)
    width = max(widths.items(), key=lambda item: (item[1], item[0]))[0]
    wide = [record for record in records if record.filled >= max(min(2, width), 0.6 * width)] or records
    full = [record for record in wide[:10] if record.filled >= width and not _holds_values(record.cells)]
    return full[0] if full and wide[0].filled < width and _holds_values(wide[0].cells) else wide[0]


def _header_above_values(records: list[Record], known: frozenset[str]) -> Record | None:
    """The header of a table laid out with blanks: words of prose look like cells, so the values under it find it."""
    begin = _values_begin(records)
    if begin is None:
        return _header(records, known)
    above = [other for other in records[:begin] if len(other.cells) > 1]
    if above and is_units_row(above[-1].cells):
        above = above[:-1]
    return above[-1] if above else records[begin]


def _values_begin(records: list[Record]) -> int | None:
    """Index of the first of three lines of values, or None."""
    for index in range(len(records) - 2):
        three = records[index : index + 3]
        if all(len(record.cells) > 2 and _mostly_values(record.cells) for record in three):
            return index
    return None


def _mostly_values(cells: tuple[str, ...]) -> bool:
    return sum(1 for cell in cells if _LIKE_VALUE.match(cell)) > len(cells) / 2


def _holds_values(cells: tuple[str, ...]) -> bool:
    """Whether a line cannot be column names: a number or date stands in it (years and months may be columns' names)."""
    values = [cell for cell in cells if _VALUE.fullmatch(cell)]
    months = [int(met[1]) * 12 + int(met[2]) for cell in values if (met := _MONTH.fullmatch(cell))]
    if len(months) >= _MONTHS and months == list(range(months[0], months[0] + len(months))):
        values = [cell for cell in values if not _MONTH.fullmatch(cell)]
    years = [cell for cell in values if _YEAR.fullmatch(cell)]
    filled = [cell for cell in cells if cell]
    return len(values) > len(years) or (bool(values) and len(values) == len(filled))
