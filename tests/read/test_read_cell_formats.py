"""What a person sees in a cell is what is read: percent, words round a number, thousands left out, zeros in front.

What is seen is written here by hand for each format code, as spreadsheets show it (ECMA-376 part 1, 18.8.31).
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest
from odf.number import Number, PercentageStyle
from odf.number import Text as NumberText
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style as OdfStyle
from odf.table import Table, TableCell, TableRow
from odf.text import P

from pipeline.load.files import load_paths
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from pipeline.read.workbook.cell_formats import as_shown
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load

KNOWN = frozenset({"date", "green", "value"})
HEADER = ["date", "green", "value"]

SHOWN = [
    (0.041, "0.0%", "4.1%"),
    (0.041, "0%", "4.1%"),  # shown as 4 %: digits are never taken off
    (0.041, "0.00 %", "4.1%"),
    (0.041, "%0.0", "4.1%"),
    (-0.05, "0%;(0%)", "-5%"),
    (0.041, "[<1]0.0%;0.0", "4.1%"),
    (4.1, "[<1]0.0%;0.0", None),
    (4.1, '0.0"%"', "4.1%"),  # a quoted sign is a word: nothing is multiplied
    (4.1, r"0.0\%", "4.1%"),
    (0.09, "0.0%;@", "9%"),  # the last section is for text alone
    (-0.09, "0.0%;-0.0%;@", "-9%"),
    (0.09, "0.0%;General;@", "9%"),
    (0.09, "# ?/?%", "9%"),
    (0.09, "0.0E+0%", "9%"),
    (0.25, "# ?/?", None),
    (5, '0" 000"', "5 000"),
    (5, '"1"0', "15"),
    (0.28999999999999998, "0%", "29%"),
    (0.1 + 0.2, "0%", "30%"),
    (0.07 * 100 / 100, "0%", "7%"),
    (1e-9, "0%", "0.0000001%"),
    (1.234567890123, "0%", "123.4567890123%"),
    (0, "0%", "0%"),
    (2, '0" t"', "2 t"),
    (2.25, 'General" kg"', "2.25 kg"),
    (3, '0.0 "mm"', "3 mm"),
    (3, r"0\"", '3"'),
    (0.5, '"<"0.0', "<0.5"),
    (0.5, "<0.0", "<0.5"),
    (0, '0.0;-0.0;"ND"', "ND"),
    (0.4, '0.0;-0.0;"ND"', None),
    (6123, '0.0," t"', "6.123 t"),
    (6_500_000, "0.0,,", "shown 6.5, stored 6500000"),  # no unit behind it: nobody can tell which is meant
    (1700, "#,##0.00,", "shown 1.7, stored 1700"),
    (1700, r"0.0,\k", "shown 1.7k, stored 1700"),
    (17, '[>=1000]0.0,"k";0', None),
    (25, '0"."0', "shown 2.5, stored 25"),
    (930, '00":"00', "09:30"),
    (1234, "00-00", "12-34"),
    (0, "0.0;;", "shown blank, stored 0"),
    (-3, "0.0;;", "shown blank, stored -3"),
    (0, '0.0;-0.0;""', "shown blank, stored 0"),
    (0, '0.0;-0.0;"-"', None),  # a dash for nought, as books write it
    (-5, "0;0", "shown 5, stored -5"),
    (-5, "0;[Red]0", None),
    (3, "0.0 [$kg-809]", "3 kg"),
    (3, "[$USD] 0.0", None),
    (3, '0.0"*"', "3*"),
    (5, "0 °C", "5 °C"),
    (1.5, '# ?/?" kg"', "1.5 kg"),
    (1500, '0.0E+00" kg"', "1500 kg"),
    (7, "000", "007"),
    (7.5, "000", "7.5"),
    (1234.5, "#,##0.00", None),
    (12, "General", None),
    (12, "", None),
    (31.5, '"£"#,##0.00', None),
    (31.5, "[$£-809]#,##0.00", None),
    (31.5, '#,##0.00" €"', None),
    (-5, "0.0_);[Red](0.0)", None),
    (0, '_-* #,##0.00_-;-* #,##0.00_-;_-* "-"??_-;_-@_-', None),
    (1.5, "# ?/?", None),
    (1500, "0.00E+00", None),
    (45000, "dd/mm/yyyy", None),
    (5, ";;;", "shown blank, stored 5"),
    (5, "@", None),
]


@pytest.mark.parametrize(("value", "code", "shown"), SHOWN)
def test_a_number_is_written_as_its_format_shows_it(value: float, code: str, shown: str | None) -> None:
    assert as_shown(value, code) == shown


def book(path: Path, rows: list[list[object]], formats: dict[str, str]) -> Path:
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(row)
    for cell, code in formats.items():
        made.active[cell].number_format = code
    made.save(path)
    return path


def read(tmp_path: Path, *cells: tuple[object, str]) -> Sheet:
    rows = [HEADER, *(["2024-03-15", "ALD-1", value] for value, _ in cells)]
    formats = {f"C{number}": code for number, (_, code) in enumerate(cells, 2)}
    return read_sheet(book(tmp_path / "export.xlsx", rows, formats), Reading(known_headers=KNOWN))


def test_cells_of_a_workbook_are_read_as_seen(tmp_path: Path) -> None:
    """Built-in and own formats, beside a plain number, a text, a date and a formula without a value."""
    sheet = read(
        tmp_path,
        (0.041, "0%"),
        (0.041, "0.00%"),
        (0.041, "0.0%"),
        (4.1, "General"),
        ("4.1%", "0%"),
        (2, '0" t"'),
        (dt.date(2024, 3, 15), "dd/mm/yyyy"),
        (True, "0%"),
    )
    seen = ["4.1%", "4.1%", "4.1%", "4.1", "4.1%", "2 t", "2024-03-15", "TRUE"]
    assert sheet.cells["c2"].to_list() == seen
    assert sheet.faults.height == 0


def test_cells_of_an_ods_sheet_are_read_as_seen(tmp_path: Path) -> None:
    document = OpenDocumentSpreadsheet()
    percents = PercentageStyle(name="N1")
    percents.addElement(Number(decimalplaces=1, minintegerdigits=1))
    percents.addElement(NumberText(text="%"))
    document.automaticstyles.addElement(percents)
    document.automaticstyles.addElement(OdfStyle(name="ce1", family="table-cell", datastylename="N1"))
    table = Table(name="Results")
    rows = [[("string", None, name) for name in HEADER]]
    for sort, value, text in (
        ("percentage", "0.041", "4.1%"),
        ("percentage", "0.29", "29 %"),
        ("float", "4.1", "4.1"),
        ("float", "1234.5", "1,234.50"),
        ("float", "2", "2 t"),
        ("float", "0.5", "<0.5"),
        ("float", "0", "ND"),
        ("float", "0", "-"),
        ("float", "7", "007"),
        ("float", "1500", "1.5E+03"),
        ("float", "1.5", "1 1/2"),
        ("currency", "31.5", "£31.50"),
    ):
        rows.append([("string", None, "2024-03-15"), ("string", None, "ALD-1"), (sort, value, text)])
    for row in rows:
        made = TableRow()
        for sort, value, text in row:
            cell = TableCell(valuetype=sort, **({"value": value} if value else {}))
            cell.addElement(P(text=text))
            made.addElement(cell)
        table.addElement(made)
    document.spreadsheet.addElement(table)
    document.save(tmp_path / "export.ods")
    sheet = read_sheet(tmp_path / "export.ods", Reading(known_headers=KNOWN))
    assert sheet.cells["c2"].to_list() == [
        *("4.1%", "29%", "4.1", "1234.5", "2 t", "<0.5", "ND", "0", "007", "1500", "1.5", "31.5")
    ]


@pytest.mark.parametrize(
    ("sort", "value", "text", "read"),
    [
        ("float", "1700", "1.7", "shown 1.7, stored 1700"),
        ("float", "1700", "1,7", "shown 1.7, stored 1700"),  # written under a decimal comma
        ("float", "6123", "6.1 t", "6.123 t"),
        ("float", "1700.5", "1,701", "1700.5"),
        ("float", "1700", "1.700", "1700"),
        ("float", "2", "2 x 25 kg", "2 x 25 kg"),
        ("float", "35", "35 g/m2", "35 g/m2"),
        ("float", "0.5", "50.0%", "50%"),
        ("float", "25", "2.5", "shown 2.5, stored 25"),
        ("float", "1234", "12-34", "12-34"),
        ("float", "12", "", "shown blank, stored 12"),
        ("float", "-5", "5", "shown 5, stored -5"),
        ("float", "1.5", "1 1/2 kg", "1.5 kg"),
        ("currency", "3", "3.0 kg", "3 kg"),
        ("date", "2026-03-01", "Mar-26", "2026-03"),
        ("date", "2026-03-17", "Mar-26", "2026-03-17"),
        ("date", "2026-03-01", "01/03/26", "2026-03-01"),
        ("date", "2026-01-01", "2026", "2026"),
        ("time", "PT30H00M00S", "30:00", "30:00:00"),
        ("time", "PT30H00M00S", "6:00", "shown 6:00:00, stored 30:00:00"),
        ("time", "PT12H30M00S", "30:00", "shown 0:30:00, stored 12:30:00"),
        ("time", "PT01H15M00S", "75:00", "01:15:00"),
        ("time", "PT1106001H30M00.000000838S", "9:30", "2026-03-02 09:30:00"),
    ],
)
def test_an_ods_cell_that_shows_another_figure_than_it_holds_says_both(
    tmp_path: Path, sort: str, value: str, text: str, read: str
) -> None:
    """1,700 shown as 1.7 was read as 1700, the unit of "2 x 25 kg" was lost, and 30 hours came as PT30H00M00S."""
    document = OpenDocumentSpreadsheet()
    table = Table(name="Results")
    names = {"date": "datevalue", "time": "timevalue"}
    for one in (HEADER, ["2024-03-15", "ALD-1", None]):
        row = TableRow()
        for word in one:
            cell = (
                TableCell(valuetype="string")
                if word
                else TableCell(valuetype=sort, **{names.get(sort, "value"): value})
            )
            cell.addElement(P(text=text if word is None else word))
            row.addElement(cell)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    document.save(tmp_path / "export.ods")
    assert read_sheet(tmp_path / "export.ods", Reading(known_headers=KNOWN)).cells["c2"].to_list() == [read]


@pytest.mark.parametrize(
    ("hours", "code", "read"),
    [
        (30, "[h]:mm", "30:00:00"),
        (30, "h:mm", "shown 6:00:00, stored 30:00:00"),
        (12.5, "mm:ss", "shown 0:30:00, stored 12:30:00"),
        (9.5, "h:mm", "09:30:00"),
        (2000, "h:mm", "shown 8:00:00, stored 2000:00:00"),
    ],
)
def test_a_length_of_time_whose_days_or_hours_are_not_seen_says_both(
    tmp_path: Path, hours: float, code: str, read: str
) -> None:
    assert read_one(tmp_path, hours / 24, code) == read


def read_one(tmp_path: Path, value: object, code: str) -> str:
    return str(read(tmp_path, (value, code)).cells["c2"][0])


def test_a_sheet_that_hides_noughts_says_so_of_each(tmp_path: Path) -> None:
    """A blank to everybody who looked at the sheet was stored as 0 mm of rain."""
    made = openpyxl.Workbook()
    for row in (HEADER, ["2024-03-15", "ALD-1", 0], ["2024-03-16", "ALD-1", 0.5]):
        made.active.append(row)
    made.active.sheet_view.showZeros = False
    made.save(tmp_path / "export.xlsx")
    sheet = read_sheet(tmp_path / "export.xlsx", Reading(known_headers=KNOWN))
    assert sheet.cells["c2"].to_list() == ["shown blank, stored 0", "0.5"]


def test_a_figure_seen_otherwise_than_held_is_asked_about(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """1,700 mg/kg shown as 1.7 was stored as 1.7."""
    rows: list[list[object]] = [
        ["date", "green", "analyte", "value", "unit"],
        ["2026-09-16", "ALD-1", "p", 1700, "mg/kg"],
        ["2026-09-16", "ALD-1", "k", 0, "mg/kg"],
        ["2026-09-16", "ALD-1", "mg", 17, "mg/kg"],
    ]
    path = book(tmp_path / "export.xlsx", rows, {"D2": "0.0,", "D3": "0;;"})
    result = load_paths(workspace, [path], today=TODAY, kind="soil_test")[0]
    assert (result.counts.loaded, result.counts.rejected) == (1, 2)
    hides = "its number format hides the figure or a part of it."
    assert result.faults["message"].to_list() == [
        f"value: the cell shows “1.7” and holds 1700: {hides}",
        f"value: the cell shows nothing and holds 0: {hides}",
    ]


@pytest.mark.parametrize(
    ("kind", "rows", "cell", "field"),
    [
        (
            "weather_day",
            [["date", "station", "humidity_pct"], ["2026-03-16", "Ostershire", 0.81]],
            "C2",
            "humidity_pct",
        ),
        ("material", [["material", "sort", "form", "n"], ["autumn feed", "fertiliser", "solid", 0.041]], "D2", "n_pct"),
        (
            "observation",
            [["date", "green", "observed", "value", "unit"], ["2026-09-16", "ALD-1", "moss", 0.041, "%"]],
            "D2",
            "value",
        ),
        (
            "soil_test",
            [["date", "green", "analyte", "value", "unit"], ["2026-09-16", "ALD-1", "organic_matter", 0.041, "%"]],
            "D2",
            "value",
        ),
    ],
)
def test_a_percent_cell_is_stored_as_seen(
    county: Load, workspace: Workspace, tmp_path: Path, kind: str, rows: list[list[object]], cell: str, field: str
) -> None:
    """4.1 % was kept as 0.041: a hundredth of the figure, in every column and without a word."""
    result = load_paths(workspace, [book(tmp_path / "export.xlsx", rows, {cell: "0.0%"})], today=TODAY, kind=kind)[0]
    assert (result.counts.rows, result.counts.loaded) == (1, 1), result.faults
    with Store(workspace.store, read_only=True) as store:
        stored = store.rows(f"SELECT {field} FROM history.{kind} ORDER BY load_id DESC")[0]
    assert stored == (81 if kind == "weather_day" else 4.1,)
