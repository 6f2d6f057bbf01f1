"""Reference evaporation from file to figure, against what another program made of the same days.

Source: pyfao56, tests (CC0, US Government work): 6,575 days of a station at 33.069° N, 361 m above sea level, with the
short-grass reference evaporation of each day.
"""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest

from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.weather import evaporation
from pipeline.indicators.weather.weather import computed
from pipeline.load.files import load_paths
from pipeline.publish.documents import season_of_green
from pipeline.store.store import Store
from tests.conftest import TODAY
from tests.outside.conftest import OpenData
from tests.outside_checks import outside

FILE = "et0-reference-station.csv"
HEAD = "green,club,name,area_m2,latitude_deg,elevation_m,station\n"
REFERENCE, AT_THE_SEA = (
    "REF,OPEN,Reference,1369,33.069,361,reference station\n",
    "SEA,OPEN,Sea,1369,33.069,,reference station\n",
)


def dated(source: Path, to: Path) -> dict[date, float]:
    """Write the file with a date for its year and day of year; the other program's evaporation of each day, mm."""
    with source.open(encoding="utf-8-sig", newline="") as lines:
        head, *rows = csv.reader(lines)
    assert head[:2] == ["Year", "DOY"]
    days = [date(int(year), 1, 1) + timedelta(days=int(day) - 1) for year, day, *_ in rows]
    made = [["Date", *head[2:]], *([day.isoformat(), *row[2:]] for day, row in zip(days, rows, strict=True))]
    to.write_text("".join(",".join(row) + "\n" for row in made), "utf-8")
    return {day: float(row[head.index("ETref")]) for day, row in zip(days, rows, strict=True)}


@pytest.fixture
def reference(open_data: OpenData, tmp_path: Path) -> dict[date, float]:
    """Evaporation by the other program, and the station's days in the workspace, every one of them."""
    theirs = dated(open_data.folder / FILE, tmp_path / FILE)
    open_data.register(["REF", "SEA"])
    (tmp_path / "greens.csv").write_text(HEAD + REFERENCE + AT_THE_SEA, "utf-8")
    green, days = load_paths(open_data.workspace, [tmp_path / "greens.csv", tmp_path / FILE], today=TODAY)
    assert not green.failed, green.faults
    assert not days.failed, days.faults
    assert (days.kind, days.profile) == ("weather_day", "et0-reference-station")
    assert days.counts.loaded == len(theirs) == 6575
    return theirs


def differences(open_data: OpenData, theirs: dict[date, float], green: str = "REF") -> pl.Series:
    """Ours less theirs, mm, of every day in the store, by the function the figure itself is summed from."""
    with Store(open_data.workspace.store, read_only=True) as store:
        records = green_records(read_records(store), green, open_data.workspace.season("2021"), open_data.workspace)
    alone = Asked.about([records])
    days = computed(alone, alone.weather)
    assert days["evaporation_by"].to_list() == [evaporation.PENMAN] * len(theirs)
    return days["evaporation_mm"] - pl.Series([theirs[day] for day in days["date"]])


@outside("open data", "pyfao56 tests: evaporation of 6,575 days (CC0)")
def test_every_day_from_the_file_to_the_figure(open_data: OpenData, reference: dict[date, float]) -> None:
    """At the height of the register: 0.0006 mm apart in the mean, within 0.1 mm on 99.5 % of the days, as by hand."""
    apart = differences(open_data, reference)
    assert len(apart) == 6575
    assert abs(float(apart.mean())) < 0.0006  # type: ignore[arg-type]
    assert (apart.abs() < 0.1).sum() >= 0.994 * len(apart)
    assert float(apart.abs().max()) < 0.4  # type: ignore[arg-type]


@outside("open data", "pyfao56 tests: evaporation of 6,575 days (CC0)")
def test_what_taking_the_station_to_lie_at_sea_level_costs(open_data: OpenData, reference: dict[date, float]) -> None:
    """A register without the height: at 361 m that is 0.02 mm a day, and within 0.1 mm on 97.7 % of the days."""
    apart = differences(open_data, reference, "SEA")
    assert float(apart.mean()) == pytest.approx(0.020, abs=0.0005)
    assert (apart.abs() < 0.1).sum() >= 0.975 * len(apart)


@outside("open data", "pyfao56 tests: evaporation of 6,575 days (CC0)")
def test_the_figure_of_a_season_is_the_sum_of_its_days(open_data: OpenData, reference: dict[date, float]) -> None:
    """`show` and the report print this sum: within 1 % of the other program's, every day of the season in it."""
    for year in (2004, 2010, 2017):
        season = open_data.workspace.season(str(year))
        theirs = [mm for day, mm in reference.items() if season.start <= day <= season.end]
        found = season_of_green(open_data.workspace, "REF", str(year))
        one = next(one for one in found.indicators if one.name == "evaporation_mm")
        assert one.n == len(theirs) in {365, 366}
        assert one.value == pytest.approx(sum(theirs), rel=0.01)
        assert "Hargreaves" not in one.method
