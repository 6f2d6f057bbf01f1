"""Workbooks: nothing is typed, nothing that the library leaves out is taken for a blank."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.worksheet import Worksheet

from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from pipeline.read.workbook.written import written

KNOWN = frozenset({"date", "green", "note", "value"})
HEADER = ["date", "green", "value"]


@pytest.fixture
def read(tmp_path: Path):
    def _read(*rows: list[object], change: Callable[[Worksheet], object] | None = None, **how: object) -> Sheet:
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append(row)
        if change:
            change(book.active)
        path = tmp_path / "export.xlsx"
        book.save(path)
        return read_sheet(path, Reading(known_headers=KNOWN, **how))  # type: ignore[arg-type]

    return _read


def codes(sheet: Sheet) -> list[tuple[int | None, str, str]]:
    return list(sheet.faults.select("line", "code", "column").iter_rows())


@pytest.mark.parametrize(
    ("stored", "text"),
    [
        (0.1, "0.1"),
        (12, "12"),
        (12.0, "12"),
        (1369.25, "1369.25"),
        (1e-7, "0.0000001"),
        (1e20, "100000000000000000000"),
        (123456789012345, "123456789012345"),
        (-0.5, "-0.5"),
        ("01", "01"),
        ("1E+05", "1E+05"),
        ("1-6-12", "1-6-12"),
        ("  x ", "x"),
        ("03/04/2024", "03/04/2024"),
        ("a\nb", "a\nb"),
        (True, "TRUE"),
        (False, "FALSE"),
        (dt.date(2024, 3, 15), "2024-03-15"),
        (dt.datetime(2024, 3, 15, 14, 30), "2024-03-15 14:30:00"),  # noqa: DTZ001 - a sheet has no time zone
        (dt.time(14, 30), "14:30:00"),
        (dt.timedelta(hours=30), "30:00:00"),
    ],
)
def test_cells_are_text_as_stored(read, stored: object, text: str) -> None:
    assert read(HEADER, ["2024-03-15", "ALD-1", stored]).cells.row(0) == (2, "2024-03-15", "ALD-1", text)


@pytest.mark.parametrize(
    "value", [0.1, 0.30000000000000004, 1 / 3, 2.5e-12, 1.7976931348623157e308, 123456.789, 1e16, 5e-324]
)
def test_a_number_written_as_text_is_the_same_number(value: float) -> None:
    assert float(written(value)) == value


@pytest.mark.parametrize("epoch", [None, CALENDAR_MAC_1904])
def test_dates_follow_the_workbook_s_own_system(tmp_path: Path, epoch: object) -> None:
    """The same day is another number in a 1904 workbook: four years would be lost."""
    book = openpyxl.Workbook()
    if epoch is not None:
        book.epoch = epoch
    book.active.append(HEADER)
    book.active.append([dt.date(2023, 3, 15), "ALD-1", 1])
    path = tmp_path / "export.xlsx"
    book.save(path)
    assert read_sheet(path).cells["c0"].to_list() == ["2023-03-15"]


def test_titles_units_totals_and_blank_rows_are_as_in_text(read) -> None:
    sheet = read(["Results"], [], HEADER, ["", "", "%"], ["2024-03-15", "ALD-1", 5], [], ["Total", "", 5])
    assert (sheet.header_line, sheet.headers, sheet.units) == (3, ("date", "green", "value"), ("", "", "%"))
    assert sheet.cells.rows() == [(5, "2024-03-15", "ALD-1", "5")]
    assert sheet.ignored.rows() == [(4, "units row"), (7, "totals")]


def test_a_formula_without_a_stored_value_is_a_fault(read) -> None:
    sheet = read(HEADER, ["2024-03-15", "ALD-1", "=1+1"], ["2024-03-16", "ALD-1", 5])
    assert codes(sheet) == [(2, "workbook.unstored", "value")]
    assert sheet.cells["line"].to_list() == [2, 3]


@pytest.mark.parametrize("error", ["#DIV/0!", "#N/A", "#REF!", "#VALUE!", "#NAME?"])
def test_a_failed_cell_keeps_its_error_text(read, error: str) -> None:
    """The library gives a blank for it, which would pass for "no value"."""

    def fail(sheet: Worksheet) -> None:
        sheet["C2"].value, sheet["C2"].data_type = error, "e"

    assert read(HEADER, ["2024-03-15", "ALD-1", 5], change=fail).cells["c2"].to_list() == [error]


def test_a_cell_merged_down_counts_for_its_rows(read) -> None:
    rows = [HEADER, ["2024-03-15", "ALD-1", 5], [None, "ALD-2", 6], [None, "ALD-3", 7], ["2024-03-16", "ALD-1", 8]]
    sheet = read(*rows, change=lambda sheet: sheet.merge_cells("A2:A4"))
    assert sheet.cells["c0"].to_list() == ["2024-03-15", "2024-03-15", "2024-03-15", "2024-03-16"]
    assert codes(sheet) == [(2, "workbook.filled_down", "date")]
    assert "rows 2 to 4" in sheet.faults["message"][0]


def test_a_cell_merged_across_columns_of_data_is_a_fault(read) -> None:
    rows = [HEADER, ["2024-03-15", "ALD-1", None], ["2024-03-16", "ALD-2", 6]]
    sheet = read(*rows, change=lambda sheet: sheet.merge_cells("B2:C2"))
    assert codes(sheet) == [(2, "workbook.merged_across", "green")]


def test_a_merged_title_is_only_a_title(read) -> None:
    sheet = read(["Spring tests"], HEADER, ["2024-03-15", "ALD-1", 5], change=lambda sheet: sheet.merge_cells("A1:C1"))
    assert (codes(sheet), sheet.cells.height) == ([], 1)


def two_sheets(path: Path, second: list[str]) -> Path:
    book = openpyxl.Workbook()
    book.active.title = "Read me"
    book.active.append(["made", "by hand"])
    results = book.create_sheet("Results & more")
    results.append(second)
    results.append(["2024-03-15", "ALD-1", "=2*2"])
    book.create_sheet("Empty")
    book.save(path)
    return path


def layouts(path: Path, sheets: dict[str, list[str]]) -> Path:
    """A workbook of sheets with these column names, each with a row of values."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, headers in sheets.items():
        sheet = book.create_sheet(name)
        sheet.append(headers)
        sheet.append([4 + column for column in range(len(headers))])
    book.save(path)
    return path


def test_the_named_sheet_is_read(tmp_path: Path) -> None:
    path = two_sheets(tmp_path / "two.xlsx", ["day", "place", "result"])
    sheet = read_sheet(path, Reading(sheet="Results & more"))
    assert sheet.headers == ("day", "place", "result")
    assert codes(sheet) == [(2, "workbook.unstored", "result")]


def test_known_names_tell_the_sheet(tmp_path: Path) -> None:
    path = two_sheets(tmp_path / "two.xlsx", HEADER)
    assert read_sheet(path, Reading(known_headers=KNOWN)).headers == tuple(HEADER)


def test_two_sheets_and_nothing_that_tells_them_apart(tmp_path: Path) -> None:
    path = two_sheets(tmp_path / "two.xlsx", HEADER)
    sheet = read_sheet(path)
    assert codes(sheet) == [(None, "workbook.which_sheet", "")]
    assert '"Read me", "Results & more"' in sheet.faults["message"][0]


def test_two_sheets_of_one_layout_say_how_both_are_read(tmp_path: Path) -> None:
    """One profile reads them all: to say but one of them would leave the other out."""
    path = layouts(tmp_path / "years.xlsx", {"2025": HEADER, "2026": HEADER, "Prices": ["item", "price"]})
    sheet = read_sheet(path, Reading(known_headers=KNOWN, ignored_sheets=("price*",)))
    assert sheet.faults.select("message", "hint").rows() == [
        (
            'The workbook has more than one sheet with cells: "2025", "2026".',
            'Say which one under sheet in [reading] of a source profile (sheet = "2025"; docs/profiles.md); as they '
            'are of one layout, sheets = ["*"] there reads them all. Those that are not needed: ignore_sheets in '
            "settings.toml.",
        )
    ]


def test_sheets_of_two_layouts_are_not_said_to_be_of_one(tmp_path: Path) -> None:
    path = layouts(tmp_path / "two.xlsx", {"2025": HEADER, "2026": HEADER[::-1]})
    assert "one layout" not in read_sheet(path, Reading(known_headers=KNOWN)).faults["hint"][0]


def test_a_sheet_that_nobody_needs_is_no_choice(tmp_path: Path) -> None:
    """The only one left is read; one that is named is read although it is ignored."""
    path = layouts(tmp_path / "two.xlsx", {"2025": HEADER, "2026": HEADER})
    assert read_sheet(path, Reading(known_headers=KNOWN, ignored_sheets=("2025",))).name == "2026"
    assert read_sheet(path, Reading(known_headers=KNOWN, ignored_sheets=("2025",), sheet="2025")).name == "2025"
    assert codes(read_sheet(path, Reading(known_headers=KNOWN, ignored_sheets=("*",)))) == [
        (None, "workbook.which_sheet", "")
    ]


def test_a_sheet_that_is_not_there(tmp_path: Path) -> None:
    path = two_sheets(tmp_path / "two.xlsx", HEADER)
    assert codes(read_sheet(path, Reading(sheet="Result"))) == [(None, "workbook.no_such_sheet", "")]


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        (b"PK\x03\x04", "workbook.damaged"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "bytes.not_text"),
    ],
)
def test_what_is_no_readable_workbook(tmp_path: Path, raw: bytes, code: str) -> None:
    path = tmp_path / "export.xlsx"
    path.write_bytes(raw)
    assert codes(read_sheet(path)) == [(None, code, "")]


def test_an_archive_of_something_else(tmp_path: Path) -> None:
    import zipfile

    path = tmp_path / "export.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("jobs.csv", "date,green\n")
    assert codes(read_sheet(path)) == [(None, "bytes.not_text", "")]


def test_a_workbook_without_cells(read) -> None:
    assert codes(read()) == [(None, "bytes.empty", "")]


def cell(text: str = "", **facts: object) -> TableCell:
    made = TableCell(**facts)
    if text:
        made.addElement(P(text=text))
    return made


def ods(path: Path, rows: list[list[TableCell]], repeat: int = 1) -> Path:
    document = OpenDocumentSpreadsheet()
    table = Table(name="Results")
    for cells in rows:
        row = TableRow(numberrowsrepeated=repeat) if repeat > 1 and cells is rows[-1] else TableRow()
        for made in cells:
            row.addElement(made)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    document.save(path)
    return path


def names() -> list[TableCell]:
    return [cell(name, valuetype="string") for name in HEADER]


def test_an_ods_sheet(tmp_path: Path) -> None:
    path = ods(
        tmp_path / "export.ods",
        [
            names(),
            [
                cell("15/03/24", valuetype="date", datevalue="2024-03-15"),
                cell("01", valuetype="string"),
                cell("12,50", valuetype="float", value="12.50"),
            ],
        ],
        repeat=2,
    )
    sheet = read_sheet(path)
    assert sheet.cells.rows() == [(2, "2024-03-15", "01", "12.5"), (3, "2024-03-15", "01", "12.5")]
    assert codes(sheet) == []


def test_failed_and_unstored_formulas_of_an_ods_sheet(tmp_path: Path) -> None:
    path = ods(
        tmp_path / "export.ods",
        [
            names(),
            [cell("2024-03-15", valuetype="string"), cell("A", valuetype="string"), cell(formula="of:=1+1")],
            [
                cell("2024-03-16", valuetype="string"),
                cell("B", valuetype="string"),
                cell("#DIV/0!", valuetype="string", stringvalue="", formula="of:=1/0"),
            ],
        ],
    )
    sheet = read_sheet(path)
    assert codes(sheet) == [(2, "workbook.unstored", "value")]
    assert sheet.cells["c2"].to_list() == [None, "#DIV/0!"]


def test_merged_cells_of_an_ods_sheet(tmp_path: Path) -> None:
    path = ods(
        tmp_path / "export.ods",
        [
            names(),
            [
                cell("2024-03-15", valuetype="string", numberrowsspanned=2, numbercolumnsspanned=1),
                cell("A", valuetype="string"),
                cell(valuetype="float", value="1"),
            ],
            [CoveredTableCell(), cell("B", valuetype="string"), cell(valuetype="float", value="2")],
        ],
    )
    sheet = read_sheet(path)
    assert sheet.cells["c0"].to_list() == ["2024-03-15", "2024-03-15"]
    assert codes(sheet) == [(2, "workbook.filled_down", "date")]
