"""Whatever a file's bytes are, reading ends with a sheet or a plain fault, and no line is lost."""

from __future__ import annotations

import io
import random
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from schemas.codes import fold
from tests.thorough import examples

KNOWN = frozenset(map(fold, ("date", "green", "operation", "note", "depth_mm")))
MARKS = [
    b",",
    b";",
    b"\t",
    b"|",
    b'"',
    b"\n",
    b"\r\n",
    b"\r",
    b"\0",
    b" ",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\xe9",
    b"\x81",
]
WORDS = [b"date", b"green", b"note", b"Total", b"#", b"1,5", b"2024-03-15", b"mg/kg", b"UNITS", b"\xc2\xa0", b"sep=;"]
PIECES = st.lists(st.sampled_from(MARKS + WORDS), max_size=60).map(b"".join)
READINGS = st.builds(
    Reading,
    encoding=st.sampled_from([None, "cp1252", "utf-16", "utf-8", "cp850", "no-such"]),
    delimiter=st.sampled_from([None, ",", ";", " ", '"', "\n", "ab", ""]),
    header_line=st.sampled_from([None, 0, 1, 2, 9]),
    comment=st.sampled_from([None, "#", "date"]),
    units_row=st.sampled_from([None, True, False]),
    known_headers=st.sampled_from([frozenset(), KNOWN]),
)
RELAXED = settings(
    max_examples=examples(40, 100), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def read(folder: Path, raw: bytes, reading: Reading | None = None) -> Sheet:
    path = folder / "export.csv"
    path.write_bytes(raw)
    return read_sheet(path, reading)


def check_balance(sheet: Sheet, raw: bytes) -> None:
    """Every line is in one place at most, and a rejected one says why."""
    lines = [*sheet.cells["line"], *sheet.ignored["line"], *sheet.rejected["line"]]
    assert len(lines) == len(set(lines))
    assert all(line > sheet.header_line for line in lines)
    assert sheet.cells["line"].is_sorted()
    errors = sheet.faults.filter(severity="error")
    assert set(sheet.rejected["line"]) <= set(errors["line"])
    assert sheet.faults.null_count().select("code", "severity", "message", "hint").row(0) == (0, 0, 0, 0)
    assert sheet.cells.columns == ["line", *(f"c{index}" for index in range(len(sheet.headers)))]
    assert len(set(sheet.headers)) == len(sheet.headers)
    if None in errors["line"].to_list():
        assert not sheet.cells.height
        assert not sheet.headers
    elif raw.isascii() and b'"' not in raw and b"\0" not in raw and not sheet.encoding.startswith("utf-16"):
        text = raw.removesuffix(b"\x1a").replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
        held = [
            line
            for line in text[sheet.header_line :]
            if line.strip(b" \t\v\f\x1c\x1d\x1e\x1f" + sheet.delimiter.encode())
        ]
        assert len(held) == len(lines)


@RELAXED
@given(raw=st.binary(max_size=300))
@example(raw=b"")
@example(raw=b"\xef\xbb\xbf")
@example(raw=b"\0" * 50)
@example(raw=b"PK\x03\x04 and no archive")
@example(raw=b"\xd0\xcf\x11\xe0")
@example(raw=b"%PDF-1.7")
@example(raw=b'"')
@example(raw=b"\xff\xfea")
def test_any_bytes_give_a_sheet(tmp_path: Path, raw: bytes) -> None:
    """A traceback on a damaged export would leave the person with nothing to do."""
    check_balance(read(tmp_path, raw), raw)


@settings(RELAXED, max_examples=examples(50, 150))
@given(raw=PIECES, reading=READINGS)
def test_any_mixture_of_marks_gives_a_sheet(tmp_path: Path, raw: bytes, reading: Reading) -> None:
    """Delimiters, quotes, line ends and marks in any order, read with any profile."""
    check_balance(read(tmp_path, raw, reading), raw)


@settings(RELAXED, max_examples=examples(40, 120))
@given(body=PIECES)
def test_any_rows_under_a_header_balance(tmp_path: Path, body: bytes) -> None:
    """A row that cannot be read must not take its neighbours along without a word."""
    raw = b"date,green,note\n" + body
    sheet = read(tmp_path, raw, Reading(known_headers=KNOWN))
    check_balance(sheet, raw)


@pytest.mark.parametrize("seed", range(30))
def test_a_damaged_workbook_gives_a_sheet(tmp_path: Path, seed: int) -> None:
    """A library that gives up on a damaged workbook must not take the program along."""
    import openpyxl

    book = openpyxl.Workbook()
    for row in (["date", "green"], ["2024-03-15", "ALD-1"], ["2024-03-16", 5]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    dice = random.Random(seed)  # noqa: S311 - it damages a file
    raw = bytearray(out.getvalue())
    if seed % 3 == 0:
        raw = raw[: dice.randrange(10, len(raw))]
    for _ in range(1 + seed):
        raw[dice.randrange(4, len(raw))] = dice.randrange(256)
    check_balance(read(tmp_path, bytes(raw)), b"\xff")


@pytest.mark.parametrize("seed", range(20))
def test_a_workbook_with_damaged_parts_gives_a_sheet(tmp_path: Path, seed: int) -> None:
    """The archive may be whole and the XML in it not."""
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(["date", "green"])
    book.active.append(["2024-03-15", "=1+1"])
    out, damaged = io.BytesIO(), io.BytesIO()
    book.save(out)
    dice = random.Random(seed)  # noqa: S311 - it damages a file
    with zipfile.ZipFile(out) as source, zipfile.ZipFile(damaged, "w") as target:
        for name in source.namelist():
            part = bytearray(source.read(name))
            for _ in range(dice.randrange(4)):
                part[dice.randrange(len(part))] = dice.randrange(256)
            if dice.random() > 0.1:
                target.writestr(name, bytes(part))
    check_balance(read(tmp_path, damaged.getvalue()), b"\xff")
