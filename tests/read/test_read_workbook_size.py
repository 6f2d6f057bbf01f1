"""Sizes of workbooks are judged before memory is taken: a stray cell, a trap, a sheet of millions of cells.

Each is read in a process of its own that may not take more than three gigabytes of address space; what it took of real
memory is measured there.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from collections.abc import Iterable
from pathlib import Path

import pytest
from odf.opendocument import OpenDocumentSpreadsheet

from pipeline.common.limits import Limits, TooLarge
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from pipeline.read.workbook.package import Damaged, Package
from tests.thorough import beyond, thorough

resource = pytest.importorskip("resource", reason="memory of a process cannot be limited here")

GIGABYTE = 1 << 30
SPREADSHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
WORD = "<c r='{}' t='inlineStr'><is><t>{}</t></is></c>"
HEADER = f"<row r='1'>{WORD.format('A1', 'green')}{WORD.format('B1', 'value')}</row>"
ROW = f"<row r='2'>{WORD.format('A2', 'ALD-1')}<c r='B2'><v>5</v></c></row>"

MEASURED = """
import json, resource, sys
from pathlib import Path
resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
from pipeline.read.table import read_sheet
sheet = read_sheet(Path(sys.argv[1]))
unit = 1 if sys.platform == "darwin" else 1024
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit
print(json.dumps([peak, sheet.cells.height, sheet.faults.select("line", "code", "message").rows()]))
"""


def xlsx(path: Path, *sheets: Iterable[str], words: Iterable[str] = ()) -> Path:
    """A workbook of these rows a sheet and these shared words, written piece by piece."""
    names = [f"S{number}" for number, _ in enumerate(sheets, 1)]
    listed = "".join(f"<sheet name='{name}' sheetId='{i}' r:id='r{i}'/>" for i, name in enumerate(names, 1))
    related = "".join(
        f"<Relationship Id='r{i}' Type='{RELATIONS}/worksheet' Target='worksheets/sheet{i}.xml'/>"
        for i, _ in enumerate(names, 1)
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        main = "<Override PartName='/xl/workbook.xml' ContentType='application/vnd.openxmlformats-officedocument."
        main += "spreadsheetml.sheet.main+xml'/>"
        book.writestr("[Content_Types].xml", f"<Types xmlns='{PACKAGE}/content-types'>{main}</Types>")
        root = f"<Relationship Id='r1' Type='{RELATIONS}/officeDocument' Target='xl/workbook.xml'/>"
        book.writestr("_rels/.rels", f"<Relationships xmlns='{PACKAGE}/relationships'>{root}</Relationships>")
        book.writestr(
            "xl/workbook.xml",
            f"<workbook xmlns='{SPREADSHEET}' xmlns:r='{RELATIONS}'><sheets>{listed}</sheets></workbook>",
        )
        book.writestr(
            "xl/_rels/workbook.xml.rels", f"<Relationships xmlns='{PACKAGE}/relationships'>{related}</Relationships>"
        )
        with book.open("xl/sharedStrings.xml", "w", force_zip64=True) as part:
            part.write(f"<sst xmlns='{SPREADSHEET}'>".encode())
            part.writelines(word.encode() for word in words)
            part.write(b"</sst>")
        for i, rows in enumerate(sheets, 1):
            with book.open(f"xl/worksheets/sheet{i}.xml", "w", force_zip64=True) as part:
                part.write(f"<worksheet xmlns='{SPREADSHEET}'><sheetData>".encode())
                part.writelines(row.encode() for row in rows)
                part.write(b"</sheetData></worksheet>")
    return path


def ods(path: Path, rows: str) -> Path:
    content = (
        '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
        'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>'
        f'<table:table table:name="S1">{rows}</table:table></office:spreadsheet></office:body>'
        "</office:document-content>"
    )
    blank = path.with_suffix(".blank")
    OpenDocumentSpreadsheet().save(blank)
    with zipfile.ZipFile(blank) as other, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for part in other.infolist():
            book.writestr(part, content if part.filename == "content.xml" else other.read(part))
    return path


def ods_row(*cells: str, rows: int = 1, columns: int = 1) -> str:
    made = "".join(
        f'<table:table-cell table:number-columns-repeated="{columns}" office:value-type="string">'
        f"<text:p>{cell}</text:p></table:table-cell>"
        for cell in cells
    )
    return f'<table:table-row table:number-rows-repeated="{rows}">{made}</table:table-row>'


def measured(path: Path) -> tuple[int, list[list[object]]]:
    """Rows read and faults met by a process of its own, which must have taken less than a gigabyte."""
    done = subprocess.run([sys.executable, "-c", MEASURED, str(path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-500:]
    peak, height, faults = json.loads(done.stdout)
    assert peak < GIGABYTE, f"{peak / GIGABYTE:.1f} GB"
    return height, faults


def refused(path: Path) -> list[str]:
    """The code and the message of the one fault a workbook is refused with."""
    height, faults = measured(path)
    assert height == 0
    ((line, code, message),) = faults
    assert line is None
    return [str(code), str(message)]


@pytest.mark.parametrize("cell", ["XFD65536", "XFD1048576"])
def test_a_stray_cell_is_named(tmp_path: Path, cell: str) -> None:
    """The library makes room for every cell up to the last: 34 GB for one word far outside."""
    row = cell.removeprefix("XFD")
    stray = f"<row r='{row}'><c r='{cell}' t='inlineStr'><is><t>x</t></is></c></row>"
    code, message = refused(xlsx(tmp_path / "stray.xlsx", [HEADER, ROW, stray]))
    assert code == "workbook.stray"
    assert f'The sheet "S1" has 5 filled cells, but something stands in {cell}' in message


def test_two_stray_cells_are_both_named(tmp_path: Path) -> None:
    rows = [
        HEADER,
        ROW,
        "<row r='3'><c r='XFD3'><v>1</v></c></row>",
        "<row r='900000'><c r='B900000'><v>1</v></c></row>",
    ]
    code, message = refused(xlsx(tmp_path / "stray.xlsx", rows))
    assert code == "workbook.stray"
    assert "in B900000 and in XFD3" in message


def test_formats_without_a_value_are_no_cells(tmp_path: Path) -> None:
    """Whole columns with borders or colours are common: they reach to the last row and hold nothing."""
    rows = [HEADER, ROW, "<row r='1048576'><c r='A1048576' s='0'/><c r='XFD1048576' s='0'></c></row>"]
    assert measured(xlsx(tmp_path / "formats.xlsx", rows)) == (1, [])


def test_a_stray_cell_of_another_sheet_does_not_matter(tmp_path: Path) -> None:
    """Once a profile says which sheet is meant, no other is looked at."""
    stray = ["<row r='1048576'><c r='XFD1048576'><v>1</v></c></row>"]
    path = xlsx(tmp_path / "two.xlsx", [HEADER, ROW], stray)
    assert read_sheet(path, Reading(sheet="S1")).cells.rows() == [(2, "ALD-1", "5")]
    assert codes(read_sheet(path)) == codes(read_sheet(path, Reading(sheet="S2"))) == ["workbook.stray"]


def test_one_long_word_in_many_cells(tmp_path: Path) -> None:
    """A file of a few kilobytes: each cell names the same word, and each would become a text of its own."""
    word = f"<si><t>{'x' * 32_000}</t></si>"
    rows = ("<row>" + "<c t='s'><v>0</v></c>" * 100 + "</row>" for _ in range(4_000))
    code, message = refused(xlsx(tmp_path / "words.xlsx", rows, words=[word]))
    assert (code, message) == ("workbook.too_large", "The workbook has more than 50,000,000 characters in one sheet.")


@thorough
def test_more_words_than_any_list_has(tmp_path: Path) -> None:
    code, message = refused(xlsx(tmp_path / "words.xlsx", [HEADER, ROW], words=("<si/>" * 1000 for _ in range(2_001))))
    assert (code, message) == ("workbook.too_large", "The workbook holds more than 2,000,000 different words.")


@thorough
def test_more_cells_than_any_list_has(tmp_path: Path) -> None:
    rows = (f"<row>{'<c><v>1</v></c>' * 1000}</row>" for _ in range(2_001))
    code, message = refused(xlsx(tmp_path / "cells.xlsx", rows))
    assert (code, message) == ("workbook.too_large", "The workbook has more than 2,000,000 cells filled in one sheet.")


def test_parts_that_unpack_to_gigabytes(tmp_path: Path) -> None:
    """A thousand times the size of the file, and not one cell in it."""
    rows = (" " * 1_000_000 for _ in range(260))
    code, message = refused(xlsx(tmp_path / "blanks.xlsx", rows))
    assert code == "workbook.too_large"
    assert message.endswith(" bytes of cells and words; 250 MB are the most.")


def test_an_ods_cell_repeated_over_the_whole_sheet(tmp_path: Path) -> None:
    """One element stands for as many cells as it says."""
    rows = ods_row("green", "value") + ods_row("x", rows=1_000_000, columns=16_000)
    code, message = refused(ods(tmp_path / "repeated.ods", rows))
    assert (code, message) == ("workbook.too_large", "The workbook has more than 2,000,000 cells filled in one sheet.")


def test_an_ods_cell_far_outside(tmp_path: Path) -> None:
    blank = '<table:table-row table:number-rows-repeated="1000000"><table:table-cell/></table:table-row>'
    far = '<table:table-cell table:number-columns-repeated="16000"/>'
    rows = ods_row("green", "value") + ods_row("ALD-1", "5") + blank
    rows += ods_row("x").replace("<table:table-cell", far + "<table:table-cell", 1)
    code, message = refused(ods(tmp_path / "stray.ods", rows))
    assert code == "workbook.stray"
    assert "something stands in WQK1000003" in message


def test_blank_rows_to_the_end_of_an_ods_sheet(tmp_path: Path) -> None:
    """So every spreadsheet writes them."""
    rest = '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    rows = ods_row("green", "value") + ods_row("ALD-1", "5")
    rows += f'<table:table-row table:number-rows-repeated="1048574">{rest}'
    assert measured(ods(tmp_path / "blank.ods", rows)) == (1, [])


def codes(sheet: Sheet) -> list[str]:
    return sheet.faults["code"].to_list()


def test_a_part_that_is_larger_than_it_says(tmp_path: Path) -> None:
    """The list of parts is written by whoever made the file."""
    path = xlsx(tmp_path / "lying.xlsx", [HEADER, *[" " * 1000] * 1000, ROW])
    with zipfile.ZipFile(path) as book:
        size = book.getinfo("xl/worksheets/sheet1.xml").file_size
    raw = path.read_bytes()
    path.write_bytes(raw.replace(size.to_bytes(4, "little"), (500).to_bytes(4, "little")))
    sheet = read_sheet(path)
    assert codes(sheet) == ["workbook.damaged"]
    assert "larger than it says" in sheet.faults["message"][0]


def test_two_parts_of_one_name(tmp_path: Path) -> None:
    """Which of them is read differs from program to program."""
    path = xlsx(tmp_path / "twice.xlsx", [HEADER, ROW])
    with zipfile.ZipFile(path, "a") as book:
        book.writestr("XL/worksheets/SHEET1.xml", f"<worksheet xmlns='{SPREADSHEET}'/>")
    assert codes(read_sheet(path)) == ["workbook.damaged"]


def test_a_document_type_is_refused(tmp_path: Path) -> None:
    """No spreadsheet writes one; entities declared in it can grow without bound."""
    path = tmp_path / "typed.xlsx"
    xlsx(path, [HEADER, ROW])
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    parts["xl/workbook.xml"] = b'<!DOCTYPE w [<!ENTITY a "aaaa">]>' + parts["xl/workbook.xml"]
    with zipfile.ZipFile(path, "w") as book:
        for name, content in parts.items():
            book.writestr(name, content)
    assert codes(read_sheet(path)) == ["workbook.damaged"]


@pytest.mark.parametrize("reference", ["XFE1", "A1048577", "AAAA1", "A0", "1A", "x"])
def test_a_cell_outside_every_sheet_is_damage(tmp_path: Path, reference: str) -> None:
    rows = [HEADER, ROW, f"<row><c r='{reference}'><v>1</v></c></row>"]
    assert codes(read_sheet(xlsx(tmp_path / "outside.xlsx", rows))) == ["workbook.damaged"]


@pytest.mark.parametrize(
    ("code", "rows"),
    [
        ("workbook.too_large", ["<a>" * 1_000_000] * 30),
        ("workbook.damaged", ["<c ", *("".join(f"a{i + 100_000 * n}='' " for i in range(100_000)) for n in range(60))]),
        ("workbook.too_large", ["</sheetData><mergeCells>", *["<mergeCell ref='A1:A2'/>" * 10_001] * 2]),
    ],
)
@beyond(1)
def test_xml_without_bounds(tmp_path: Path, code: str, rows: list[str]) -> None:
    """Elements without end within one another, a tag with millions of facts, more merged cells than rows."""
    assert refused(xlsx(tmp_path / "bounds.xlsx", [HEADER, ROW, *rows]))[0] == code


def test_a_file_too_large_to_be_opened(tmp_path: Path) -> None:
    """Its size is looked at, and its first bytes; the rest is not read."""
    path = xlsx(tmp_path / "large.xlsx", [HEADER, ROW])
    os.truncate(path, 200_000_001)  # what was not there stands nowhere on the disk
    sheet = read_sheet(path)
    assert sheet.faults.select("code", "message").rows() == [
        ("workbook.too_large", "The workbook is 200,000,001 bytes large; 200 MB are the most.")
    ]


def test_a_locked_or_cut_part_is_damage(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "cut.xlsx", [HEADER, ROW])
    raw = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as book:
        at = book.getinfo("xl/workbook.xml").header_offset
    name = len("xl/workbook.xml")
    raw[at + 30 + name : at + 40 + name] = b"\xff" * 10
    path.write_bytes(raw)
    assert codes(read_sheet(path)) == ["workbook.damaged"]
    with pytest.raises(Damaged):
        Package(b"PK\x03\x04")
    with pytest.raises(TooLarge):
        Package(b"PK" + bytes(1_000_000), Limits(workbook_mb=1))
