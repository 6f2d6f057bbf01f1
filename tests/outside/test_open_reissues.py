"""Results issued twice: what the second issue adds, changes and takes back is told, and no more than that.

Sources: Rothamsted Research, Woburn long-term liming experiment (CC BY 4.0), doi 10.23637/wcs10, in its two issues;
2015 Global Soil Survey (CC0), cut into two issues here.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import pytest

from pipeline.cli import app as cli
from pipeline.store.store import Store
from tests.outside.conftest import OpenData
from tests.outside_checks import outside
from tests.thorough import thorough

Row = Mapping[str, str]
Cells = dict[tuple[str, ...], tuple[str, str]]
"""Result as the file names it → its value, and the note of its row."""

TRIAL = ("soil_pH", "olsen_p", "exch_ca", "exch_k", "exch_mg", "exch_na", "exch_mn")
TRIAL_KEY = ("plot", "sub-plot", "sample_date", "soil_depth")
SURVEY = ("pH", "OM360", "TECM3", "PM3", "KM3", "CaM3", "MgM3", "NaM3", "SM3", "FeM3", "MnM3", "PO")
MISSING = {"*", "NA", ""}


def cells(rows: Iterable[Row], key: Sequence[str], results: Sequence[str], note: str) -> Cells:
    """Every result that has a value, by the standard library alone."""
    found: Cells = {}
    for row in rows:
        for name in results:
            if row[name] not in MISSING:
                place = (*(row[one] for one in key), name)
                assert place not in found, place
                found[place] = (row[name], row[note])
    return found


def compared(first: Cells, second: Cells) -> tuple[int, int, int, int]:
    """How many results the second issue adds, changes, takes back and says again."""
    both = first.keys() & second.keys()
    changed = sum(first[place] != second[place] for place in both)
    return len(second.keys() - first.keys()), changed, len(first.keys() - second.keys()), len(both) - changed


def load(data: OpenData, path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """The last sentence of ``swardtally load``."""
    cli.app(["load", str(path), "-w", str(data.workspace.folder)], standalone_mode=False)
    return capsys.readouterr().err.splitlines()[-1]


def counts(data: OpenData) -> tuple[int, ...]:
    """New, superseded, withdrawn, closed and unchanged records of the last load."""
    sql = "SELECT loaded, superseded, withdrawn, closed, unchanged FROM meta.load ORDER BY load_id DESC LIMIT 1"
    with Store(data.workspace.store, read_only=True) as store:
        return store.rows(sql)[0]


@outside("open data", "Rothamsted Research (CC BY 4.0), doi 10.23637/wcs10")
def test_the_two_issues_of_the_liming_trial(open_data: OpenData, capsys: pytest.CaptureFixture[str]) -> None:
    """The second issue takes 33 values of phosphorus back, writes new notes beside some, and adds none."""
    rows = [open_data.rows(f"liming-trial-soil-issue{number}.csv") for number in (1, 2)]
    dated = [[row for row in some if row["sample_date"] != "*"] for some in rows]
    first, second = (cells(some, TRIAL_KEY, TRIAL, "note_id") for some in dated)
    added, changed, withdrawn, same = compared(first, second)
    assert (added, withdrawn) == (0, 33)
    open_data.register(str(plot) for plot in range(1, 65))
    undated = sum(row["sample_date"] == "*" for row in rows[0]) * len(TRIAL)
    mend = f"{undated} rows rejected: mend them in the file named above and load that."
    folder = open_data.folder
    assert load(open_data, folder / "liming-trial-soil-issue1.csv", capsys) == (
        f"{len(first):,} records new or changed. {mend}"
    )
    assert load(open_data, folder / "liming-trial-soil-issue2.csv", capsys) == (
        f"{changed + withdrawn} records new or changed. {mend}"
    )
    assert counts(open_data) == (added, changed, withdrawn, 0, same)
    in_force = open_data.stored("SELECT count(*) FROM soil_test")
    assert in_force == [(len(second),)]


def written(path: Path, rows: Sequence[Row]) -> Path:
    """The rows as a file."""
    with path.open("w", newline="", encoding="utf-8") as out:
        table = csv.DictWriter(out, list(rows[0]), lineterminator="\r\n")
        table.writeheader()
        table.writerows(rows)
    return path


@outside("open data", "2015 Global Soil Survey (CC0)")
@thorough
def test_a_survey_cut_into_two_issues(open_data: OpenData, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A hundred samples, then all 138: of the first, five results are mended, seven taken back, and three samples left
    out. What is left out stays in force, for nobody declared the second issue complete."""
    rows = open_data.rows("turf-survey-2015.csv")
    open_data.register("-".join((row["Doc"], row["Area"], row["AreaNum"])) for row in rows)
    mended = {number: {"OM360": f"{float(rows[number]['OM360']) + 0.5:.2f}"} for number in (3, 11, 29, 57, 80)}
    taken_back = {number: {"KM3": "NA"} for number in (0, 20, 40, 60, 70, 90, 98)}
    later = [row | mended.get(at, {}) | taken_back.get(at, {}) for at, row in enumerate(rows) if at not in (5, 50, 95)]
    key = ("ID", "LabNo")
    first, second = cells(rows[:100], key, SURVEY, "Notes"), cells(later, key, SURVEY, "Notes")
    lacking = {place for place in first if place[0] in {rows[at]["ID"] for at in (5, 50, 95)}}
    added, changed, gone, same = compared(first, second)
    withdrawn = gone - len(lacking)
    assert (changed, withdrawn) == (5, 7)
    assert added == sum(row[name] not in MISSING for row in rows[100:] for name in SURVEY)

    one, two = written(tmp_path / "survey_issue1.csv", rows[:100]), written(tmp_path / "survey_issue2.csv", later)
    assert load(open_data, one, capsys) == f"{len(first):,} records new or changed."
    assert load(open_data, two, capsys) == f"{added + changed + withdrawn} records new or changed."
    assert counts(open_data) == (added, changed, withdrawn, 0, same)
    assert load(open_data, two, capsys) == (
        "Nothing in the store changed: every record was there already, and the other rows were left out."
    )
    assert open_data.stored("SELECT count(*) FROM soil_test") == [(len(second) + len(lacking),)]
    potassium = "SELECT count(*) FROM history.soil_test WHERE ended_as = 'withdrawn' AND analyte = 'potassium'"
    assert open_data.stored(potassium) == [(7,)]
    organic = "SELECT count(*) FROM history.soil_test WHERE ended_as = 'superseded' AND analyte = 'organic_matter'"
    assert open_data.stored(organic) == [(5,)]
