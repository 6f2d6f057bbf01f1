"""Notes of a visit: what no record holds is printed where a surveyor noted it, and said to be missing where not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.survey.build import condition_survey, own_file
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.on_the_day import DayWeather, OnTheDay
from pipeline.survey.visit_notes import EXAMPLE, NO_NOTES, VisitNotes, visit_notes
from pipeline.workspace.settings import Workspace
from reports.survey.visit import visit_facts
from tests.survey.conftest import DAY


def facts(of: ConditionSurvey, units: str = "metric") -> dict[str, str]:
    return {one.label: one.value.replace("\u202f", " ") for one in visit_facts(of, units)}  # type: ignore[arg-type]


def test_what_nobody_noted_is_said_to_be_missing(found: ConditionSurvey) -> None:
    told = facts(found)
    assert told["Levelled with"] == "rotating laser"
    assert told["Standard error of a height"] == "1.5 mm"
    for label in ("Surveyor", "Conditions", "Weather at the station", "Heights from", "Closing error"):
        assert told[label] == "not recorded", label


def test_what_was_noted_is_printed(found: ConditionSurvey, tmp_path: Path) -> None:
    path = tmp_path / "notes.toml"
    path.write_text(EXAMPLE, "utf-8")
    weather = DayWeather("Ostershire airfield", 9.1, 19.2, 0.0, 10.6, 6)
    told = facts(replace(found, circumstances=OnTheDay(visit_notes(path), weather=weather)))
    assert told["Surveyor"] == "Ann Example, Example Consulting"
    assert told["Closing error"] == "1.5 mm"
    assert told["Measured by"].endswith("moisture probe, checked in water that morning")
    said = "9–19 °C, no rain, 10.6 mm of rain in the 7 days before (6 of them on record) (Ostershire airfield)"
    assert told["Weather at the station"] == said
    us = facts(replace(found, circumstances=OnTheDay(visit_notes(path), weather=weather)), "US")
    assert us["Closing error"] == "0.059 in"
    assert us["Weather at the station"].startswith("48–67 °F, no rain, 0.417 in of rain")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("surveyer = 'A'", "surveyer: there is no such key; closest: surveyor"),
        ("closing_error_mm = -1", "closing_error_mm"),
        ("y_bearing_deg = 360", "y_bearing_deg"),
        ("closing_error_mm = 'little'", "closing_error_mm"),
        ("surveyor =", "not readable TOML"),
    ],
)
def test_notes_that_do_not_fit_are_refused_by_file_and_key(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "ALD-1-2026-09-16.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(CannotDo, match=r"ALD-1-2026-09-16\.toml") as refused:
        visit_notes(path)
    assert said in str(refused.value)


def test_no_file_is_no_notes(tmp_path: Path) -> None:
    assert visit_notes(tmp_path / "none.toml") == NO_NOTES == VisitNotes()


def test_notes_of_no_visit_are_refused(seen: Workspace) -> None:
    """A misspelt name would leave the notes out in silence."""
    stray = own_file(seen, "ALD-1", DAY, ".toml").with_name("ALD-1-2026-09-61.toml")
    stray.parent.mkdir(exist_ok=True)
    stray.write_text("", "utf-8")
    try:
        with pytest.raises(CannotDo, match=r"belongs to no visit; closest: ALD-1-2026-09-16"):
            condition_survey(seen, "ALD-1", DAY)
    finally:
        stray.unlink()
        stray.parent.rmdir()
