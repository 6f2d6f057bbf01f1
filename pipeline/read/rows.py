"""Rows of a text table with the physical line each begins on.

A clean table is read by polars and then proved: its delimiters and line ends must add up, or it is read again by the
standard library's reader, which is slower and exact.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import polars as pl

from pipeline.faults import FaultKind
from pipeline.read.bytes import LONGEST_LINE, has_long_line
from pipeline.read.layout import BLANKS, Layout, split

LONGEST_CELL_LINES = 250
"""Line ends one quoted cell may hold; past that its closing quote is taken to be missing (common practice, no source).
"""

SHORT = FaultKind(
    "row.short",
    "row with cells missing",
    "The row has fewer cells than the header: {value}",
    "Put the missing cells in (an empty one is just two delimiters), or export the file again.",
)
LONG = FaultKind(
    "row.long",
    "row with cells too many",
    "The row has more cells than the header: {value}",
    'Put quotes round the cell that holds the delimiter ("..."), or take the extra cell out.',
)
QUOTE = FaultKind(
    "row.quote",
    "quote that does not close",
    "A quote opens on this line and does not close as it should: {value}",
    'Close the quote, or double each quote that belongs to the text ("" inside "...").',
)
TOO_LONG = FaultKind(
    "row.too_long",
    "line too long to be a row",
    "The line is too long to be a row of a table; it begins: {value}",
    "Look whether line ends were lost, and export the file again.",
)


@dataclass
class Rows:
    """Rows of a table.

    Attributes:
        cells: ``line`` and ``c0``..``cN``, as written; None or "" where blank.
        odd: (line, cells, kind of fault) of what could not be read as a row.
        extra: whether cells stand beyond the last header (``BLANKS`` only); they are the last column.
    """

    cells: pl.DataFrame
    odd: list[tuple[int, list[str], FaultKind]] = field(default_factory=list)
    extra: bool = False

    @property
    def one_line_each(self) -> bool:
        """Whether no cell holds a line end."""
        lines = self.cells["line"]
        return not lines.len() or int(lines[-1]) - int(lines[0]) + 1 == lines.len()


def rows_of(data: bytes, layout: Layout) -> Rows:
    """The rows under the header.

    Args:
        data: the whole text, UTF-8, lines ended by a line feed.
        layout: where the table stands.
    """
    end = len(data)
    while end and data[end - 1] == 10:
        end -= 1
    body = data[_offset(data, layout.body_line) : end]
    if layout.delimiter == BLANKS:
        return _by_place(body.decode(), layout)
    cells = _by_polars(body, layout)
    return Rows(cells) if cells is not None else _by_reader(body.decode(), layout)


def frame_of(lines: list[int], rows: list[list[str]], width: int) -> pl.DataFrame:
    """Rows of equal width as a frame of text."""
    columns = list(zip(*rows, strict=True)) if rows else [()] * width
    data = {"line": pl.Series(lines, dtype=pl.Int64)}
    data.update({f"c{index}": pl.Series(cells, dtype=pl.String) for index, cells in enumerate(columns)})
    return pl.DataFrame(data)


def _offset(data: bytes, line: int) -> int:
    """Where a physical line begins."""
    at = 0
    for _ in range(line - 1):
        end = data.find(b"\n", at)
        if end < 0:
            return len(data)
        at = end + 1
    return at


def _by_polars(body: bytes, layout: Layout) -> pl.DataFrame | None:
    """The rows, or None where they do not add up.

    A row that polars has padded lacks delimiters, and a quote that stands inside a cell is kept there or was written
    twice: each makes the body shorter than its cells, delimiters, line ends and quotes together, and nothing makes it
    longer. So equal lengths prove that every byte was read as what it is.
    """
    width, quotes = len(layout.cells), body.count(b'"')
    if not body or not layout.delimiter.isascii() or quotes % 2 or b"\0" in body or has_long_line(body):
        return None
    schema = {f"c{index}": pl.String for index in range(width)}
    try:
        frame = pl.read_csv(body, has_header=False, separator=layout.delimiter, schema=schema)
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException):
        return None
    if not frame.height:
        return None
    inside = sum(int(size or 0) for size in frame.select(pl.all().str.len_bytes().cast(pl.Int64).sum()).row(0))
    if inside + (width - 1) * frame.height + (frame.height - 1) + quotes != len(body):
        return None
    lines = pl.int_range(layout.body_line, layout.body_line + frame.height, eager=True, dtype=pl.Int64)
    if body.count(b"\n") >= frame.height:
        ends = frame.select(pl.sum_horizontal(pl.all().str.count_matches("\n", literal=True).fill_null(0)).alias("n"))
        lines = lines + ends["n"].cum_sum().shift(1, fill_value=0).cast(pl.Int64)
    return frame.insert_column(0, lines.alias("line"))


class _Lines:
    """Lines for the reader, which may take a limited number for one record."""

    def __init__(self, lines: list[str], at: int) -> None:
        self.lines, self.at, self.begun = lines, at, at

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        if self.at >= len(self.lines) or self.at - self.begun > LONGEST_CELL_LINES:
            raise StopIteration
        line = self.lines[self.at]
        self.at += 1
        return line + "\n"


def _by_reader(text: str, layout: Layout) -> Rows:
    lines = text.split("\n")
    numbers: list[int] = []
    kept: list[list[str]] = []
    found = Rows(pl.DataFrame())
    at = 0
    while at < len(lines):
        at = _read_on(lines, at, layout, numbers, kept, found)
    found.cells = frame_of(numbers, kept, len(layout.cells))
    return found


def _read_on(lines: list[str], at: int, layout: Layout, numbers: list[int], kept: list[list[str]], found: Rows) -> int:
    """Reads until a line cannot be read as (part of) a row; comes back with the line to go on from."""
    source = _Lines(lines, at)
    width, mark = len(layout.cells), layout.delimiter
    reader = csv.reader(source, delimiter=mark, strict=True, skipinitialspace=mark != "\t")
    try:
        for cells in reader:
            start, source.begun = source.begun, source.at
            if len(cells) == width:
                numbers.append(start + layout.body_line)
                kept.append(cells)
                continue
            if len(cells) > width and not any(cell.strip() for cell in cells[width:]):
                numbers.append(start + layout.body_line)
                kept.append(cells[:width])
            elif source.at - start > 1:
                found.odd.append((start + layout.body_line, split(lines[start], mark), QUOTE))
                return start + 1
            elif any(cell.strip() for cell in cells):
                kind = LONG if len(cells) > width else SHORT
                found.odd.append((start + layout.body_line, cells, kind))
    except csv.Error:
        start = source.begun
        long = len(lines[start]) > LONGEST_LINE // 10
        cells = [lines[start][:1000]] if long else split(lines[start], mark)
        found.odd.append((start + layout.body_line, cells, TOO_LONG if long else QUOTE))
        return start + 1
    return len(lines)


def _by_place(text: str, layout: Layout) -> Rows:
    """Rows of a table laid out with blanks: a cell belongs to the column name it stands under."""
    names = [match.span() for match in re.finditer(r"\S+", layout.header.expandtabs())]
    width = len(names)
    numbers: list[int] = []
    kept: list[list[str]] = []
    found = Rows(pl.DataFrame())
    for number, line in enumerate(text.split("\n"), layout.body_line):
        if not line.strip():
            continue
        cells = _placed(line.expandtabs(), names) if len(line) <= LONGEST_LINE else None
        if cells is None:
            kind = TOO_LONG if len(line) > LONGEST_LINE else SHORT
            found.odd.append((number, line[:1000].split(), kind))
            continue
        found.extra = found.extra or bool(cells[width])
        numbers.append(number)
        kept.append(cells)
    found.cells = frame_of(numbers, kept, width + 1)
    if not found.extra:
        found.cells = found.cells.drop(f"c{width}")
    return found


def _placed(line: str, names: list[tuple[int, int]]) -> list[str] | None:
    """Cells by column and, last, what stands beyond the last name; None where two stand under one name."""
    words = list(re.finditer(r"\S+", line))
    cells = [""] * (len(names) + 1)
    for word in words:
        under = [index for index, (start, end) in enumerate(names) if word.start() < end and word.end() > start]
        if not under and word.start() >= names[-1][1]:
            cells[-1] = line[word.start() :].strip()
            return cells
        if len(under) != 1 or cells[under[0]]:
            return [word.group() for word in words] + [""] if len(words) == len(names) else None
        cells[under[0]] = word.group()
    return cells
