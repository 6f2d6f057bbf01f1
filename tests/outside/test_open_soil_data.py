"""Open soil data as other people made it: every row accounted for, damaged codes flagged, a report comes out.

Sources: 2016 MLSN paper data and 2015 Global Soil Survey (Woods, Stowell, Gelernter), CC0.
"""

from __future__ import annotations

import csv
import io
import re
import shutil
from pathlib import Path

import polars as pl
import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.publish.documents import season_of_green, write_reports
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY
from tests.outside_checks import outside
from tests.thorough import thorough

RESULTS_A = 12
"""Result columns that each profile maps, so records a row."""


def _rows(path: Path) -> list[dict[str, str]]:
    text = path.read_text("utf-8")  # universal newlines: a bare CR ends a line
    return list(csv.DictReader(io.StringIO(text)))


def _load(workspace: Workspace, folder: Path, name: str, greens: dict[str, str]) -> FileResult:
    for profile in (Path(__file__).parent / "profiles").glob("*.toml"):
        shutil.copy(profile, workspace.profiles)
    (workspace.folder / "clubs.csv").write_text("club,name,region\nOPEN,Open soil data,None\n", "utf-8")
    lines = "".join(f"{green},OPEN,{label}\n" for green, label in greens.items())
    (workspace.folder / "greens.csv").write_text(f"green,club,name\n{lines}", "utf-8")
    registers = load_paths(workspace, [workspace.folder / "clubs.csv", workspace.folder / "greens.csv"], today=TODAY)
    assert not any(result.failed for result in registers)
    return load_paths(workspace, [folder / name], today=TODAY)[0]


@outside("open data", "MLSN soil data (CC0)")
def test_13_062_samples_with_bare_cr_ends(workspace: Workspace, outside_data: Path) -> None:
    places = {"A-greens": "Greens", "A-fairways": "Fairways", "A-tees": "Tees", "A-practice": "Practice"}
    result = _load(workspace, outside_data, "turf-soil-samples-a.csv", places)
    rows = _rows(outside_data / "turf-soil-samples-a.csv")
    assert len(rows) == 13_062
    assert result.counts.rows == 13_062 * RESULTS_A
    # The lab numbers that a spreadsheet made dates of, found here another way: day-month or month/day/year.
    dates = re.compile(r"^(\d{1,2}-[A-Z][a-z]{2}|\d{1,2}/\d{1,2}/\d{2,4}|[A-Z][a-z]{2}-\d{1,2})$")
    damaged = {i + 2 for i, row in enumerate(rows) if dates.match(row["LabNo"])}
    sound = [row for i, row in enumerate(rows) if i + 2 not in damaged]
    assert len(damaged) > 400
    mapped = ["pH", "OM360", "TECM3", "PM3", "KM3", "CaM3", "MgM3", "NaM3", "SM3", "FeM3", "MnM3", "PO"]
    missing = sum(row[name] == "NA" for row in sound for name in mapped)
    assert result.counts.ignored == missing  # a missing result is no record, and is counted
    assert result.counts.rejected == len(damaged) * RESULTS_A  # under such a number two samples could become one
    assert result.counts.loaded == len(sound) * RESULTS_A - missing
    assert result.kind == "soil_test"

    flagged = result.faults.filter(pl.col("code") == "code.date")
    assert set(flagged["line"]) == damaged
    with Store(workspace.store, read_only=True) as store:
        kept = store.rows("SELECT count(*) FROM soil_test WHERE line = ?", [min(damaged)])
        labs = store.rows("SELECT DISTINCT lab FROM soil_test")
        median = store.rows("SELECT median(value) FROM soil_test WHERE analyte = 'potassium'")[0][0]
    assert kept == [(0,)]
    assert labs == [("Brookside",)]  # three spellings, made one by declared aliases
    potassium = sorted(float(row["KM3"]) for row in sound if row["KM3"] != "NA")
    middle = len(potassium) // 2
    assert median == pytest.approx((potassium[middle] + potassium[(len(potassium) - 1) // 2]) / 2)

    again = load_paths(workspace, [outside_data / "turf-soil-samples-a.csv"], today=TODAY)[0]
    assert again.counts.changed == 0
    assert again.counts.unchanged == result.counts.loaded


@outside("open data", "2015 Global Soil Survey (CC0)")
@thorough
def test_the_world_survey_makes_a_report_of_a_place_named_by_its_own_codes(
    workspace: Workspace, outside_data: Path
) -> None:
    rows = _rows(outside_data / "turf-survey-2015.csv")
    places = {"-".join((row["Doc"], row["Area"], row["AreaNum"])): row["Doc"] for row in rows}
    result = _load(workspace, outside_data, "turf-survey-2015.csv", places)
    assert (result.profile, result.counts.rejected) == ("turf-survey-2015", 0)
    assert result.counts.rows == len(rows) * RESULTS_A
    first = rows[0]
    green = "-".join((first["Doc"], first["Area"], first["AreaNum"]))
    with Store(workspace.store, read_only=True) as store:
        day = store.rows("SELECT DISTINCT date FROM soil_test WHERE green = ?", [green])[0][0]
    season = season_of_green(workspace, green, workspace.season_of(day).name)
    organic = next(one for one in season.indicators if one.name == "organic_matter_pct")
    assert organic.value == pytest.approx(float(first["OM360"]))
    potassium = next(one for one in season.indicators if one.name == "potassium_mg_kg")
    assert (potassium.value, potassium.band) == (float(first["KM3"]), "Mehlich 3")
    (written,) = write_reports(workspace, greens=[green], season=season.season, workers=1)
    assert written.fault == ""
    assert written.path.read_bytes().startswith(b"%PDF")
