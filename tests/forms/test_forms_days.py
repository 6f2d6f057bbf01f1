"""Days in a form: a month or a year may be written, and what a spreadsheet makes of one typed alone is refused."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook import Workbook

from pipeline.cli.app import app
from pipeline.forms.cells import check_of
from pipeline.publish.forms import WrittenForm, write_rejected
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS
from tests.conftest import TODAY, Load
from tests.forms.conftest import GREEN, Load_
from tests.forms.hand import by_libreoffice, filled, header_row, say, write
from tests.thorough import beyond

OLD_DATE = "yyyy-mm-dd"
"""Format of a cell for a day in forms of earlier versions, and in cells pasted from elsewhere."""


def log(*days: Any, green: str = GREEN, head: Any = None, look: str = "") -> Callable[[Workbook], None]:
    """A crew's form with a mowing on each of these days, the cells in the format ``look`` where one is given."""

    def fill(book: Workbook) -> None:
        sheet = book["Job log"]
        say(sheet, "Green:", green)
        if head is not None:
            say(sheet, "Date:", head)
        write(sheet, [{"Date": day, "Operation": "Mowing"} for day in days])
        if look:
            for row in sheet.iter_rows():
                for cell in row:
                    if isinstance(cell.value, int):
                        cell.number_format = look

    return fill


def test_a_month_or_a_year_written_in_the_cell_is_kept_as_such(
    form: Callable[[str], Path], load_all: Load_, workspace: Workspace
) -> None:
    """The cell is text, so that what is typed stands there as it was typed."""
    path = filled(form("crew"), log("Nov 2024", "2025-10", "2023", "2026-03-16", date(2026, 3, 17)))
    (result,) = load_all(path)
    assert (result.counts.loaded, result.counts.rejected) == (5, 0)
    with Store(workspace.store, read_only=True) as store:
        found = store.rows("SELECT date, date_to FROM job ORDER BY date")
    assert [(str(first), last and str(last)) for first, last in found] == [
        ("2023-01-01", "2023-12-31"),
        ("2024-11-01", "2024-11-30"),
        ("2025-10-01", "2025-10-31"),
        ("2026-03-16", None),
        ("2026-03-17", None),
    ]


@pytest.mark.parametrize(
    ("number", "day", "in_words"),
    [(2026, "1905-07-18", "18 July 1905"), (17, "1900-01-17", "17 January 1900"), (61, "1900-03-01", "1 March 1900")],
)
@beyond(1)
def test_a_number_in_a_cell_formatted_as_a_date_is_refused(
    form: Callable[[str], Path], load_all: Load_, number: int, day: str, in_words: str
) -> None:
    """2026 typed into such a cell is the day number of one in 1905: of a green with no laying day it loaded."""
    path = filled(form("crew"), log(number, 46097, look=OLD_DATE))
    (result,) = load_all(path)
    faults = result.faults.select("line", "column", "code", "message", "hint").rows()
    assert (result.counts.loaded, result.counts.rejected) == (1, 1)
    line, _ = header_row(openpyxl.load_workbook(path)["Job log"], "Date", "Operation")
    assert faults == [
        (
            line + 1,
            "Date",
            "form.day_number",
            f"{day} is what a spreadsheet makes of the number {number} in a cell formatted as a date: a year or a day "
            "typed alone, perhaps.",
            "Format the cell as text, and write the day as year-month-day (2024-03-15), or the month or year alone "
            f"where the column takes it. If {day} is meant, write it there with the name of the month ({in_words}).",
        )
    ]


def test_a_number_in_the_head_is_refused_too(form: Callable[[str], Path], load_all: Load_) -> None:
    (result,) = load_all(filled(form("crew"), log(None, head=2026, look=OLD_DATE)))
    assert result.refused
    assert "says Date “1905-07-18”. 1905-07-18 is what a spreadsheet makes of the number 2026" in str(
        result.faults["message"][0]
    )


@pytest.mark.parametrize(
    ("kind", "field", "taken"),
    [
        ("job", "date", {"2026-03-16", "2024-11", "2024", "Nov 2024", "16 Mar 2026", 46097}),
        ("green", "laid_on", {"2026-03-16", "2024-11", "2024", "Nov 2024", "16 Mar 2026", 46097}),
        ("green_speed", "date", {"2026-03-16", "Nov 2024", "16 Mar 2026", 46097}),
    ],
)
@beyond(1)
def test_the_check_takes_days_and_no_bare_number(
    soffice: str, tmp_path: Path, kind: str, field: str, taken: set[object]
) -> None:
    """What the cell lets in, worked out by a spreadsheet program; a month's name goes to loading, which refuses it."""
    tried = [
        "2026-03-16",
        "2024-11",
        "2024",
        "Nov 2024",
        "16 Mar 2026",
        "3/4/2026",
        "17",
        "2026-02-30",
        2026,
        17,
        46097,
    ]
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row, cell in enumerate(tried, 1):
        check = check_of(KINDS[kind], KINDS[kind].by_name[field], f"A{row}", {})
        assert check is not None
        assert len(check["value"]) < 256  # a spreadsheet takes no longer formula in a check
        sheet.cell(row, 1, cell).number_format = "@"
        sheet.cell(row, 2, check["value"])
    book.save(tmp_path / "checks.xlsx")
    (tmp_path / "out").mkdir()
    (made,) = by_libreoffice(soffice, [tmp_path / "checks.xlsx"], "csv", tmp_path / "out")
    said = [line.rsplit(",", 1)[1] for line in made.read_text("utf-8").splitlines()]
    assert {cell for cell, answer in zip(tried, said, strict=True) if answer == "TRUE"} == taken


def rejected(workspace: Workspace) -> WrittenForm:
    (made,) = write_rejected(workspace, TODAY)
    return made


def test_what_text_cannot_show_stands_in_the_rejected_rows(
    form: Callable[[str], Path], load_all: Load_, workspace: Workspace
) -> None:
    """A formula without a result came out blank, so that the row, loaded as it lay there, lost it without a word."""

    def fill(book: Workbook) -> None:
        log("2026-03-16", "2026-03-17")(book)
        sheet = book["Job log"]
        at, columns = header_row(sheet, "Date", "Depth (mm)", "Passes")
        sheet.cell(at + 1, columns["Depth (mm)"]).value = "=1+1"
        sheet.cell(at + 2, columns["Passes"]).value = 80
        sheet.merge_cells(None, at + 2, columns["Passes"], at + 2, columns["Depth (mm)"])

    (first,) = load_all(filled(form("crew"), fill))
    assert first.counts.rejected == 2
    made = rejected(workspace)
    assert (made.fault, made.nothing, made.left) == ("", "", "")
    sheet = openpyxl.load_workbook(made.path)["Rows to mend"]
    at, columns = header_row(sheet, "Depth (mm)", "Passes")
    assert sheet.cell(at + 1, columns["Depth (mm)"]).value == "(formula without a result)"
    assert sheet.cell(at + 2, columns["Passes"]).value == "80 (merged over several columns)"
    assert first.rejects_file is not None
    (again,) = load_all(first.rejects_file)
    assert (again.counts.loaded, again.counts.rejected) == (0, 2)


def test_rows_that_a_workbook_to_mend_lacks_are_named(
    county: Load, workspace: Workspace, capsys: pytest.CaptureFixture[str]
) -> None:
    """A row that is not rejected any more, and one with cells too many, stand in the CSV alone."""
    county(
        "jobs.csv",
        "date,green,operation\n2026-04-03,ALD-9,spiking\n2026-04-04,ALD-1,danced\n2026-04-05,ALD-1,spiking,3,4\n",
    )
    county("greens2.csv", "green,club\nALD-9,ALD\n")
    assert rejected(workspace).left == (
        "line 2 is not rejected any more: load the CSV for it; line 4 has more or fewer cells than there are columns: "
        "mend that in the CSV"
    )
    code = app(["forms", "--rejected", "--workspace", str(workspace.folder)], standalone_mode=False)
    assert code == 1
    assert "it lacks rows of its CSV: line 2 is not rejected any more" in capsys.readouterr().err
