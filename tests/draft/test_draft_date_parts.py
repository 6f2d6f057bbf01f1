"""Year, month and day in columns of their own: the draft joins them, and no day of a month passes for a day number."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipeline.load.files import load_paths
from pipeline.profiles.style import Style
from pipeline.standardise.cells.dates import date_column
from pipeline.standardise.cells.distinct import Cells
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.draft.conftest import Drafted, data_of, decide
from tests.outside_checks import outside

DAYS = "Year,Month,Day,tmax_c,rain_mm\n2020,1,1,9.4,3.2\n2020,1,2,8.1,0\n2020,1,31,7,1.5\n"
VISITS = "{year},{month},{day},green,operation,depth_mm\n2024,3,15,ALD-1,scarifying,3\n2024,11,2,ALD-1,scarifying,3\n"


def dates(workspace: Workspace, kind: str) -> list[date]:
    with Store(workspace.store, read_only=True) as store:
        return [row[0] for row in store.rows(f"SELECT date FROM {kind} ORDER BY date")]


def test_a_station_s_days_are_joined_and_load(drafted: Drafted, workspace: Workspace, tmp_path: Path) -> None:
    """The draft offered Day as a day number; obeyed, January 2020 was stored as January 1900."""
    draft = drafted(DAYS, kind="weather_day")
    data = data_of(draft)
    assert data["fields"]["date"] == {"from": ["Year", "Month", "Day"], "join": "-"}
    assert "values" not in data
    assert {one.header: one.field for one in draft.mapped if one.field == "date"} == dict.fromkeys(
        ("Year", "Month", "Day"), "date"
    )
    assert data["match"]["headers"][:3] == ["Year", "Month", "Day"]
    decide(draft, {r"constants\|station": "Ostershire airfield"})
    result = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0]
    assert (result.profile, result.counts.loaded) == ("export", 3), result.faults
    assert dates(workspace, "weather_day") == [date(2020, 1, 1), date(2020, 1, 2), date(2020, 1, 31)]


@pytest.mark.parametrize(
    ("year", "month", "day"),
    [
        ("Year", "Month", "Day"),
        ("yyyy", "mm", "dd"),
        ("YR", "MO", "DOM"),
        ("sample_year", "sample_month", "sample_day"),
        ("Year of job", "Month of job", "Day of job"),
        ("Year", "Month", "Day of month"),
    ],
)
def test_parts_are_told_by_their_names(drafted: Drafted, year: str, month: str, day: str) -> None:
    data = data_of(drafted(VISITS.format(year=year, month=month, day=day), kind="job"))
    assert data["fields"]["date"] == {"from": [year, month, day], "join": "-"}


def test_parts_in_any_order_and_months_by_name(
    county: Load, drafted: Drafted, workspace: Workspace, tmp_path: Path
) -> None:
    text = "Day,Month,Year,green,operation\n15,Mar,2024,ALD-1,scarifying\n2,November,2024,ALD-1,scarifying\n"
    draft = drafted(text)
    assert data_of(draft)["fields"]["date"] == {"from": ["Year", "Month", "Day"], "join": "-"}
    assert draft.asks == ()
    result = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0]
    assert result.counts.loaded == 2, result.faults
    assert dates(workspace, "job") == [date(2024, 3, 15), date(2024, 11, 2)]


def test_months_of_a_station_are_joined_to_their_first_day(drafted: Drafted) -> None:
    data = data_of(drafted("yyyy,mm,tmax_c,rain_mm\n2024,1,7.2,55\n2024,2,8,41\n", kind="weather_month"))
    assert data["fields"]["date"] == {"from": ["yyyy", "mm"], "join": "-", "end": "-01"}


@pytest.mark.parametrize(
    "text",
    [
        "Date,Year,Month,Day,green,operation\n2024-03-15,2024,3,15,ALD-1,scarifying\n",
        "Year,Month,Day,green,operation\n24,3,15,ALD-1,scarifying\n",
        "Year,Month,green,operation\n2024,3,ALD-1,scarifying\n",
        "Year,sample month,Day,green,operation\n2024,3,15,ALD-1,scarifying\n",
    ],
)
def test_what_is_no_whole_date_is_not_joined(drafted: Drafted, text: str) -> None:
    """A date stands beside them, the century is not told, the day is lacking, or they belong to different things."""
    said = data_of(drafted(text, kind="job"))["fields"]["date"]
    assert said == ("Date" if text.startswith("Date") else "?")


def test_a_day_of_a_month_is_no_day_number(drafted: Drafted) -> None:
    """Day alone is asked about: neither taken for the date nor offered as a spreadsheet's day number."""
    draft = drafted("Day,green,operation\n1,ALD-1,scarifying\n15,ALD-1,scarifying\n31,ALD-1,scarifying\n", kind="job")
    data = data_of(draft)
    assert (data["fields"]["date"], data["columns"]["Day"]) == ("?", "?")
    assert "spreadsheet_dates" not in draft.text


@pytest.mark.parametrize(
    ("cell", "style", "code"),
    [
        ("1", Style(), "date.day_alone"),
        ("31", Style(), "date.day_alone"),
        ("366", Style(), "date.day_alone"),
        ("367", Style(), "date.day_number"),
        ("45000", Style(), "date.day_number"),
        ("1", Style(spreadsheet_dates=1900), "date.day_alone"),
        ("31", Style(spreadsheet_dates=1904), "date.day_alone"),
    ],
)
def test_small_numbers_are_days_without_a_year(cell: str, style: Style, code: str) -> None:
    """Where day numbers are declared too: nobody has kept a green's records since January 1900 in a spreadsheet."""
    found = date_column(Cells(pl.Series([2]), pl.Series([cell]), "Day"), style)
    assert found.values["value"].to_list() == [None]
    assert found.faults.select("line", "code").rows() == [(2, code)]
    if code == "date.day_alone":
        assert 'date = { from = ["Year", "Month", "Day"], join = "-" }' in found.faults["hint"][0]


@outside("open data", "Portal Project station days (CC0)")
def test_an_open_station_file_in_parts(
    drafted: Drafted, workspace: Workspace, outside_data: Path, tmp_path: Path
) -> None:
    """The first of January 1980 is that day, and the draft leaves only units and station to be decided."""
    draft = drafted((outside_data / "station-date-parts.csv").read_bytes())
    assert data_of(draft)["fields"]["date"] == {"from": ["year", "month", "day"], "join": "-"}
    units = {r"units\|temperatures": "°C", r"fields\|rain_mm\|unit": "mm"}
    decide(draft, {**units, r"constants\|station": "Station"})
    result = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0]
    assert not result.failed, result.faults
    rows = (outside_data / "station-date-parts.csv").read_text("utf-8").splitlines()
    first, last = (",".join(rows[i].split(",")[:3]) for i in (1, -1))
    found = dates(workspace, "weather_day")
    assert len(found) == result.counts.loaded
    assert [f"{day.year},{day.month},{day.day}" for day in (found[0], found[-1])] == [first, last]
