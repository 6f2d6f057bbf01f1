"""Dates in the cells of a workbook: a month typed into one is no day, and what a spreadsheet swapped is asked about."""

from __future__ import annotations

import datetime as dt

import openpyxl
import polars as pl
import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.read.workbook.cell_formats import months_or_years
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.thorough import beyond

PROFILE = """
name = "crew"
kind = "job"
match = { headers = ["Date", "Green", "Job"] }
values = { date_order = "dmy" }

[fields]
date = "Date"
green = "Green"
operation = "Job"
"""


def loaded(workspace: Workspace, rows: list[list[object]], form: str = "") -> FileResult:
    """What a workbook of these rows came to; ``form``: number format of its dates."""
    (workspace.profiles / "crew.toml").write_text(PROFILE, "utf-8")
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for cell in book.active["A"]:
        cell.number_format = form if form and isinstance(cell.value, dt.date) else cell.number_format
    path = workspace.folder / "log.xlsx"
    book.save(path)
    return load_paths(workspace, [path], today=TODAY)[0]


def test_text_dates_after_the_12th_beside_real_ones_before_it(county: Load, workspace: Workspace) -> None:
    """A spreadsheet of American habits opened 04/03/2026: it is now 3 April, and 13/03/2026 stayed text."""
    days: list[object] = [dt.date(2026, 4, 3), "13/03/2026", dt.date(2026, 8, 5), "28/06/2026", "30/06/2026"]
    result = loaded(workspace, [["Date", "Green", "Job"], *([day, "ALD-1", "mowing"] for day in days)])
    assert result.counts.loaded == 5
    (fault,) = result.faults.to_dicts()
    assert (fault["line"], fault["column"], fault["code"], fault["severity"]) == (2, "Date", "date.swapped", "warning")
    assert fault["message"] == (
        "Column Date: all 2 dates written like 2026-04-03 lie on or before the 12th of a month (lines 2, 4), and all 3 "
        "written like 13/03/2026 after it (lines 3, 5, 6). A spreadsheet that takes the month for the day leaves just "
        "that behind: what it could not read stays text, and what it could is another day now."
    )


@pytest.mark.parametrize(
    "days",
    [
        [dt.date(2026, 4, 3), "13/03/2026"],  # one of each is luck: 0.39 · 0.61
        [dt.date(2026, 4, 3), "13/03/2026", dt.date(2026, 4, 23), "28/06/2026"],
        [dt.date(2026, 4, 3), "13/03/2026", dt.date(2026, 4, 2), "08/06/2026", "28/06/2026"],
        [dt.date(2026, 1, day) for day in range(1, 10)],
    ],
)
def test_dates_that_a_spreadsheet_read_rightly(county: Load, workspace: Workspace, days: list[object]) -> None:
    result = loaded(workspace, [["Date", "Green", "Job"], *([day, "ALD-1", "mowing"] for day in days)])
    assert "date.swapped" not in result.faults["code"].to_list()


@pytest.mark.parametrize("form", ["mmm-yy", "mmmm yyyy", "[$-809]mmm\\-yy;@", "yyyy-mm"])
@beyond(1)
def test_a_month_typed_into_a_cell_is_not_its_first_day(county: Load, workspace: Workspace, form: str) -> None:
    """“Nov 2025” is stored as 1 November and shown as Nov-25; another day under the same format was typed as a day."""
    days = [dt.date(2025, 11, 1), dt.date(2025, 11, 7)]
    result = loaded(workspace, [["Date", "Green", "Job"], *([day, "ALD-1", "mowing"] for day in days)], form)
    assert result.faults.select("value", "code").rows() == [("2025-11", "date.period")]
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT date, date_to FROM job ORDER BY ALL") == [
            (dt.date(2025, 11, 1), dt.date(2025, 11, 30)),
            (dt.date(2025, 11, 7), None),
        ]


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("mmm-yy", "%Y-%m"),
        ("yyyy", "%Y"),
        ("yyyy-mm-dd", ""),
        ("d mmm", ""),
        ("mm:ss", ""),
        ("0.0%", ""),
        ('0.0" my"', ""),
        ("General", ""),
    ],
)
def test_formats_that_show_no_day(code: str, said: str) -> None:
    assert months_or_years(code) == said


def test_a_month_or_year_in_the_register_is_a_span_of_days(county: Load, workspace: Workspace) -> None:
    """A green of 1926 was laid between the first and last day of that year; corrected to a day, the span is gone."""
    head = "green,club,name,laid_on,closed_on\n"
    result = county("greens.csv", head + "ALD-1,ALD,Main green,1926,May 2026\n")
    assert not result.failed, result.faults
    assert spans(workspace) == [(dt.date(1926, 1, 1), dt.date(1926, 12, 31), dt.date(2026, 5, 1), dt.date(2026, 5, 31))]
    early = county("early.csv", "date,green,operation\n1925-12-31,ALD-1,mowing\n1926-01-01,ALD-1,mowing\n", kind="job")
    assert early.faults.filter(pl.col("code") == "date.before_green")["line"].to_list() == [2]
    late = county("late.csv", "date,green,operation\n2026-05-31,ALD-1,mowing\n2026-06-01,ALD-1,mowing\n", kind="job")
    assert late.faults.filter(pl.col("code") == "date.after_green")["line"].to_list() == [3]
    county("mended.csv", head + "ALD-1,ALD,Main green,1926-05-01,\n", kind="green")
    assert spans(workspace) == [(dt.date(1926, 5, 1), None, None, None)]


def spans(workspace: Workspace) -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows("SELECT laid_on, laid_by, closed_on, closed_by FROM green")
