"""The sheet of a workbook that a draft is made from."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from pipeline.cli.app import app
from pipeline.common.refusal import WrongUsage
from pipeline.draft import draft_profile
from pipeline.load.files import load_paths
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import TODAY, Load


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A cover sheet first, the log second."""
    made = openpyxl.Workbook()
    cover = made.active
    assert cover is not None
    cover.title = "Read me"
    for row in (["Station", "Date", "Rain mm"], ["Ostershire airfield", "2026-01-01", "2"]):
        cover.append(row)
    log = made.create_sheet("Log 2026")
    for row in (["Date", "Green", "Operation"], ["3 April 2026", "ALD-1", "mowing"], ["4 April 2026", "ALD-1", "cut"]):
        log.append(row)
    path = tmp_path / "crew.xlsx"
    made.save(path)
    return path


def test_the_sheet_that_is_named_is_drafted_and_loaded(county: Load, workspace: Workspace, book: Path) -> None:
    words = ["profile", str(book), "--sheet", "Log 2026", "--workspace", str(workspace.folder), "--quiet"]
    assert app(words, standalone_mode=False) == 0
    text = (workspace.profiles / "crew.toml").read_text("utf-8")
    assert 'kind = "job"' in text
    assert '[reading]\nsheet = "Log 2026"' in text
    result = load_paths(workspace, [book], today=TODAY)[0]
    assert (result.profile, result.counts.loaded) == ("crew", 2), result.faults


def test_of_several_sheets_one_must_be_named(workspace: Workspace, book: Path) -> None:
    """A draft of whichever comes first would be a guess."""
    draft = draft_profile(workspace, book)
    assert draft.path is None
    (fault,) = draft.faults.iter_rows(named=True)
    assert fault["message"] == 'The workbook has more than one sheet with cells: "Read me", "Log 2026".'
    assert fault["hint"] == 'Say which one: swardtally profile crew.xlsx --sheet "Read me"'


def test_a_sheet_that_nobody_needs_is_not_asked_about(county: Load, workspace: Workspace, book: Path) -> None:
    """Loading passed over what ignore_sheets names, and the draft asked which sheet all the same."""
    (workspace.folder / "settings.toml").write_text('ignore_sheets = ["Read*"]\n', "utf-8")
    here = open_workspace(workspace.folder)
    draft = draft_profile(here, book)
    assert draft.path is not None, draft.faults
    assert "sheet =" not in draft.text
    result = load_paths(here, [book], today=TODAY)[0]
    assert (result.profile, result.counts.loaded) == ("crew", 2), result.faults
    named = draft_profile(here, book, name="cover", sheet="Read me")
    assert (named.kind, named.path is not None) == ("weather_day", True)


def test_a_sheet_that_is_not_there_is_a_fault_with_those_that_are(workspace: Workspace, book: Path) -> None:
    draft = draft_profile(workspace, book, sheet="Log 2025")
    assert draft.path is None
    (fault,) = draft.faults.iter_rows(named=True)
    assert fault["message"] == 'The workbook has no sheet "Log 2025"; it has "Read me", "Log 2026".'
    assert fault["hint"] == 'Say which one: swardtally profile crew.xlsx --sheet "Read me"'


def test_a_text_has_no_sheets(workspace: Workspace, tmp_path: Path) -> None:
    path = tmp_path / "crew.csv"
    path.write_text("Date,Green,Operation\n2026-04-03,ALD-1,mowing\n", "utf-8")
    with pytest.raises(WrongUsage, match="is no workbook: it has no sheet “Log”"):
        draft_profile(workspace, path, sheet="Log")
    assert not list(workspace.profiles.iterdir())
