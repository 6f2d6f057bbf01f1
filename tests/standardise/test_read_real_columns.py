"""Columns of the open data files beside the checkout: what is known about them must come out of parsing them.

Sources and licences are in the README of that folder.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipeline.profiles.style import Style, Understood
from pipeline.read.sheet import Sheet
from pipeline.read.table import read_sheet
from pipeline.standardise.cells.dates import date_column
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.numbers import number_column
from pipeline.standardise.cells.text import code_column
from tests.outside_checks import outside


def column(sheet: Sheet, header: str) -> tuple[pl.Series, pl.Series, str]:
    return sheet.cells["line"], sheet.cells[f"c{sheet.headers.index(header)}"], header


def kinds(found: Understood) -> dict[str, int]:
    return dict(found.faults.group_by("code").len().iter_rows())


@outside("open data", "MLSN soil data (CC0)")
def test_lab_numbers_that_a_spreadsheet_made_into_dates(outside_data: Path) -> None:
    """The README counts 474, all cells with letters: 32 of them are words (place names); `7/6/95` is left out."""
    sheet = read_sheet(outside_data / "turf-soil-samples-a.csv")
    lines, cells, header = column(sheet, "LabNo")
    letters = cells.str.contains("[A-Za-z]") & (cells != "NA")
    words = cells.str.contains(r"^[A-Z ]{3,}$")
    assert (int(letters.sum()), int(words.sum())) == (474, 32)
    odd = letters | cells.str.contains("/")
    found = code_column(Cells(lines, cells, header))
    assert kinds(found) == {"code.date": 443}
    assert found.faults["line"].to_list() == lines.filter(odd & ~words).to_list()
    assert found.values["value"].null_count() == cells.null_count()


@outside("open data", "MLSN soil data (CC0)")
def test_us_dates_with_two_digit_years(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "turf-soil-samples-a.csv")
    found = date_column(Cells(*column(sheet, "Date")), Style(date_order="mdy"))
    assert not found.faults.height
    days = found.values["value"]
    assert (days.dt.year().min(), days.dt.year().max()) == (1991, 2014)
    assert days[0] == date(1991, 10, 2)


def test_the_same_dates_with_nothing_declared_are_all_refused(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "turf-soil-samples-a.csv")
    found = date_column(Cells(*column(sheet, "Date")), Style())
    assert found.values["value"].null_count() == 13062
    assert sum(kinds(found).values()) == 13062


def test_the_same_dates_in_the_wrong_order_are_not_flipped(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "turf-soil-samples-a.csv")
    cells = column(sheet, "Date")
    found = date_column(Cells(*cells), Style(date_order="dmy"))
    days = cells[1].str.split("/").list.get(1).cast(pl.Int64)
    assert kinds(found) == {"date.other_order": int((days > 12).sum())}


@outside("open data", "AgrodiversityData (MIT)")
@pytest.mark.parametrize("order", ["dmy", "mdy"])
def test_two_orders_in_one_column(outside_data: Path, order: str) -> None:
    """`4/24/2003` beside `09-03-2002`: whichever is declared, the rows that do not fit are faults."""
    sheet = read_sheet(outside_data / "trial-sites-mixed-dates.csv")
    lines, cells, header = column(sheet, "sowing_date")
    found = date_column(Cells(lines, cells, header), Style(date_order=order))  # type: ignore[arg-type]
    parts = cells.str.split_exact("/", 2).struct.unnest()
    month_first = parts["field_1"].cast(pl.Int64, strict=False) > 12
    odd = lines.filter(month_first.fill_null(False))
    assert set(found.faults.filter(code="date.other_order")["line"]) == (set(odd) if order == "dmy" else set())


@outside("open data", "Rothamsted Research (CC BY 4.0)")
def test_two_forms_in_one_column(outside_data: Path) -> None:
    """`1962-03-02 00:00:00` in one column, `1961-11-24` in the next, `*` where there is none."""
    sheet = read_sheet(outside_data / "liming-trial-soil-issue1.csv")
    for header in ("sample_date", "plough_date"):
        cells = column(sheet, header)
        found = date_column(Cells(*cells), Style())
        assert not found.faults.height
        assert found.values["value"].null_count() == int((cells[1] == "*").sum())


@outside("open data", "Rothamsted Research (CC BY 4.0), doi 10.23637/wcs10")
def test_the_second_issue_withdraws_33_olsen_values(outside_data: Path) -> None:
    """The README counts 33; `*` must come out as missing, not as zero."""
    values = []
    for issue in ("issue1", "issue2"):
        sheet = read_sheet(outside_data / f"liming-trial-soil-{issue}.csv")
        values.append(number_column(Cells(*column(sheet, "olsen_p")), Style()).values["value"])
    assert int((values[0].is_not_null() & values[1].is_null()).sum()) == 33
    assert int((values[0].is_null() & values[1].is_not_null()).sum()) == 0


@outside("open data", "Rothamsted Research (CC BY 4.0)")
def test_flags_glued_to_numbers(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "weather-monthly-flags.csv")
    cells = column(sheet, "Total monthly rain days")
    glued = int(cells[1].str.ends_with("+").sum())
    assert glued > 0
    assert kinds(number_column(Cells(*cells), Style())) == {"number.flag": glued}
    assert kinds(number_column(Cells(*cells), Style(flags=("+",)))) == {"number.flag_dropped": glued}


@outside("open data", "Met Office station series (OGL v3)")
def test_station_marks(outside_data: Path) -> None:
    """`---` is missing, `*` behind a number an estimate, and a footnote glued to a number no number."""
    sheet = read_sheet(outside_data / "station-monthly-lowestoft.txt")
    cells = column(sheet, "sun")
    found = number_column(Cells(*cells), Style(flags=("*", "#")))
    errors = found.faults.filter(severity="error")
    assert errors.select("line", "value").rows() == [(1121, "152.0Change")]
    assert found.values["value"].null_count() == int(((cells[1] == "---") | cells[1].is_null()).sum()) + 1


@outside("open data", "AgrodiversityData (MIT)")
def test_a_list_inside_a_number_column(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "trial-sites-mixed-dates.csv")
    found = number_column(Cells(*column(sheet, "an_N")), Style())
    assert "Year1:150, Year2:120" in found.faults["value"].to_list()


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
def test_a_date_that_type_sniffers_read_backwards(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "lab-wide-b.csv")
    found = date_column(Cells(*column(sheet, "Date Recd")), Style(date_order="mdy"))
    assert found.values["value"].unique().to_list() == [date(2022, 3, 10)]
    assert set(kinds(date_column(Cells(*column(sheet, "Date Recd")), Style()))) == {"date.two_readings"}
