"""A file as text cells with the line each row stands on; nothing is typed here.

Steps, in the order of the code: bytes to text (or a workbook's sheet to rows), header and delimiter, rows, rows that
are no data (comments, totals, repeated headers, a units row), column names, faults.
"""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.common.faults import FaultKind, concat, kind_of, no_faults
from pipeline.common.limits import MB, RAISE, Limits, TooLarge
from pipeline.read.sheet import Found, Reading, Sheet
from pipeline.read.text import columns, skipped
from pipeline.read.text.bytes import BLANK, NUL, NUL_TAIL, UNREADABLE, UNREADABLE_BYTE, Text, count_of, text_of
from pipeline.read.text.layout import BLANKS, SAMPLE_LINES, Layout, header_fault, layout_of, split, swallowed
from pipeline.read.text.messages import HEADERS as MESSAGE_HEADERS
from pipeline.read.text.messages import messages_of
from pipeline.read.text.rows import rows_of
from schemas.codes import fold

IGNORED_SCHEMA: dict[str, type[pl.DataType]] = {"line": pl.Int64, "reason": pl.String}
REJECTED_SCHEMA: dict[str, pl.DataType] = {"line": pl.Int64(), "cells": pl.List(pl.String)}

_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""What the bytes of a workbook begin with."""
_BEGINS = 100
"""Characters of a long cell that are told."""
_ODD_BLANKS = (b"\t", b"\x0b", b"\x0c", b"\x1c", b"\x1d", b"\x1e", b"\x1f")

HEADER_ONLY = FaultKind(
    "read.header_only",
    "header without rows",
    "The file has column names on line {place} and no row under them.",
    "Nothing to load. Export it again if rows should be there.",
    "warning",
)
TOO_LARGE = FaultKind(
    "read.too_large",
    "text larger than is read",
    "The file {reason}.",
    f"Look whether it is the export that is meant, and part it into several; or {RAISE}.",
)
LONG_CELL = FaultKind(
    "cell.too_long",
    "cell longer than is read",
    "The cell has {length} characters; {most} are the most. It begins: {value}",
    f"Look whether a quotation mark or line ends were lost; or {RAISE}.",
)
OTHER_HEADER = FaultKind(
    "read.other_header",
    "second header with other columns",
    "Line {place} is a second header with the columns in another order; this row stands under it: {value}",
    "Two different exports were appended; load them as two files.",
)
BAD_DELIMITER = FaultKind(
    "read.delimiter",
    "declared delimiter is no delimiter",
    "The profile declares the delimiter {delimiter}, which cannot part cells.",
    'Write one character under delimiter in [reading] of the profile, such as ";" or "\\t".',
)


def read_sheet(path: Path, reading: Reading | None = None) -> Sheet:
    """What stands in a CSV-like text, an XLSX or an ODS file (told by content).

    Whatever the bytes are, the answer is a sheet; only opening the file can raise (OSError).
    """
    how = reading or Reading()
    raw = taken_in(path, how.limits)
    if isinstance(raw, pl.DataFrame):
        return _refused(path.name, "", raw)
    digest = hashlib.sha256(raw).hexdigest()
    try:
        found = _rows_in_workbook(raw, how) if raw.startswith(_WORKBOOKS) else _rows_in_text(raw, how)
        if not isinstance(found, pl.DataFrame):
            return _sheet(path.name, digest, how, found)
    except TooLarge as error:
        found = _too_large(error, packed=False)
    return _refused(path.name, digest, found)


def taken_in(path: Path, limits: Limits) -> bytes | pl.DataFrame:
    """The bytes of a file; the fault of one that is too large to be taken into memory.

    Raises:
        OSError: it cannot be read.
    """
    with path.open("rb") as file:
        size, begin = os.fstat(file.fileno()).st_size, file.read(4)
        packed = begin.startswith(_WORKBOOKS)
        most = (limits.workbook_mb if packed else limits.text_mb) * MB
        raw = begin + file.read(most - len(begin) + 1) if size <= most else b""
    if size <= most and len(raw) <= most:
        return raw
    setting = "workbook_mb" if packed else "text_mb"
    said = f"is {max(size, len(raw)):,} bytes large; {most // MB:,} MB are the most"
    return _too_large(TooLarge(said, setting), packed=packed)


def _too_large(error: TooLarge, *, packed: bool) -> pl.DataFrame:
    """The fault of a text or a workbook that is larger than is read."""
    if not packed:
        return TOO_LARGE.at(reason=str(error), setting=error.setting)
    from pipeline.read.workbook.workbook import too_large

    return too_large(error)


def _rows_in_workbook(raw: bytes, how: Reading) -> Found | pl.DataFrame:
    from pipeline.read.workbook.workbook import rows_in_workbook  # most files are text

    return rows_in_workbook(raw, how)


def header_cells(path: Path, how: Reading) -> tuple[str, ...] | None:
    """The cells of a text's header as they stand, () where none is found; None of what is no text.

    Far cheaper than the sheet. Its headers are these cells, but for `columns.MADE` names.
    """
    raw = taken_in(path, how.limits)
    if isinstance(raw, pl.DataFrame) or raw.startswith(_WORKBOOKS) or how.messages:
        return None
    try:
        found = _table_in_text(raw, how)
    except TooLarge:
        return None
    return () if isinstance(found, pl.DataFrame) else found.layout.cells


def _rows_in_text(raw: bytes, reading: Reading) -> Found | pl.DataFrame:
    if reading.messages:
        return _messages_in_text(raw, reading)
    table = _table_in_text(raw, reading)
    if isinstance(table, pl.DataFrame):
        return table
    text, lines, layout = table.text, table.lines, table.layout
    rows = rows_of(text.data, layout, reading.limits)
    damaged = b"\0" in text.data or (not text.data.isascii() and UNREADABLE.encode() in text.data)
    plain = not rows.broken and text.data.isascii() and not any(mark in text.data for mark in _ODD_BLANKS)
    above = tuple(tuple(split(line, layout.delimiter)) for line in lines[: layout.header_line - 1])
    return Found(
        text.encoding,
        layout.delimiter,
        layout.header_line,
        layout.cells,
        rows,
        text.faults,
        damaged,
        plain,
        above=above,
    )


@dataclass(frozen=True)
class _Table:
    """A text, its first lines, and where the table begins in it."""

    text: Text
    lines: list[str]
    layout: Layout


def _table_in_text(raw: bytes, reading: Reading) -> _Table | pl.DataFrame:
    """Where the table begins; the fault of a text in which none is found."""
    text = _text(raw, reading)
    if not text.data:
        return text.faults
    lines = first_lines(text.data, max(SAMPLE_LINES, (reading.header_line or 0) + 1))
    layout = layout_of(lines, reading.delimiter, reading.header_line, reading.known_headers)
    if isinstance(layout, int):
        shown = lines[layout - 1] if layout <= len(lines) else ""
        return header_fault(layout, shown, reading.header_line)
    _refuse_wide(layout, text.data, reading.limits)
    fault = swallowed(layout)
    return _Table(text, lines, layout) if fault is None else fault


def _refuse_lines(data: bytes, most: int, limits: Limits) -> None:
    """Refuse a text of more lines than are read: each of them costs memory, blank ones too.

    Raises:
        TooLarge: it has more.
    """
    found = max(count_of(data, b"\n"), count_of(data, b"\r"))
    if found > most:
        raise TooLarge(f"has {found:,} lines; {limits.lines:,} are the most", "lines")


def _refuse_wide(layout: Layout, data: bytes, limits: Limits) -> None:
    """Refuse a table of more columns or cells than are read, and one with a name of a column that is no name.

    Raises:
        TooLarge: it has more.
    """
    wide, longest = len(layout.cells), max(map(len, layout.cells), default=0)
    if wide > limits.columns:
        raise TooLarge(f"has {wide:,} columns or more; {limits.columns:,} are the most", "columns")
    if longest > limits.cell_characters:
        most = f"{limits.cell_characters:,} are the most"
        raise TooLarge(f"has a column name of {longest:,} characters or more; {most}", "cell_characters")
    cells = count_of(data, b"\n") + (0 if layout.delimiter == BLANKS else count_of(data, layout.delimiter.encode()))
    if cells > limits.cells:
        raise TooLarge(f"has {cells:,} cells; {limits.cells:,} are the most", "cells")


def _messages_in_text(raw: bytes, reading: Reading) -> Found | pl.DataFrame:
    text = _text(raw, reading)
    if not text.data:
        return text.faults
    sent = messages_of(text.data)
    return sent if isinstance(sent, pl.DataFrame) else Found(text.encoding, "", 0, MESSAGE_HEADERS, sent, text.faults)


def _text(raw: bytes, reading: Reading) -> Text:
    """The text of the bytes; without data where they are none, or the declared delimiter cannot part cells."""
    if reading.delimiter is not None and (len(reading.delimiter) != 1 or reading.delimiter in '"\r\n\0\ufeff'):
        return Text(b"", "", BAD_DELIMITER.at(delimiter=repr(reading.delimiter)))
    limits = reading.limits
    _refuse_lines(raw, 2 * limits.lines, limits)  # before it is decoded: in a wide encoding some are letters
    text = text_of(raw, reading.encoding)
    _refuse_lines(text.data, limits.lines, limits)
    return text


def first_lines(data: bytes, count: int) -> list[str]:
    """The first lines of a text, at most a megabyte of it."""
    return data[:1_000_000].decode("utf-8", "ignore").split("\n")[:count]


def _sheet(name: str, digest: str, reading: Reading, found: Found) -> Sheet:
    """The sheet a file's rows make."""
    header = found.header + ("",) * (found.rows.cells.width - 1 - len(found.header))
    cells = columns.stripped(found.rows.cells, plain=found.plain)
    own, whose = columns.own_ending(header), no_faults()
    if reading.mending:
        own, whose = columns.own_added(cells, header, reading.known_headers)
    own |= columns.says_guarded(header)
    marks = skipped.Marks(len(header), reading.comment, frozenset(fold(word) for word in reading.totals))
    cells, units, ignored = _without_skipped(cells, header, marks, reading.units_row)
    ragged, rest = _ragged_rows(found.rows.ragged, marks)
    cells, others = _before_other_header(cells, header)
    stood = columns.lines_stood(cells, header, own)
    cells, units, header = columns.without_own(cells, units, header, own, mending=reading.mending)
    cells, header = columns.without_empty_end(cells, header)
    names, notes = columns.named(cells, header)
    cells, damage = _undamaged(cells, names) if found.damaged else (cells, no_faults())
    long = _long_cells(cells, names, reading.limits)
    told = no_faults() if own or reading.mending else columns.unsaid_guards(cells, names)
    odd = pl.concat([ragged.cells, others.cells]).sort("line", maintain_order=True)
    faults = [found.faults, whose, notes, ragged.faults, others.faults, damage, long, told]
    if not cells.height and not ragged.cells.height and not others.cells.height:
        faults.append(HEADER_ONLY.at(value=None, place=found.header_line))
    return Sheet(
        file=name,
        sha256=digest,
        encoding=found.encoding,
        delimiter=found.delimiter,
        header_line=found.header_line,
        headers=names,
        cells=cells,
        units=None if units is None else units[: len(names)],
        ignored=pl.concat([ignored, rest]).sort("line", maintain_order=True),
        rejected=columns.ragged_without_own(odd, own, mending=reading.mending),
        faults=concat(faults),
        name=found.name,
        unread=found.unread,
        mending=reading.mending,
        stood=stood,
        above=found.above,
    )


def _long_cells(cells: pl.DataFrame, names: tuple[str, ...], limits: Limits) -> pl.DataFrame:
    """A fault for each cell that is longer than is read; it stays whole among the rejected rows."""
    most, faults = limits.cell_characters, [no_faults()]
    sizes = cells.select(pl.col(cells.columns[1:]).str.len_bytes().max()).row(0) if cells.height else ()
    for name, size, header in zip(cells.columns[1:], sizes, names, strict=False):
        if (size or 0) > most:
            bad = cells.filter(pl.col(name).str.len_chars() > most)
            length = bad[name].str.len_chars().cast(pl.String)
            begins = bad[name].str.slice(0, _BEGINS)
            faults.append(
                LONG_CELL.frame(bad["line"], begins, header, length=length, most=f"{most:,}", setting="cell_characters")
            )
    return concat(faults)


def _refused(name: str, digest: str, faults: pl.DataFrame) -> Sheet:
    """The sheet of a file that cannot be read at all."""
    none = pl.DataFrame(schema={"line": pl.Int64})
    ignored = pl.DataFrame(schema=IGNORED_SCHEMA)
    return Sheet(name, digest, "", "", 0, (), none, None, ignored, pl.DataFrame(schema=REJECTED_SCHEMA), faults)


@dataclass
class _Ragged:
    """Rows that cannot be read as a row, and their faults."""

    cells: pl.DataFrame
    faults: pl.DataFrame


def _without_skipped(
    cells: pl.DataFrame, header: tuple[str, ...], marks: skipped.Marks, units_row: bool | None
) -> tuple[pl.DataFrame, tuple[str, ...] | None, pl.DataFrame]:
    """The rows that are data, the units row, and line and reason of what was skipped."""
    units: tuple[str, ...] | None = None
    gone = skipped.reasons(cells, marks)
    again = skipped.repeated_headers(cells, header)
    gone = pl.concat([gone, again.with_columns(reason=pl.lit(skipped.REPEATED_HEADER))])
    first = cells.row(0) if cells.height else (0, None)
    if units_row or (units_row is None and skipped.is_units_row(first[1:]) and first[0] not in gone["line"]):
        units = tuple(cell or "" for cell in first[1:])
        row = pl.DataFrame([(first[0], skipped.UNITS_ROW)] if cells.height else [], schema=IGNORED_SCHEMA, orient="row")
        gone = pl.concat([row, gone.filter(pl.col("line") != first[0])])
    gone = gone.unique("line", keep="first", maintain_order=True)
    return (cells.join(gone, on="line", how="anti", maintain_order="left") if gone.height else cells), units, gone


def _ragged_rows(ragged: pl.DataFrame, marks: skipped.Marks) -> tuple[_Ragged, pl.DataFrame]:
    """Ragged rows with a fault each; those that are comments or totals are skipped instead, blank ones left out."""
    bare = ragged.with_columns(pl.col("cells").list.eval(pl.element().str.strip_chars(BLANK)))
    bare = bare.filter(pl.col("cells").list.join("") != "")
    lost = pl.col("cells").list.join("").str.strip_chars("\0") == ""
    bare = bare.with_columns(
        pl.when(lost).then(pl.lit(NUL_TAIL.code)).otherwise("code").alias("code"),
        pl.col("cells").list.eval(pl.element().str.replace_all("\0", "", literal=True)),
    )
    ignored = skipped.ragged_reasons(bare, marks)
    kept = bare.join(ignored, on="line", how="anti", maintain_order="left")
    faults = [
        kind_of(code).frame(some["line"], some["cells"].list.join(" | "))
        for (code,), some in kept.partition_by("code", as_dict=True).items()
    ]
    return _Ragged(kept.select("line", "cells"), concat(faults)), ignored


def _before_other_header(cells: pl.DataFrame, header: tuple[str, ...]) -> tuple[pl.DataFrame, _Ragged]:
    """The rows above a second header with other columns; what stands below it would land in wrong columns."""
    line = skipped.first_other_header(cells, header)
    below = cells.filter(pl.col("line") >= line) if line is not None else cells.clear()
    lists = below.select("line", pl.concat_list(pl.col(below.columns[1:]).fill_null("")).alias("cells"))
    faults = OTHER_HEADER.frame(lists["line"], lists["cells"].list.join(" | "), place=line)
    return (cells if line is None else cells.filter(pl.col("line") < line)), _Ragged(lists, faults)


def _undamaged(cells: pl.DataFrame, names: tuple[str, ...]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The cells without NULs, and a fault for each cell that had one or holds an unreadable character."""
    faults = []
    for index, name in enumerate(names):
        for mark, kind in (("\0", NUL), (UNREADABLE, UNREADABLE_BYTE)):
            bad = cells.filter(pl.col(f"c{index}").str.contains(mark, literal=True))
            faults.append(kind.frame(bad["line"], bad[f"c{index}"].str.replace_all("\0", "", literal=True), name))
    clean = pl.col(cells.columns[1:]).str.replace_all("\0", "", literal=True)
    return columns.stripped(cells.with_columns(clean)), concat(faults)
