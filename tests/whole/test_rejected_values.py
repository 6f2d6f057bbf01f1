"""A value of a wide sheet that was rejected: told as the value it is, until another file brings it."""

from __future__ import annotations

from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.whole.test_at_least import notes, season

PROFILE = """
name = "wide"
kind = "soil_test"
[match]
headers = ["Sampled", "Green", "pH", "K"]
[constants]
lab = "Tarnfold Laboratory"
[fields]
date = "Sampled"
green = "Green"
[[long]]
from = "pH"
into = "value"
set = { analyte = "ph", depth_from_mm = 0, depth_to_mm = 100, unit = "pH" }
[[long]]
from = "K"
into = "value"
set = { analyte = "potassium", depth_from_mm = 0, depth_to_mm = 100, unit = "mg/kg", extractant = "mehlich_3" }
"""
SHEET = "Sampled,Green,pH,K\n2026-02-15,ALD-1,64.0,70\n"
SAID = "Line 2 of lab.csv: a value (pH) is not in these figures. pH of 64.0 pH cannot be"


def told(workspace: Workspace, name: str = "2026") -> list[str]:
    """The notes of a season that speak of the sheet."""
    return [text for text in notes(season(workspace, name)) if "lab.csv" in text]


def test_a_value_of_a_line_is_not_the_line(workspace: Workspace, county: Load) -> None:
    """The note said that the row was in no figure: its potassium was. The season after says nothing."""
    (workspace.profiles / "wide.toml").write_text(PROFILE)
    assert county("lab.csv", SHEET).counts.loaded == 1
    (text,) = told(workspace)
    assert text.startswith(SAID)
    county("jobs.csv", "date,green,operation\n2026-10-05,ALD-1,mowing\n")
    assert told(workspace, "2027") == []


def test_a_value_that_a_reissue_brings_is_not_missing(workspace: Workspace, county: Load) -> None:
    """The laboratory's second sheet had the figure; the note went on saying that it was in none."""
    (workspace.profiles / "wide.toml").write_text(PROFILE)
    county("lab.csv", SHEET)
    county("lab_reissue.csv", SHEET.replace("64.0", ""))
    assert len(told(workspace)) == 1, "a blank brings nothing"
    county("lab_reissue.csv", SHEET.replace("64.0", "6.4"))
    assert told(workspace) == []


def test_a_value_that_was_there_before_is_missing_all_the_same(workspace: Workspace, county: Load) -> None:
    """The later sheet would correct the earlier one: what it says is not in the figures."""
    (workspace.profiles / "wide.toml").write_text(PROFILE)
    county("first.csv", SHEET.replace("64.0", "6.4"))
    county("lab.csv", SHEET)
    assert len(told(workspace)) == 1


def test_a_line_whose_day_cannot_be_read_is_told_of_its_green(workspace: Workspace, county: Load) -> None:
    """All its values are of one green; no report of it said that they were missing."""
    (workspace.profiles / "wide.toml").write_text(PROFILE)
    county("lab.csv", SHEET.replace("64.0", "6.4").replace("2026-02-15", "2026-02-30") + "2026-03-15,ALD-1,6.2,71\n")
    (text,) = told(workspace)
    assert text.startswith("Line 2 of lab.csv: the row is not in these figures. There is no such day")
