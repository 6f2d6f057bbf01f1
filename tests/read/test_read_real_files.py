"""The open data files beside the checkout: what is known about them must come out of reading them.

Sources and licences are in the README of that folder.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from tests.outside_checks import outside


def errors(sheet: Sheet) -> list[tuple[int | None, str]]:
    return list(sheet.faults.filter(severity="error").select("line", "code").iter_rows())


@outside("open data", "the file named, counted by another reader")
@pytest.mark.parametrize(
    ("name", "rows", "columns"),
    [
        ("cations-detection-limits.csv", 9, 2),
        ("cations-soil.csv", 192, 18),
        ("lab-wide-a.csv", 18, 209),
        ("lab-wide-b.csv", 18, 208),
        ("liming-trial-soil-issue1.csv", 1184, 25),
        ("liming-trial-soil-issue2.csv", 1184, 25),
        ("liming-trial-soil-issue2-notes.csv", 12, 2),
        ("soil-survey-long.csv", 1101, 21),
        ("soil-survey-wide.csv", 30, 76),
        ("trial-sites-mixed-dates.csv", 33, 40),
        ("turf-soil-samples-a.csv", 13062, 26),
        ("turf-soil-samples-b.csv", 3101, 23),
        ("turf-survey-2015.csv", 138, 29),
        ("turf-trial-nitrogen.txt", 128, 6),
        ("lab-units-row.csv", 10, 17),
        ("weather-30yr-means.csv", 13, 10),
        ("weather-monthly-flags.csv", 240, 11),
        ("station-monthly-lowestoft.txt", 1150, 8),
        ("station-monthly-oxford.txt", 2073, 8),
        ("station-monthly-whitby.txt", 769, 8),
    ],
)
def test_every_row_and_column_is_found(outside_data: Path, name: str, rows: int, columns: int) -> None:
    """Row counts of the README, or of the file's lines less its heading and remarks."""
    sheet = read_sheet(outside_data / name)
    assert (sheet.cells.height, len(sheet.headers)) == (rows, columns)
    assert errors(sheet) == ([(1159, "row.short")] if "lowestoft" in name else [])


@outside("open data", "MLSN soil data (CC0)")
def test_bare_carriage_returns(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "turf-soil-samples-a.csv")
    assert sheet.cells["line"].to_list() == list(range(2, 13064))
    assert sheet.cells["c1"][0] == "10/2/91"


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
def test_units_and_comment_rows(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "lab-units-row.csv")
    assert sheet.units is not None
    assert sheet.units[:3] == ("UNITS", "gramsPerCentimeterCubed", "Percent")
    assert sheet.ignored["reason"].to_list() == ["units row", *["comment"] * 4]


@outside("open data", "OATS Center laboratory exports (Apache-2.0)")
def test_repeated_names(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "lab-wide-a.csv")
    assert {"Nitrogen Rec", "Nitrogen Rec (2)", "Nitrogen Rec (3)"} <= set(sheet.headers)


@outside("open data", "Rothamsted Research (CC BY 4.0)")
def test_code_page_1252_and_a_summary_row(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "weather-30yr-means.csv", Reading(totals=("Year (Total or Mean)",)))
    assert sheet.encoding == "cp1252"
    assert sheet.units is not None
    assert sheet.units[:4] == ("", "mm", "hours", "ºC")
    assert sheet.cells["c0"].to_list()[-1] == "December"
    assert sheet.ignored.rows() == [(4, "units row"), (19, "totals")]


@outside("open data", "Met Office station series (OGL v3)")
def test_station_rows_without_sunshine_are_not_pulled_left(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "station-monthly-whitby.txt")
    assert sheet.cells.row(0) == (9, "1961", "9", "18.6", "10.0", "0", "26.9", None, None)
    assert sheet.cells.row(-1)[-2:] == ("174.7*", "Provisional")


@outside("open data", "Met Office station series (OGL v3)")
def test_a_footnote_glued_to_a_number_stays_for_the_parser(outside_data: Path) -> None:
    sheet = read_sheet(outside_data / "station-monthly-lowestoft.txt")
    assert sheet.cells.filter(line=1121)["c6"].to_list() == ["152.0Change"]
