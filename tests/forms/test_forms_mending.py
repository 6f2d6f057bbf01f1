"""Rejected rows as a workbook: bad cells marked, reasons beside them; mended there, they load."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from pipeline.common.refusal import CannotDo
from pipeline.forms.description import form_of
from pipeline.forms.workbook import form_workbook
from pipeline.publish.forms import WrittenForm, registered_names, write_forms, write_rejected
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS
from tests.conftest import TODAY, Load
from tests.forms.conftest import GREEN, Load_
from tests.forms.hand import by_libreoffice, filled, header_row, say, write
from tests.thorough import thorough

TWINS = [
    {"Date": date(2026, 3, 16), "Operation": "Mowing", "Height of cut (mm)": 5},
    {"Date": date(2026, 3, 16), "Operation": "Mown twice round", "Height of cut (mm)": 5},
]


def log(book: Workbook) -> None:
    sheet = book["Job log"]
    say(sheet, "Green:", GREEN)
    rows: list[dict[str, Any] | None] = [
        {"Date": date(2026, 3, 16), "Operation": "Hollow coring", "Depth (mm)": 80, "Note": "'=quoted"},
        {"Date": date(2026, 3, 17), "Operation": "Danced", "Quantity": "25", "Note": "+ as it stands"},
        {"Date": date(2026, 3, 18), "Operation": "Hollow coring", "Depth (mm)": 900},
    ]
    write(sheet, rows)


@pytest.fixture
def mend(workspace: Workspace) -> Callable[[], list[WrittenForm]]:
    return lambda: write_rejected(workspace, TODAY)


def marked(sheet: Worksheet) -> dict[str, str]:
    """Cells that are marked (shaded, thick border, comment), with what the comment says."""
    found = {}
    for row in sheet.iter_rows(min_row=5):
        for cell in row:
            marks = (cell.comment is not None, cell.border.left.style == "medium", cell.fill.fgColor.rgb == "FFF6D5D5")
            assert len(set(marks)) == 1, f"{cell.coordinate} is marked by halves: {marks}"
            if cell.comment:
                found[cell.coordinate] = cell.comment.text
    return found


def jobs(workspace: Workspace) -> list[tuple[Any, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows("SELECT date, operation, depth_mm, mass_kg, note FROM job ORDER BY date, operation")


def test_a_bad_cell_is_marked_and_says_why(
    form: Callable[[str], Path], load_all: Load_, mend: Callable[[], list[WrittenForm]]
) -> None:
    load_all(filled(form("crew"), log))
    (made,) = mend()
    assert made.path.name == "crew.xlsx.rejected.xlsx"
    sheet = openpyxl.load_workbook(made.path)["Rows to mend"]
    at, columns = header_row(sheet, "Date", "Operation", "Quantity", "Depth (mm)", "What is wrong")
    place = {name: openpyxl.utils.get_column_letter(number) for name, number in columns.items()}
    said = marked(sheet)
    assert set(said) == {f"{place['Operation']}5", f"{place['Quantity']}5", f"{place['Depth (mm)']}6"}
    assert said[f"{place['Quantity']}5"] == "The number has no unit: 25 Write the unit behind it."
    assert said[f"{place['Depth (mm)']}6"] == (
        "Depth (mm): 900 is not possible (more than 0 and at most 500 mm). "
        "Check the figure and its unit (depth_mm is kept in mm)."
    )
    reasons = [sheet.cell(row, columns["What is wrong"]).value for row in (at + 1, at + 2)]
    assert reasons == [
        "Operation: “Danced” is not a known operation; closest: caned, sanded, patched. · The number has no unit: 25",
        "Depth (mm): 900 is not possible (more than 0 and at most 500 mm).",
    ]
    assert sheet[f"{place['Date']}5"].value == "2026-03-17"  # text, as a day in a form is
    assert (sheet[f"{place['Depth (mm)']}6"].value, sheet[f"{place['Green']}5"].value) == (900, "ALD-1")
    assert (sheet[f"{place['Note']}5"].value, sheet[f"{place['Note']}5"].data_type) == ("+ as it stands", "s")


def _mended(book: Workbook) -> None:
    sheet = book["Rows to mend"]
    write(sheet, [{"Operation": "Fertilising", "Quantity": "25 kg"}, {"Depth (mm)": 90}])


def test_rows_mended_in_the_workbook_load(
    form: Callable[[str], Path], load_all: Load_, mend: Callable[[], list[WrittenForm]], workspace: Workspace
) -> None:
    load_all(filled(form("crew"), log))
    (made,) = mend()
    (done,) = load_all(filled(made.path, _mended))
    assert (done.file, done.kind, done.counts.loaded, done.counts.rows) == ("crew.xlsx.rejected.xlsx", "job", 2, 2)
    assert "header.unused" not in done.faults["code"]
    assert jobs(workspace) == [
        (date(2026, 3, 16), "hollow_coring", 80, None, "'=quoted"),
        (date(2026, 3, 17), "fertilising", None, 25, "+ as it stands"),
        (date(2026, 3, 18), "hollow_coring", 90, None, None),
    ]
    (again,) = load_all(made.path)
    assert (again.counts.unchanged, again.counts.effect) == (2, False)


@thorough
def test_rows_mended_by_a_spreadsheet_program_load(
    form: Callable[[str], Path],
    load_all: Load_,
    mend: Callable[[], list[WrittenForm]],
    workspace: Workspace,
    soffice: str,
    tmp_path: Path,
) -> None:
    load_all(filled(form("crew"), log))
    (made,) = mend()
    (saved,) = by_libreoffice(soffice, [filled(made.path, _mended)], "xlsx", tmp_path / "saved")
    (done,) = load_all(saved)
    assert (done.counts.loaded, done.counts.rows) == (2, 2)
    assert len(jobs(workspace)) == 3


@thorough
def test_a_mended_twin_stands_beside_the_row_that_was_loaded(
    form: Callable[[str], Path], load_all: Load_, mend: Callable[[], list[WrittenForm]], workspace: Workspace
) -> None:
    """Two cuts of one day: the one that was mended is a job of its own, not the other one seen again."""

    def twice(book: Workbook) -> None:
        say(book["Jobs"], "Green:", GREEN)
        write(book["Jobs"], TWINS)

    path = form("crew").with_name("cuts.xlsx")
    path.write_bytes(form_workbook(form_of(KINDS["job"]), registered_names(workspace)))
    (first,) = load_all(filled(path, twice))
    assert (first.counts.loaded, first.counts.rejected) == (1, 1)
    (made,) = mend()
    (done,) = load_all(filled(made.path, lambda book: write(book["Rows to mend"], [{"Operation": "Mowing"}])))
    assert (done.counts.loaded, done.counts.unchanged) == (1, 0)
    assert len(jobs(workspace)) == 2


PROFILE = """
name = "turf export"
kind = "job"
[match]
headers = ["Tag", "Plot", "Tat", "Tiefe cm"]
[values]
date_order = "dmy"
decimal = ","
[fields]
date = "Tag"
green = "Plot"
operation = "Tat"
depth_mm = { from = "Tiefe cm", unit = "cm" }
"""
EXPORT = "Tag;Plot;Tat;Tiefe cm;Wind\n3/4/2026;ALD-1;spiked;7,5;W\n4/4/2026;ALD-1;skipped;8,5;=N\n"


def test_rows_of_a_profiled_export_keep_their_own_columns_and_profile(
    county: Load, load_all: Load_, mend: Callable[[], list[WrittenForm]], workspace: Workspace
) -> None:
    """A decimal comma or a day-month order written out otherwise would come back as another figure or day."""
    (workspace.profiles / "turf.toml").write_text(PROFILE, "utf-8")
    first = county("export.csv", EXPORT)
    assert (first.counts.loaded, first.counts.rejected) == (1, 1)
    (made,) = mend()
    book = openpyxl.load_workbook(made.path)
    sheet = book["Rows to mend"]
    cells = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=4)]
    assert cells == [
        ["Tag", "Plot", "Tat", "Tiefe cm", "Wind", "What is wrong"],
        [
            "4/4/2026",
            "ALD-1",
            "skipped",
            "8,5",
            "=N",
            "Tat: “skipped” is not a known operation; closest: soaked, spiked, edges clipped.",
        ],
    ]
    assert sheet["E5"].data_type == "s" and not sheet.data_validations.dataValidation
    sheet["C5"] = "spiked"
    sheet["E5"].data_type = "s"
    book.save(made.path)
    (done,) = load_all(made.path)
    assert (done.profile, done.counts.loaded, done.counts.rows) == ("turf export", 1, 1)
    assert [row[:3] for row in jobs(workspace)] == [
        (date(2026, 4, 3), "spiking", 75),
        (date(2026, 4, 4), "spiking", 85),
    ]


def test_a_row_of_units_stays_over_the_rows(
    county: Load, load_all: Load_, mend: Callable[[], list[WrittenForm]], workspace: Workspace
) -> None:
    first = county("jobs.csv", "date,green,operation,depth\n,,,in\n2026-04-03,ALD-1,skipped,3\n")
    assert first.counts.rejected == 1
    (made,) = mend()
    (done,) = load_all(filled(made.path, lambda book: book["Rows to mend"].__setitem__("C6", "spiking")))
    assert done.counts.loaded == 1, done.faults["message"].to_list()
    assert jobs(workspace)[0][2] == pytest.approx(76.2)


def test_a_workbook_that_was_mended_is_never_written_over(
    form: Callable[[str], Path], load_all: Load_, mend: Callable[[], list[WrittenForm]]
) -> None:
    load_all(filled(form("crew"), log))
    (made,) = mend()
    assert [one.same for one in mend()] == [True]
    filled(made.path, _mended)
    kept = made.path.read_bytes()
    (refused,) = mend()
    assert refused.fault == "it stands there with other content, perhaps mended; load it, or delete it"
    assert made.path.read_bytes() == kept


def test_rows_that_are_in_order_now_are_nothing_to_mend(
    county: Load, load_all: Load_, mend: Callable[[], list[WrittenForm]]
) -> None:
    """Once the green is registered the CSV loads as it is."""
    county("jobs.csv", "date,green,operation\n2026-04-03,ALD-9,spiking\n")
    county("greens2.csv", "green,club\nALD-9,ALD\n")
    (told,) = mend()
    assert (told.nothing, told.path.exists()) == ("no row of it is rejected now", False)


def test_a_form_that_somebody_fills_in_is_never_written_over(county: Load, workspace: Workspace) -> None:
    book, paper = write_forms(workspace, ["crew"])
    assert paper.path.suffix == ".pdf"
    assert [one.same for one in write_forms(workspace, ["crew"])] == [True, True]
    county("materials2.csv", "material,sort\nnew sand,top dressing\n")
    assert [(one.same, one.fault) for one in write_forms(workspace, ["crew"])] == [(False, ""), (False, "")]
    kept = filled(book.path, lambda opened: say(opened["Job log"], "Green:", GREEN)).read_bytes()
    refused = write_forms(workspace, ["crew"])[0]
    assert refused.fault == "something is filled in there; load it, or move it away"
    assert book.path.read_bytes() == kept


def test_forms_that_cannot_be_written_say_so(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file", "utf-8")
    with pytest.raises(CannotDo, match="could not be written"):
        write_forms(workspace, ["speeds"], out=tmp_path / "taken")
