"""A profile's constant mended after a load: what a longer export brings again under it is told."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from pipeline.load.result import FileResult
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import TODAY
from tests.laid import laid

PROFILE = """name = "hand drops"
kind = "observation"
[match]
headers = ["Drop", "Reading"]
[constants]
green = "ALD-1"
date = "{date}"
observed = "hardness"
unit = "gravities"
hammer_kg = {hammer}
[fields]
place = "Drop"
value = "Reading"
"""
SHORT = "Drop,Reading\n1,84\n2,79\n3,88\n4,91\n"
LONGER = SHORT + "5,86\n6,80\n"


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    """A workspace with one green and no profile yet."""
    (tmp_path / "settings.toml").write_text("", "utf-8")
    here = open_workspace(tmp_path)
    here.profiles.mkdir(exist_ok=True)
    load(here, "clubs.csv", "club,name\nALD,Alder Brook\n")
    load(here, "greens.csv", "green,club,name\nALD-1,ALD,Main\n")
    return here


def load(here: Workspace, name: str, text: str, *, on: str = "", hammer: float = 0.5) -> FileResult:
    """What a file came to, read by the profile with these constants."""
    if on:
        (here.profiles / "drops.toml").write_text(PROFILE.format(date=on, hammer=hammer), "utf-8")
    path = here.folder / name
    path.write_text(text, "utf-8")
    result = laid(here, path, today=TODAY)
    assert not result.failed, result.faults.select("code", "message").rows()
    return result


def told(result: FileResult) -> list[str]:
    """Whole messages, hint behind, of the warnings that a constant has changed."""
    rows = result.faults.filter(result.faults["code"] == "load.constant_changed")
    return [f"{message} {hint}" for message, hint in rows.select("message", "hint").rows()]


def test_a_mended_constant_and_a_longer_export_name_the_load_to_undo(workspace: Workspace) -> None:
    """The date was a slip of the month: four drops stand on both days, until the first load is taken back."""
    first = load(workspace, "drops_june.csv", SHORT, on="2026-06-05")
    longer = load(workspace, "drops_july.csv", LONGER, on="2026-06-15")
    assert longer.counts.loaded == 6
    assert told(longer) == [
        f"Of the 4 records in force from drops_june.csv (load {first.load_id}) 4 stand here too and differ in "
        "nothing but date, which profile hand drops says of every row: both count. If the profile was mended since, "
        f"take back what was read before (undo {first.load_id}); this file stays loaded. If both are true "
        "(two visits found the same), nothing need be done."
    ]
    undo(workspace, first.load_id or 0)
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT date, count(*) FROM observation GROUP BY ALL") == [(date(2026, 6, 15), 6)]


def test_another_visit_that_shares_a_reading_is_none(workspace: Workspace) -> None:
    """One drop in four reads the same on another day: no sign of a mended profile."""
    load(workspace, "drops_june.csv", SHORT, on="2026-06-05")
    second = load(workspace, "drops_july.csv", "Drop,Reading\n1,84\n2,90\n3,70\n4,66\n", on="2026-07-05")
    assert second.counts.loaded == 4
    assert told(second) == []


def test_a_longer_export_under_the_same_constants_is_none(workspace: Workspace) -> None:
    """Nothing changed but the two drops that are new."""
    load(workspace, "drops_june.csv", SHORT, on="2026-06-05")
    longer = load(workspace, "drops_july.csv", LONGER, on="2026-06-05")
    assert (longer.counts.loaded, longer.counts.unchanged) == (2, 4)
    assert told(longer) == []


def test_a_mended_hammer_is_named_as_what_differs(workspace: Workspace) -> None:
    """Readings of two hammers are never one record: the field that the profile was mended in is named."""
    load(workspace, "drops_june.csv", SHORT, on="2026-06-05")
    longer = load(workspace, "drops_july.csv", LONGER, on="2026-06-05", hammer=2.25)
    (message,) = told(longer)
    assert "differ in nothing but hammer_kg, which profile hand drops says of every row" in message
