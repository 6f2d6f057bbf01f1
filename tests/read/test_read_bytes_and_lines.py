"""Bytes and lines as exports really have them: encodings, marks, line ends, damage. One kind, several examples."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet

KNOWN = frozenset({"date", "green", "note"})
TABLE = "date,green,note\n2024-03-15,ALD-1,Café\n2024-03-16,ALD-2,½ pass\n"
ROWS = [(2, "2024-03-15", "ALD-1", "Café"), (3, "2024-03-16", "ALD-2", "½ pass")]


@pytest.fixture
def read(tmp_path: Path):
    def _read(raw: bytes | str, **how: object) -> Sheet:
        path = tmp_path / "export.csv"
        path.write_bytes(raw.encode() if isinstance(raw, str) else raw)
        return read_sheet(path, Reading(known_headers=KNOWN, **how))  # type: ignore[arg-type]

    return _read


def codes(sheet: Sheet) -> list[tuple[int | None, str]]:
    return list(sheet.faults.select("line", "code").iter_rows())


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16-le"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
        ("utf-32", "utf-32-le"),
    ],
)
def test_unicode_is_told_by_its_bytes(read, written: str, found: str) -> None:
    sheet = read(TABLE.encode(written))
    assert (list(sheet.cells.iter_rows()), sheet.encoding, codes(sheet)) == (ROWS, found, [])


def test_utf_16_with_the_other_mark(read) -> None:
    sheet = read(b"\xfe\xff" + TABLE.encode("utf-16-be"))
    assert (list(sheet.cells.iter_rows()), sheet.encoding) == (ROWS, "utf-16-be")


def test_cp1252_is_taken_with_a_note(read) -> None:
    sheet = read(TABLE.encode("cp1252"))
    assert list(sheet.cells.iter_rows()) == ROWS
    assert codes(sheet) == [(None, "bytes.encoding_taken")]
    assert sheet.faults["severity"].to_list() == ["note"]


def test_a_declared_encoding_needs_no_note(read) -> None:
    text = "date,green,note\n2024-03-15,ALD-1,Łąka\n"
    sheet = read(text.encode("cp1250"), encoding="cp1250")
    assert (sheet.cells["c2"].to_list(), codes(sheet)) == (["Łąka"], [])


def test_valid_utf_8_beats_a_declared_encoding(read) -> None:
    """Somebody opened the export in an editor and saved it: the profile is out of date, the bytes are not."""
    assert list(read(TABLE, encoding="cp1252").cells.iter_rows()) == ROWS


def test_two_encodings_in_one_file_are_read_line_by_line(read) -> None:
    sheet = read(b"date,green,note\n2024-03-15,ALD-1,Caf\xc3\xa9\n2024-03-16,ALD-2,Caf\xe9\n")
    assert sheet.cells["c2"].to_list() == ["Café", "Café"]
    assert codes(sheet) == [(None, "bytes.encodings_mixed")]
    assert "Line 2 is UTF-8 and line 3 is not" in sheet.faults["message"][0]


@pytest.mark.parametrize("byte", [b"\x81", b"\x8d", b"\x8f", b"\x90", b"\x9d"])
def test_a_byte_that_cp1252_does_not_know_is_a_fault_with_its_line(read, byte: bytes) -> None:
    """Source: the Unicode Consortium's table of code page 1252 leaves these five undefined."""
    sheet = read(b"date,green,note\n2024-03-15,ALD-1,a\n2024-03-16,ALD-2,b" + byte + b"c\n")
    assert (3, "bytes.unreadable") in codes(sheet)
    assert sheet.cells["line"].to_list() == [2, 3]


def test_an_unknown_declared_encoding_is_a_fault_of_the_file(read) -> None:
    sheet = read(TABLE.encode("cp1252"), encoding="cp12522")
    assert codes(sheet) == [(None, "bytes.unknown_encoding")]
    assert not sheet.cells.height


@pytest.mark.parametrize(
    ("ends", "lines"),
    [
        (("\n", "\n", "\n"), [2, 3]),
        (("\r\n", "\r\n", "\r\n"), [2, 3]),
        (("\r", "\r", "\r"), [2, 3]),
        (("\n", "\r\n", "\r"), [2, 3]),
        (("\r", "\n", ""), [2, 3]),
        (("\r\n", "\r", "\n\n\n"), [2, 3]),
        (("\n\n", "\r\n\r\n", "\n"), [3, 5]),
        (("\r\r", "\n\n", ""), [3, 5]),
    ],
)
def test_line_ends(read, ends: tuple[str, str, str], lines: list[int]) -> None:
    text = f"date,green,note{ends[0]}2024-03-15,ALD-1,a{ends[1]}2024-03-16,ALD-2,b{ends[2]}"
    sheet = read(text)
    assert sheet.cells["line"].to_list() == lines
    assert sheet.cells["c2"].to_list() == ["a", "b"]
    assert codes(sheet) == []


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_line_break_inside_a_cell_keeps_the_numbers_right(read, end: str) -> None:
    sheet = read(f'date,green,note{end}2024-03-15,ALD-1,"two{end}lines"{end}2024-03-16,ALD-2,b{end}')
    assert sheet.cells["line"].to_list() == [2, 4]
    assert sheet.cells["c2"].to_list() == ["two\nlines", "b"]


def test_a_line_break_inside_a_column_name(read) -> None:
    sheet = read('date,green,"note\n(long)"\n2024-03-15,ALD-1,a\n')
    assert sheet.headers == ("date", "green", "note\n(long)")
    assert sheet.cells["line"].to_list() == [3]


def test_a_second_mark_in_the_middle_is_left_out_and_noted(read) -> None:
    """Two exports copied together: the second's mark would glue itself to its first cell."""
    one = TABLE.encode("utf-8-sig")
    sheet = read(one + one)
    assert sheet.cells["line"].to_list() == [2, 3, 5, 6]
    assert sheet.cells["c0"][2] == "2024-03-15"
    assert sheet.ignored.rows() == [(4, "repeated header")]
    assert codes(sheet) == [(4, "bytes.mark_inside")]


def test_a_second_mark_without_a_header(read) -> None:
    sheet = read(TABLE.encode("utf-16") + "\ufeff2024-03-17,ALD-1,c\n".encode("utf-16-le"))
    assert sheet.cells["c0"].to_list() == ["2024-03-15", "2024-03-16", "2024-03-17"]


@pytest.mark.parametrize("raw", [b"a\0b", b"\0", b"a\0"])
def test_a_nul_is_a_fault_with_its_line(read, raw: bytes) -> None:
    sheet = read(b"date,green,note\n2024-03-15,ALD-1,x\n2024-03-16,ALD-2," + raw + b"\n")
    assert codes(sheet) == [(3, "bytes.nul")]
    assert sheet.faults["column"].to_list() == ["note"]
    assert sheet.cells["line"].to_list() == [2, 3]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_padding_with_nuls_costs_no_whole_row(read, encoding: str) -> None:
    """A machine that fails while writing leaves a file padded with NULs: what was written whole is still good."""
    head, rows = "date,green,note\n", "2024-03-15,ALD-1,x\n2024-03-16,ALD-2,"
    whole = read((head + rows + "y\n" + "\0" * 5000).encode(encoding))
    assert whole.cells["line"].to_list() == [2, 3]
    assert codes(whole) == [(4, "bytes.nul_tail")]
    assert whole.rejected["line"].to_list() == [4]
    broken = read((head + rows + "\0" * 5000).encode(encoding))
    assert codes(broken) == [(3, "bytes.nul")]
    short = read((head + rows + "y\n2024-03" + "\0" * 5000).encode(encoding))
    assert codes(short) == [(4, "row.short")]
    assert short.rejected["cells"].to_list() == [["2024-03"]]


@pytest.mark.parametrize("raw", [b"", b"\xef\xbb\xbf", b"\n\n\n", b"  \r\n\t\r", b"\xff\xfe", b"\0\0\0\0"])
def test_an_empty_file(read, raw: bytes) -> None:
    sheet = read(raw)
    assert codes(sheet) == [(None, "bytes.empty")]
    assert (sheet.headers, sheet.cells.height) == ((), 0)


@pytest.mark.parametrize("raw", [b"date,green,note\n", b"date,green,note", b"\xef\xbb\xbfdate,green,note\r\n\r\n"])
def test_a_header_alone(read, raw: bytes) -> None:
    sheet = read(raw)
    assert codes(sheet) == [(None, "read.header_only")]
    assert sheet.headers == ("date", "green", "note")


@pytest.mark.parametrize("raw", [b"%PDF-1.7\n", b"\x89PNG\r\n\x1a\n", b"\x1f\x8b\x08\0", bytes(range(32)) * 20])
def test_what_is_no_text_is_refused(read, raw: bytes) -> None:
    sheet = read(raw)
    assert codes(sheet) == [(None, "bytes.not_text")]


def test_a_line_of_more_than_a_megabyte_is_rejected_alone(read) -> None:
    sheet = read("date,green,note\n2024-03-15,ALD-1,a\n" + "x" * 1_200_000 + "\n2024-03-16,ALD-2,b\n")
    assert sheet.cells["line"].to_list() == [2, 4]
    assert codes(sheet) == [(3, "row.too_long")]
    assert len(sheet.rejected["cells"][0][0]) == 1000


@pytest.mark.parametrize("stray", ['"never closed', '"12" wide tine', '"a" b'])
def test_an_unclosed_quote_costs_its_own_line_only(read, stray: str) -> None:
    """A reader that trusts the quote swallows every row behind it."""
    rows = "".join(f"2024-03-{day:02d},ALD-1,x\n" for day in range(10, 30))
    sheet = read(f"date,green,note\n2024-03-09,ALD-1,{stray}\n{rows}")
    assert sheet.cells["line"].to_list() == list(range(3, 23))
    assert codes(sheet) == [(2, "row.quote")]


def test_inch_marks_are_no_quotes(read) -> None:
    """`3/4"` in a cell of its own: pairs of such marks must not glue lines together."""
    sheet = read('date,green,note\n2024-03-15,ALD-1,3/4"\n2024-03-16,ALD-2,5/8"\n2024-03-17,ALD-3,9\'6"\n')
    assert sheet.cells["c2"].to_list() == ['3/4"', '5/8"', "9'6\""]
    assert codes(sheet) == []


def test_quoted_cells_with_everything_in_them(read) -> None:
    sheet = read('date,green,note\n2024-03-15,ALD-1,"a ""b"", c"\n2024-03-16, "ALD-2",""\n')
    assert list(sheet.cells.iter_rows()) == [(2, "2024-03-15", "ALD-1", 'a "b", c'), (3, "2024-03-16", "ALD-2", None)]


@pytest.mark.parametrize("blank", [" ", "\u00a0", "\u202f", "\u2007", "\t", " \u00a0 ", "\u200b"])
def test_blanks_around_cells_are_no_part_of_them(read, blank: str) -> None:
    sheet = read(f"date,{blank}green{blank},note\n2024-03-15,{blank}ALD-1{blank},{blank}\n")
    assert sheet.headers == ("date", "green", "note")
    assert sheet.cells.row(0) == (2, "2024-03-15", "ALD-1", None)
