"""A column a month: each is proposed with what its header says of the date, and two figures of one month are told."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.draft.conftest import Drafted, data_of, decide

RAIN = "Rainfall in mm at the airfield\nYear,Jan,Feb,Mar,Apr,Annual\n2024,61.2,40,50,30,181.2\n2025,70,41,,31,142\n"


def months(data: dict) -> list[tuple[str, object]]:  # type: ignore[type-arg]
    return [(entry["from"], entry["says"]["Month"]) for entry in data["long"]]


def test_months_across_are_proposed_and_load(
    drafted: Drafted, county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """The columns were left unused, and the draft asked for a column of days."""
    draft = drafted(RAIN)
    data = data_of(draft)
    assert draft.kind == "weather_month"
    assert data["fields"]["date"] == {"from": ["Year", "Month"], "join": "-"}
    assert months(data) == [("Jan", "01"), ("Feb", "02"), ("Mar", "03"), ("Apr", "04")]
    assert {(entry["into"], entry["unit"]) for entry in data["long"]} == {("rain_mm", "mm")}
    assert [ask.key for ask in draft.asks] == ["constants.station"]
    decide(draft, {r"constants\|station": "Ostershire airfield"})
    result = load_paths(workspace, [tmp_path / "export.csv"], today=TODAY)[0]
    assert (result.profile, result.counts.loaded) == ("export", 8), result.faults
    with Store(workspace.store, read_only=True) as store:
        first = store.rows("SELECT date, rain_mm FROM weather_month ORDER BY date LIMIT 2")
    assert first == [(date(2024, 1, 1), 61.2), (date(2024, 2, 1), 40.0)]


@pytest.mark.parametrize(
    ("headers", "said"),
    [
        ("2021-01,2021-02,2021-03", ["2021-01", "2021-02", "2021-03"]),
        ("Jan 2021,Feb 2021,Sept 2021", ["2021-01", "2021-02", "2021-09"]),
        ("January 2021,2021 february,Mar-2021", ["2021-01", "2021-02", "2021-03"]),
    ],
)
def test_a_header_may_say_the_year_as_well(drafted: Drafted, headers: str, said: list[str]) -> None:
    data = data_of(drafted(f"Station,{headers}\nAirfield,61.2,40,50\nHill,60,41,51\n"))
    assert data["fields"]["date"] == {"from": "Month"}
    assert [month for _, month in months(data)] == said


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "Station,Year,Jan rain,Jan tmax,Feb rain,Feb tmax,Mar rain,Mar tmax\nAirfield,2025,61,4,50,3,4,5\n",
            "“rain” and “tmax” stand in columns of months: a month of a station is one record, and a profile fills one "
            "field of it from such columns: bring the sheet into a row a month, with a column for each",
        ),
        (
            "Station,Year,Measure,Jan,Feb,Mar\nAirfield,2025,rain,61,4,50\nAirfield,2025,tmax,6,4,5\n",
            "several rows are of one year and station, which would be two records of each month: bring the sheet into "
            "a row a month, with a column for each",
        ),
    ],
)
def test_two_figures_of_one_month_are_told(drafted: Drafted, text: str, why: str) -> None:
    draft = drafted(text)
    assert {entry["into"] for entry in data_of(draft)["long"]} == {"?"}
    assert [ask.why for ask in draft.asks if ask.key == "long.into"] == [why]


@pytest.mark.parametrize(
    "text",
    [
        "Station,Year,Jan,Feb\nAirfield,2025,61,4\n",  # two months are too few
        "Station,Jan,Feb,Mar\nAirfield,61,4,5\n",  # of no year
        "date,green,operation,Mar\n2025-03-01,ALD-1,mowing,5\n",
    ],
)
def test_what_is_no_sheet_of_months_is_left(drafted: Drafted, text: str) -> None:
    assert "long" not in data_of(drafted(text))
