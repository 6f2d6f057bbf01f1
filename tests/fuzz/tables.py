"""Files: every line is a row, left out with a reason, or rejected with a fault, whatever the bytes and the dress."""

from __future__ import annotations

import csv
import io
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.faults import errors, refuse_file
from pipeline.read.sheet import Reading
from pipeline.read.table import read_sheet
from pipeline.standardise.cells.distinct import plain
from pipeline.standardise.cells.ditto import is_ditto
from pipeline.standardise.frame import Standard, standardise
from schemas import KINDS, Kind
from schemas.codes import fold
from tests.fuzz.target import Target, file_of, folder, text_of
from tests.fuzz.values import WORDS
from tests.read.test_read_any_bytes import KNOWN, check_balance

MARKS = (
    ",", ";", "\t", "|", '"', '""', "\r\n", "\r", "\n", "\0", "\ufeff", "#", "sep=;\n", "Total", "\xa0", "date",
    "green", "operation", "note", "depth_mm", "2026-03-15", "ALD-1", "mm", "'=1+1",
)  # fmt: skip
_RAW = ("\xff\xfe", "\xfe\xff", "\xe9", "\x81", "\x1a")
READINGS = (
    None, Reading(known_headers=KNOWN), Reading(encoding="cp1252"), Reading(delimiter=";"), Reading(header_line=2),
    Reading(comment="#"), Reading(units_row=True), Reading(messages=True), Reading(mending=True, known_headers=KNOWN),
    Reading(encoding="utf-16"), Reading(delimiter=" "),
)  # fmt: skip


def raw(data: bytes) -> None:
    """A sheet or a fault of any bytes, and no line in two places or in none."""
    if not data:
        return
    reading = READINGS[data[0] % len(READINGS)]
    with file_of(data[1:], "export.csv") as path:
        sheet = read_sheet(path, reading)
    if reading is None or not (reading.messages or reading.mending or reading.encoding):
        check_balance(sheet, data[1:])


@cache
def _book() -> tuple[tuple[str, bytes], ...]:
    """Parts of a small workbook."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    for row in (
        ["date", "green", "depth_mm", "note"],
        ["2026-03-15", "ALD-1", 12.5, "=1+1"],
        ["2026-03-16", "ALD-1", 7, None],
    ):
        sheet.append(row)
    sheet["A4"].number_format = "dd/mm/yyyy"
    sheet["C2"].number_format = "0.0"
    sheet.merge_cells("A4:B4")
    out = io.BytesIO()
    book.save(out)
    with zipfile.ZipFile(out) as parts:
        return tuple((name, parts.read(name)) for name in sorted(parts.namelist()))


def workbook(data: bytes) -> None:
    """A workbook with a damaged part, or whose first sheet is what the input says, is a sheet or a fault."""
    if len(data) < 4:
        return
    parts = _book()
    name, held = parts[data[0] % len(parts)]
    at, cut, said = int.from_bytes(data[1:3], "big") % (len(held) + 1), data[3], data[4:]
    changed = held[:at] + said + held[at + cut :]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for one, content in parts:
            made.writestr(one, changed if one == name else content)
    with file_of(out.getvalue(), "export.xlsx") as path:
        check_balance(read_sheet(path, Reading(known_headers=KNOWN)), b"\xff")


def rows(data: bytes) -> None:
    """The same records of the same cells, whatever line ends, quotes, mark, blank rows and order, and as a workbook."""
    table = _table(data)
    if table is None:
        return
    kind, cells = table
    first = _records(kind, _as_csv(cells), "export.csv")
    if first is None:
        return
    for dress, again in _dressed(cells):
        name = "export.xlsx" if dress == "workbook" else "export.csv"
        found = _records(kind, again, name)
        assert found == first, (dress, first, found)


def _table(data: bytes) -> tuple[Kind, list[list[str]]] | None:
    """The kind, by the first byte, and rows of as many cells: lines of cells parted by tabs."""
    if not data:
        return None
    kind = tuple(KINDS.values())[data[0] % len(KINDS)]
    lines = [line.split("\t") for line in text_of(data[1:]).splitlines()[:9]]
    cells = [[plain(cell) for cell in line] for line in lines]
    cells = [line for line in cells if any(line)]
    if len(cells) < 2 or any(is_ditto(cell) for line in cells for cell in line if cell):
        return None
    width = len(cells[0])
    wide = [(line + [""] * width)[:width] for line in cells]
    if len({fold(one) for one in wide[0]}) < width or not all(wide[0]) or not all(map(any, wide)):
        return None
    return kind, wide


def _as_csv(
    cells: Iterable[Sequence[str]], end: str = "\n", quoting: Any = csv.QUOTE_MINIMAL, mark: str = ","
) -> bytes:
    out = io.StringIO()
    csv.writer(out, lineterminator=end, quoting=quoting, delimiter=mark).writerows(cells)
    return out.getvalue().encode()


def _dressed(cells: list[list[str]]) -> Iterator[tuple[str, bytes]]:
    """The same cells, written another way."""
    head, *body = cells
    blank = [""] * len(head)
    yield "CRLF", _as_csv(cells, "\r\n")
    yield "CR", _as_csv(cells, "\r")
    yield "UTF-8 mark", b"\xef\xbb\xbf" + _as_csv(cells)
    yield "all quoted", _as_csv(cells, quoting=csv.QUOTE_ALL)
    yield "semicolons", _as_csv(cells, mark=";")
    yield "blank rows", _as_csv([head, *(one for row in body for one in (blank, row)), blank, blank])
    yield "turned round", _as_csv([head, *reversed(body)])
    yield "no last end", _as_csv(cells).removesuffix(b"\n")
    yield "workbook", _as_book(cells)


def _as_book(cells: Sequence[Sequence[str]]) -> bytes:
    """A workbook whose cells are all text."""
    import xlsxwriter

    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        for down, line in enumerate(cells):
            for across, cell in enumerate(line):
                if cell:
                    sheet.write_string(down, across, cell)
    return out.getvalue()


def _records(kind: Kind, content: bytes, name: str) -> tuple[Counter[str], Counter[str]] | None:
    """Records and rejected rows without their lines; None where the file is refused as a whole."""
    with file_of(content, name) as path:
        sheet = read_sheet(path, Reading(known_headers=frozenset(fold(one) for f in kind.fields for one in f.headers)))
    check_balance(sheet, b"\xff")
    done = standardise(sheet, kind, None)
    if refuse_file(done.faults) or done.broken:
        return None
    _balanced(sheet.cells["line"].to_list(), done)
    names = [field.name for field in kind.stored]
    lost = set(done.rejected)
    kept = done.records.filter(~pl.col("record").is_in(sorted(lost)))
    gone = done.records.filter(pl.col("record").is_in(sorted(lost)))
    return Counter(map(repr, kept.select(names).iter_rows())), Counter(map(repr, gone["written"].to_list()))


def _balanced(lines: Sequence[int], done: Standard) -> None:
    """Every line of the sheet is a record or left out with a reason, and who is rejected has an error."""
    held = set(done.records["line"]) | set(done.ignored["line"])
    assert set(lines) <= held, (lines, held)
    named = set(errors(done.faults)["line"].drop_nulls())
    rejected = done.records.filter(pl.col("record").is_in(done.rejected.to_list()))
    assert set(rejected["line"]) <= named


def load(data: bytes) -> None:
    """A load of any file over a valid one: rows in are rows out, nothing but what is counted changes."""
    from tests.inputs.test_properties import check_honest

    county = _county()
    path = folder() / "export.csv"
    with county.rehearsal() as held:
        path.write_bytes(VALID)
        held.load(path)
        path.write_bytes(data)
        check_honest(held, path, (), {})


VALID = b"date,green,operation,quantity,note\n2026-03-15,ALD-1,scarifying,,dry\n2026-03-16,ALD-1,top_dressing,2 t,\n"


_OPEN: list[Any] = []


@cache
def _county() -> Any:
    from tests.inputs.harness import bench

    place = folder() / "county"
    place.mkdir()
    held = bench(place)
    _OPEN.append(held)  # the store is closed with it
    return held.__enter__()


def _headers() -> tuple[str, ...]:
    return tuple(dict.fromkeys(f"{field.name}\t" for kind in KINDS.values() for field in kind.fields))


TARGETS = (
    Target("bytes", "any bytes are a sheet or a fault, each line in one place", raw, (*MARKS, *_RAW), share=2),
    Target("workbooks", "a damaged workbook is a sheet or a fault", workbook, ("<c", "<v>", "</c>", 't="s"',
           "<row", "&lt;", 'r="A1"', 's="1"', "<f>", "<mergeCell", "1e400", "45000", "&#0;", "<!ENTITY"),
           share=1.5, seconds=5),
    Target("rows", "the same records whatever the dress, csv or workbook", rows, (*WORDS, *_headers(), "\t", "\n"),
           share=4, seconds=10),
    Target("loads", "rows in are rows out, nothing changes uncounted", load, (*MARKS, *WORDS), share=3, seconds=20),
)  # fmt: skip

__all__ = ["TARGETS", "Path"]
