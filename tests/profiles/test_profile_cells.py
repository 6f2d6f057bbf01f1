"""What a profile says of cells: parts of one, text put behind, limits, names of files; weather by station."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.profiles.fitting import called_for, fit
from pipeline.profiles.parts import Match
from pipeline.profiles.profile import Profile
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load

SOIL = """
name = "cells"
kind = "soil_test"
[match]
headers = ["Jahr", "Schicht"]
[constants]
green = "ALD-1"
[fields]
date = { from = ["Jahr", "Monat"], join = "-", end = "-15" }
depth_from_mm = { from = "Schicht", split = "-", part = 1, unit = "cm" }
depth_to_mm = { from = "Schicht", split = "-", part = 2, unit = "cm" }
sample = "Nr"
[[long]]
from = "Fe"
limit = 0.5
set = { analyte = "iron", unit = "mg/kg" }
"""
HEAD = "Nr,Jahr,Monat,Schicht,Fe\n"


def _soil(county: Load, workspace: Workspace, rows: str, profile: str = SOIL) -> FileResult:
    (workspace.profiles / "cells.toml").write_text(profile, "utf-8")
    return county("cells.csv", HEAD + rows)


def _stored(workspace: Workspace, sql: str) -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows(sql)


def test_a_date_from_two_columns_and_a_layer_from_one(county: Load, workspace: Workspace) -> None:
    """A year and a month in two columns make a day with what the profile puts behind; both ends of a layer stand in
    one cell."""
    result = _soil(county, workspace, "1,2024,3,0-23,9\n2,2024,11,23 - 46,8\n3,2024,,*,7\n")
    rows = _stored(workspace, "SELECT sample, date, depth_from_mm, depth_to_mm FROM soil_test ORDER BY sample")
    assert rows == [("1", date(2024, 3, 15), 0, 230), ("2", date(2024, 11, 15), 230, 460)]
    faults = result.faults.select("line", "code", "column").rows()
    assert faults == [(4, "value.missing", "Jahr-Monat")]  # no month, no date; a layer that is missing is no fault


def test_a_cell_without_the_part_is_a_fault(county: Load, workspace: Workspace) -> None:
    """``23`` in a column of layers could be either end; neither is guessed."""
    result = _soil(county, workspace, "1,2024,3,23,9\n2,2024,3,0-,9\n")
    errors = result.faults.filter(pl.col("severity") == "error")
    assert errors.select("line", "code", "value").rows() == [(2, "cell.part", "23"), (3, "cell.part", "0-")]
    assert errors["message"][0] == "“23” has no part 2 when it is parted at “-”."
    assert (result.counts.loaded, result.counts.rejected) == (0, 2)


def test_a_result_under_the_limit_says_only_less_than(county: Load, workspace: Workspace) -> None:
    """Under the limit a figure is noise: kept as "less than" it; on the limit it is a result, and "<0.2" stays <0.2."""
    cells = ("0.49", "0.5", "0.51", "-0.01", "<0.2", "ND", "NA")
    _soil(county, workspace, "".join(f"{i},2024,3,0-23,{cell}\n" for i, cell in enumerate(cells)))
    rows = _stored(workspace, "SELECT sample, value, below_limit, written FROM soil_test ORDER BY sample")
    assert [row[:3] for row in rows] == [
        ("0", 0.5, True),
        ("1", 0.5, False),
        ("2", 0.51, False),
        ("3", 0.5, True),
        ("4", 0.2, True),
        ("5", None, True),
    ]
    assert '"value": "0.49"' in str(rows[0][3])


def test_words_declared_for_a_date(county: Load, workspace: Workspace) -> None:
    """Where a source gives only a year, a person may say which day it stands for; another year stays a year."""
    profile = SOIL.replace('date = { from = ["Jahr", "Monat"], join = "-", end = "-15" }', 'date = "Jahr"')
    profile += '[aliases.date]\n"2023" = "2023-10-15"\n'
    _soil(county, workspace, "1,2023,3,0-23,9\n2,2024,3,0-23,9\n", profile)
    assert _stored(workspace, "SELECT date, date_to FROM soil_test ORDER BY ALL") == [
        (date(2023, 10, 15), None),
        (date(2024, 1, 1), date(2024, 12, 31)),
    ]


def test_sources_with_the_same_headers_are_told_apart_by_the_name_of_the_file() -> None:
    """Two stations export the same columns; the station stands only in the name of the file."""

    def profile(name: str, file: str) -> Profile:
        return Profile(name=name, kind="weather_month", match=Match(headers=("mm", "tmax"), file=file))

    one, two, any_file = profile("one", "oxf*"), profile("two", "*whitby.txt"), profile("any", "")
    found = []
    for name in ("OXFORD.txt", "in/whitby.txt", "elsewhere.txt"):
        fits = [(fit(p, ("MM", "tmax"), name), p) for p in (any_file, one, two)]
        found += called_for([(how_well, p) for how_well, p in fits if how_well])
    assert [[p.name for p in taken] for taken in found] == [["one"], [], ["two"], [], ["any"], []]
    assert fit(one, ("mm", "tmax"), "elsewhere.txt") is None
    assert fit(one, ("mm",), "oxford.txt") is None


def test_a_limit_for_a_kind_that_knows_none_is_refused(county: Load, workspace: Workspace) -> None:
    """A limit that has no effect would let figures stand that are none."""
    wrong = SOIL.replace('part = 1, unit = "cm"', 'part = 1, unit = "cm", limit = 1')
    with pytest.raises(CannotDo, match="not for depth_from_mm of soil_test"):
        _soil(county, workspace, "1,2024,3,0-23,9\n", wrong)


DAYS = "date,station,tmax,tmin,rain,wind speed\n,,°C,°C,mm,m/s\n"
DAYS += "2026-03-16,W-1,9.4,2.1,3.2,4\n2026-03-17,W-1,8.1,-0.4,0,3\n"


def test_weather_by_day_needs_no_green(load: Load, workspace: Workspace) -> None:
    """A station's day is loaded with its own headers, corrected, closed by a complete file, and taken back."""
    first = load("days.csv", DAYS)
    assert (first.kind, first.counts.loaded, first.failed) == ("weather_day", 2, False)
    days = "SELECT date, tmin_c, rain_mm FROM weather_day ORDER BY date"
    before = _stored(workspace, days)
    assert before == [(date(2026, 3, 16), 2.1, 3.2), (date(2026, 3, 17), -0.4, 0.0)]
    other = load("other.csv", DAYS.replace("W-1", "W-2"))
    assert other.counts.loaded == 2
    less = load("days.csv", DAYS.rsplit("2026-03-17", 1)[0].replace("3.2", "3.4"), complete=(date(2026, 3, 1), TODAY))
    assert (less.counts.superseded, less.counts.closed, less.counts.loaded) == (1, 1, 0)
    mine = "SELECT date, rain_mm FROM weather_day WHERE station = 'W-1'"
    assert _stored(workspace, mine) == [(date(2026, 3, 16), 3.4)]
    assert _stored(workspace, "SELECT count(*) FROM weather_day WHERE station = 'W-2'") == [(2,)]
    assert less.load_id is not None
    undo(workspace, less.load_id)
    assert _stored(workspace, f"{days.replace('ORDER', 'WHERE station = $$W-1$$ ORDER')}") == before


def test_weather_that_cannot_be_is_refused(load: Load) -> None:
    """A day to come, 32 days of frost, the same day twice with other figures: each is rejected with its reason."""
    late = load("days.csv", DAYS.replace("2026-03-17", "2027-03-17"))
    assert late.faults["code"].to_list() == ["load.day_taken", "date.future"]
    months = "date,station,air frost days\n2026-03-01,W-1,32\n2026-04-01,W-1,3\n2026-05-01,W-1,1\n2026-05-01,W-1,2\n"
    wrong = load("months.csv", months, kind="weather_month")
    assert sorted(wrong.faults.select("line", "code").rows()) == [
        (2, "value.limits"),
        (4, "key.twice"),
        (5, "key.twice"),
    ]
    assert (wrong.counts.loaded, wrong.counts.rejected) == (1, 3)


def test_a_folder_with_weather_loads_with_the_rest(workspace: Workspace) -> None:
    """Weather is loaded after the facts about greens, whatever the files are called."""
    folder = workspace.folder / "in"
    folder.mkdir()
    (folder / "a_days.csv").write_text(DAYS, "utf-8")
    (folder / "z_clubs.csv").write_text("club,name\nALD,Alder Brook\n", "utf-8")
    results = load_paths(workspace, [folder], today=TODAY)
    assert [result.kind for result in results] == ["club", "weather_day"]


@pytest.mark.parametrize("said", ["mm", "(mm month-1)", "mm/month", "[mm per month]"])
def test_a_units_row_of_months_may_say_per_month(load: Load, workspace: Workspace, said: str) -> None:
    """A sum of the month is in mm, and some publish it as mm a month: the same figure."""
    months = f"date,station,rain,mean wind speed\n,,{said},kph\n2026-03-01,W-1,47.1,36\n"
    result = load("months.csv", months, kind="weather_month")
    assert not result.failed, result.faults
    assert _stored(workspace, "SELECT rain_mm, wind_m_s FROM weather_month") == [(47.1, pytest.approx(10.0))]
