"""Rows read line by line: those with quotes over line ends, and tables laid out with blanks."""

from __future__ import annotations

import csv
import re

import polars as pl

from pipeline.common.limits import Deadline, Limits
from pipeline.read.text.layout import Layout, split
from pipeline.read.text.ragged import LONG, QUOTE, SHORT, TOO_LONG, Ragged, Rows, frame_of, ragged_frame, refuse_odd

LONGEST_CELL_LINES = 250
"""Line ends one quoted cell may hold; past that its closing quote is taken to be missing (common practice, no source).
"""


def quoted_rows(lines: pl.Series, begins: list[int], layout: Layout, limits: Limits) -> tuple[Rows, list[int]]:
    """Rows that begin on a line with quotes, and the indexes of all lines they take.

    A line that cannot begin a row (its quote does not close, or closes where it should not) costs only itself.
    ``begins`` are indexes into the lines under the header.

    Raises:
        TooLarge: reading takes too long, or next to nothing is a row.
    """
    width, mark = len(layout.cells), layout.delimiter
    numbers: list[int] = []
    rows: list[list[str]] = []
    ragged: list[Ragged] = []
    taken: list[int] = []
    free, deadline = 0, Deadline(limits)
    for start in begins:
        if start < free:
            continue
        deadline.check()
        refuse_odd(len(ragged), limits)
        cells, free = _record(lines, start, mark)
        line = start + layout.body_line
        if cells is not None and _fits(cells, width):
            numbers.append(line)
            rows.append(cells[:width])
        elif cells is None or free > start + 1:
            free = start + 1
            ragged.append((line, split(lines[start], mark), QUOTE))
        else:
            ragged.append((line, cells, LONG if len(cells) > width else SHORT))
        taken += range(start, free)
    broken = len(taken) > len(numbers) + len(ragged)
    return Rows(frame_of(numbers, rows, width), ragged_frame(ragged), broken), taken


def _fits(cells: list[str], width: int) -> bool:
    """Whether cells make a row: as many as the header has, or with nothing in those beyond."""
    return len(cells) == width or (len(cells) > width and not any(cell.strip() for cell in cells[width:]))


def _record(lines: pl.Series, start: int, mark: str) -> tuple[list[str] | None, int]:
    """Cells of the record that begins on a line (None where it cannot be read) and the index of the line after it."""
    end = min(len(lines), start + LONGEST_CELL_LINES)
    source = (lines[index] + "\n" for index in range(start, end))
    reader = csv.reader(source, delimiter=mark, strict=True, skipinitialspace=mark != "\t")
    try:
        return next(reader), start + reader.line_num
    except csv.Error:
        return None, start + 1


def by_place(text: str, layout: Layout, limits: Limits) -> Rows:
    """Rows of a table laid out with blanks: a cell belongs to the column name it stands under.

    Where cells stand beyond the last name, they are one more column.

    Raises:
        TooLarge: reading takes too long.
    """
    longest, deadline = limits.line_kb * 1_000, Deadline(limits)
    names = [match.span() for match in re.finditer(r"\S+", layout.header.expandtabs())]
    width = len(names)
    numbers: list[int] = []
    rows: list[list[str]] = []
    ragged: list[Ragged] = []
    for number, line in enumerate(text.split("\n"), layout.body_line):
        if not line.strip():
            continue
        deadline.check()
        cells = _placed(line.expandtabs(), names) if len(line) <= longest else None
        if cells is None:
            kind = TOO_LONG if len(line) > longest else SHORT
            ragged.append((number, line[:1000].split(), kind))
            refuse_odd(len(ragged), limits)
            continue
        numbers.append(number)
        rows.append(cells)
    frame = frame_of(numbers, rows, width + 1)
    beyond = any(cells[width] for cells in rows)
    return Rows(frame if beyond else frame.drop(f"c{width}"), ragged_frame(ragged))


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
