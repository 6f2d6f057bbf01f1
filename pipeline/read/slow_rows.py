"""Rows read line by line: those with quotes over line ends, and tables laid out with blanks."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.read.bytes import LONGEST_LINE
from pipeline.read.layout import Layout, split
from pipeline.read.odd_rows import LONG, QUOTE, SHORT, TOO_LONG, Odd, Rows, frame_of, odd_frame

LONGEST_CELL_LINES = 250
"""Line ends one quoted cell may hold; past that its closing quote is taken to be missing (common practice, no source).
"""


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


def by_reader(text: str, layout: Layout) -> Rows:
    """The rows as the standard library reads them; a line that cannot be (part of) a row costs only itself."""
    lines = text.split("\n")
    found = _Found([], [], [])
    at = 0
    while at < len(lines):
        at = _read_on(lines, at, layout, found)
    return Rows(frame_of(found.numbers, found.rows, len(layout.cells)), odd_frame(found.odd), broken=True)


@dataclass
class _Found:
    """What the reader has come upon so far."""

    numbers: list[int]
    rows: list[list[str]]
    odd: list[Odd]


def _read_on(lines: list[str], at: int, layout: Layout, found: _Found) -> int:
    """Reads until a line cannot be read as (part of) a row; comes back with the line to go on from."""
    source = _Lines(lines, at)
    width, mark = len(layout.cells), layout.delimiter
    reader = csv.reader(source, delimiter=mark, strict=True, skipinitialspace=mark != "\t")
    try:
        for cells in reader:
            start, source.begun = source.begun, source.at
            line = start + layout.body_line
            if len(cells) == width or (len(cells) > width and not any(cell.strip() for cell in cells[width:])):
                found.numbers.append(line)
                found.rows.append(cells[:width])
            elif source.at - start > 1:
                found.odd.append((line, split(lines[start], mark), QUOTE))
                return start + 1
            else:
                found.odd.append((line, cells, LONG if len(cells) > width else SHORT))
    except csv.Error:
        start = source.begun
        long = len(lines[start]) > csv.field_size_limit()
        cells = [lines[start][:1000]] if long else split(lines[start], mark)
        found.odd.append((start + layout.body_line, cells, TOO_LONG if long else QUOTE))
        return start + 1
    return len(lines)


def by_place(text: str, layout: Layout) -> Rows:
    """Rows of a table laid out with blanks: a cell belongs to the column name it stands under.

    Where cells stand beyond the last name, they are one more column.
    """
    names = [match.span() for match in re.finditer(r"\S+", layout.header.expandtabs())]
    width = len(names)
    found = _Found([], [], [])
    for number, line in enumerate(text.split("\n"), layout.body_line):
        if not line.strip():
            continue
        cells = _placed(line.expandtabs(), names) if len(line) <= LONGEST_LINE else None
        if cells is None:
            kind = TOO_LONG if len(line) > LONGEST_LINE else SHORT
            found.odd.append((number, line[:1000].split(), kind))
            continue
        found.numbers.append(number)
        found.rows.append(cells)
    frame = frame_of(found.numbers, found.rows, width + 1)
    beyond = any(cells[width] for cells in found.rows)
    return Rows(frame if beyond else frame.drop(f"c{width}"), odd_frame(found.odd))


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
