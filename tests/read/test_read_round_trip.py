"""Any table, however it is written down, comes back the same, each row with the line a person sees."""

from __future__ import annotations

import io
import re
from csv import QUOTE_ALL, QUOTE_MINIMAL, Error, reader, writer
from pathlib import Path

import openpyxl
from hypothesis import HealthCheck, assume, given, reject, settings
from hypothesis import strategies as st

from pipeline.common.spreadsheet_cells import guarded
from pipeline.read.sheet import Reading
from pipeline.read.table import read_sheet
from pipeline.read.text.columns import BLANK
from tests.thorough import examples

RELAXED = settings(
    max_examples=examples(40, 120), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
HEADERS = ("date", "green", "operation", "note")
READING = Reading(known_headers=frozenset(HEADERS))
ASCII = "abcXYZ 019.,;|\t'\"=+-@<>%/\n"
LETTERS = {
    "utf-8": "äßŁ½€中",
    "utf-8-sig": "éø¾",
    "cp1252": "é£½€ß",
    "utf-16": "äŁ中½",
    "utf-16-le": "äé",
    "utf-16-be": "é",
}


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[list[str]], str, str, str, int]:
    encoding = draw(st.sampled_from(list(LETTERS)))
    cell = st.text(ASCII + LETTERS[encoding], max_size=12).map(lambda text: text.strip(BLANK))
    code = st.from_regex(r"[A-Z]{3}-[0-9]", fullmatch=True)
    row = st.tuples(code, cell, cell, cell).map(list)
    rows = draw(st.lists(row, min_size=1, max_size=8))
    delimiter, end = draw(st.sampled_from(",;\t|")), draw(st.sampled_from(["\n", "\r\n", "\r"]))
    return rows, encoding, delimiter, end, draw(st.sampled_from([QUOTE_ALL, QUOTE_MINIMAL]))


def as_lines(rows: list[list[str]], delimiter: str, end: str, quoting: int) -> tuple[str, list[int]]:
    """The table as text and the line each row begins on."""
    out = io.StringIO()
    table = writer(out, delimiter=delimiter, lineterminator=end, quoting=quoting)
    table.writerow(HEADERS)
    begins = []
    for row in rows:
        begins.append(len(re.findall(r"\r\n|\r|\n", out.getvalue())) + 1)
        table.writerow([cell.replace("\n", end) for cell in row])
    return out.getvalue(), begins


def is_utf8(raw: bytes) -> bool:
    """Whether the bytes can be read as UTF-8 with letters beyond ASCII: then nobody can tell that they are cp1252."""
    try:
        return not raw.isascii() and bool(raw.decode())
    except UnicodeDecodeError:
        return False


@RELAXED
@given(tables(), st.booleans())
def test_a_table_comes_back_the_same(
    tmp_path: Path, made: tuple[list[list[str]], str, str, str, int], last_end: bool
) -> None:
    """Encoding, delimiter, line ends and quoting are only dress; line numbers survive breaks inside cells."""
    rows, encoding, delimiter, end, quoting = made
    text, begins = as_lines(rows, delimiter, end, quoting)
    path = tmp_path / "table.csv"
    raw = (text if last_end else text.removesuffix(end)).encode(encoding)
    # A line that is UTF-8 by chance cannot be told from a line of another file appended.
    by_chance = any(is_utf8(line) for line in raw.splitlines() if not line.isascii())
    assume(encoding != "cp1252" or not by_chance)
    path.write_bytes(raw)
    sheet = read_sheet(path, READING)
    assert sheet.headers == HEADERS
    assert sheet.delimiter == delimiter
    assert sheet.cells["line"].to_list() == begins
    assert [list(row) for row in sheet.cells.drop("line").iter_rows()] == [
        [cell or None for cell in row] for row in rows
    ]
    assert not sheet.rejected.height
    assert not sheet.ignored.height


@RELAXED
@given(tables())
def test_rows_read_fast_and_slowly_are_the_same(
    tmp_path: Path, made: tuple[list[list[str]], str, str, str, int]
) -> None:
    """One ragged row sends the file the slow way: the others must not change by it."""
    rows, _, delimiter, end, quoting = made
    text, begins = as_lines(rows, delimiter, end, quoting)
    path = tmp_path / "table.csv"
    path.write_bytes((text + f"ALD-1{delimiter}only two{end}").encode())
    sheet = read_sheet(path, READING)
    assert sheet.cells["line"].to_list() == begins
    assert [list(row) for row in sheet.cells.drop("line").iter_rows()] == [
        [cell or None for cell in row] for row in rows
    ]
    assert sheet.rejected["line"].to_list() == [len(re.findall(r"\r\n|\r|\n", text)) + 1]


MESS = st.lists(
    st.sampled_from(["a", "b", ",", ",", "\n", '"', '""', '3/4"', " ", "x", "\r\n", "é", "0", ";"]), max_size=40
).map("".join)


@settings(RELAXED, max_examples=examples(40, 100))
@given(MESS)
def test_what_the_standard_library_reads_comes_back_as_it_reads_it(tmp_path: Path, body: str) -> None:
    """Reference: Python's csv module, strict; a row it finds whole must be found, on the same line."""
    path = tmp_path / "table.csv"
    path.write_bytes(f"date,green,note\n{body}".encode())
    reference = reader(io.StringIO(body.replace("\r\n", "\n"), newline=""), strict=True, skipinitialspace=True)
    whole: list[tuple[object, ...]] = []
    ragged: list[int] = []
    begins = 2
    try:
        for row in reference:
            cells = [cell.strip(BLANK) or None for cell in row]
            if len(cells) >= 3 and not any(cells[3:]):
                whole += [(begins, *cells[:3])] if any(cells) else []
            else:
                # one over several lines that does not fit is rejected line by line, a blank one too
                assume(begins == reference.line_num + 1)
                ragged += [begins] if any(cells) else []
            begins = reference.line_num + 2
    except Error:
        reject()
    sheet = read_sheet(path, READING)
    assert sheet.cells.rows() == whole
    assert sheet.rejected["line"].to_list() == ragged


@settings(RELAXED, max_examples=examples(15, 40))
@given(
    st.lists(st.tuples(st.from_regex(r"[A-Z]{3}-[0-9]", fullmatch=True), st.text("ab =é½\n", max_size=8)), min_size=1)
)
def test_a_workbook_comes_back_the_same(tmp_path: Path, rows: list[tuple[str, str]]) -> None:
    """Text cells of a workbook are text: `=` at their beginning is no formula here."""
    book = openpyxl.Workbook()
    book.active.append(["green", "note"])
    for row in rows:
        book.active.append(row)
        book.active.cell(book.active.max_row, 2).data_type = "s"
    path = tmp_path / "table.xlsx"
    book.save(path)
    sheet = read_sheet(path, READING)
    assert sheet.cells["line"].to_list() == list(range(2, len(rows) + 2))
    wanted = [(green, note.strip(BLANK) or None) for green, note in rows]
    assert list(sheet.cells.drop("line").iter_rows()) == wanted


@RELAXED
@given(st.lists(st.text("=+-@'a1. %", min_size=1, max_size=6).map(str.strip).filter(bool), min_size=1, max_size=5))
def test_a_rejected_file_of_ours_comes_back_as_it_was(tmp_path: Path, notes: list[str]) -> None:
    """The person mends our file and loads it again: neither our columns nor our apostrophes may stay in it."""
    out = io.StringIO()
    table = writer(out, lineterminator="\n")
    table.writerow(["green", "note", "line", "code", "message", "hint"])
    for note in notes:
        table.writerow(["ALD-1", guarded(note), "7", "number.not", "This is not a number", "Write a number"])
    path = tmp_path / "rejected.csv"
    path.write_text(out.getvalue())
    sheet = read_sheet(path, READING)
    assert sheet.headers == ("green", "note")
    assert sheet.cells["c1"].to_list() == notes
