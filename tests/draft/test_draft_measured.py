"""Drafts held against what files are: over the open data, and over sheets written for this."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.workspace.settings import Workspace
from tests.draft import measure
from tests.draft.measure import Measured, Proposal, Summary
from tests.outside_checks import outside
from tests.thorough import thorough

MOST_MARKS, TOLD = 4, 0.8
SHEETS = Path(__file__).parent / "sheets"


def held(summary: Summary) -> None:
    assert summary.marks <= MOST_MARKS
    assert summary.told >= TOLD
    assert summary.wrong == []
    assert all(one.told for one in summary.files if one.right_kind == "")


@outside("open data", "25 files of soil, turf and weather (sources in the folder's README)")
@thorough
def test_drafts_of_the_open_data(outside_data: Path) -> None:
    """The median draft had 15 marks over these files, and one of them took layers of some rows for all."""
    summary = measure.over(outside_data)
    assert len(summary.sane) >= 20
    assert [one.file for one in summary.files if one.right_kind is None] == []
    held(summary)


def test_drafts_of_sheets_as_they_are_sent() -> None:
    """Crews, laboratories, surveyors and a county secretary in the invented county."""
    summary = measure.over(SHEETS, SHEETS / "truth.toml")
    assert [one.file for one in summary.files if one.right_kind is None] == []
    held(summary)
    assert {one.file: one.kind for one in summary.sane} == {one.file: one.right_kind for one in summary.sane}


def test_a_wrong_proposal_is_seen_and_said(workspace: Workspace, tmp_path: Path) -> None:
    """A table of truth that says otherwise makes the same draft wrong; what is silenced wrongly is wrong too."""
    (tmp_path / "lab.csv").write_text("Date,Green,K mg/kg,Colour\n2026-02-10,ALD-1,80,grey\n", "utf-8")
    truth = tmp_path / "truth.toml"
    truth.write_text(
        '["lab.csv"]\nkind = "soil_test"\n["lab.csv".is]\n'
        'Date = "date"\nGreen = "green"\n"K mg/kg" = "potassium, %"\nColour = "note"\n',
        "utf-8",
    )
    summary = measure.over(tmp_path, truth)
    assert summary.wrong == [
        ("lab.csv", Proposal("K mg/kg", ("potassium", "mg/kg"))),
        ("lab.csv", Proposal("Colour", ("ignore",))),
    ]
    said = list(measure.lines(summary))
    assert "WRONG in lab.csv: “K mg/kg” is said to be potassium, mg/kg" in said
    assert said[-1] == "Proposed without a mark: 3; wrong: 2."


@pytest.mark.parametrize(("kind", "right", "told"), [("job", "job", True), ("?", "", True), ("job", "", False)])
def test_no_kind_is_right_for_what_is_no_record(kind: str, right: str, told: bool) -> None:
    assert Measured("x.csv", right, kind, 0, 0).told is told
