"""Rejected rows that came in another way than by their CSV, or were set aside: they are not asked about again."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from pipeline.indicators.base.open_matters import OpenMatter, open_matters
from pipeline.load.files import load_paths
from pipeline.publish.forms import write_rejected
from pipeline.store.decide import decide
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.thorough import beyond, thorough

LOG = "date,green,operation\n2026-03-16,ALD-1,scarifying\n2026-04-31,ALD-1,mowing\n2026-05-02,Nowhere,mowing\n"


@pytest.fixture
def waiting(workspace: Workspace) -> Callable[[], list[str]]:
    def told() -> list[str]:
        return [_where(one) for one in open_matters(workspace) if one.sort == "rejected"]

    return told


def _where(one: OpenMatter) -> str:
    return f"{one.file}:{one.line}"


def _mended(workspace: Workspace, said: dict[str, str], to: str = "") -> Path:
    """The workbook of rejected rows, with these cells mended, under its own name or another."""
    (made,) = write_rejected(workspace, TODAY)
    book = openpyxl.load_workbook(made.path)
    for row in book["Rows to mend"].iter_rows(min_row=5):
        for cell in row:
            cell.value = said.get(str(cell.value), cell.value)
    path = made.path.with_name(to) if to else made.path
    book.save(path)
    return path


@pytest.mark.parametrize("name", ["", "mended by the office.xlsx"])
@beyond(1)
def test_rows_mended_in_the_workbook_are_not_asked_about_any_more(
    county: Load, workspace: Workspace, waiting: Callable[[], list[str]], name: str
) -> None:
    county("log.csv", LOG)
    assert waiting() == ["log.csv:3", "log.csv:4"]
    path = _mended(workspace, {"2026-04-31": "2026-04-30", "Nowhere": "ALD-1"}, name)
    (done,) = load_paths(workspace, [path], today=TODAY)
    assert (done.counts.loaded, done.counts.rejected) == (2, 0)
    assert waiting() == []


@pytest.mark.parametrize("name", ["", "mended by the office.xlsx"])
@beyond(1)
def test_a_row_not_mended_in_the_workbook_is_asked_about_once(
    county: Load, workspace: Workspace, waiting: Callable[[], list[str]], name: str
) -> None:
    county("log.csv", LOG)
    path = _mended(workspace, {"2026-04-31": "2026-04-30"}, name)
    (done,) = load_paths(workspace, [path], today=TODAY)
    assert waiting() == [f"{path.name}:6"]
    assert done.rejects_file is not None
    (matter,) = [one for one in open_matters(workspace) if one.sort == "rejected"]
    assert shlex.split(matter.next[0][0])[-1] == str(done.rejects_file)


@thorough
def test_a_row_set_aside_stays_so_in_its_file_of_rejected_rows(
    county: Load, workspace: Workspace, waiting: Callable[[], list[str]]
) -> None:
    (rejects,) = (county("log.csv", LOG).rejects_file,)
    assert rejects is not None
    decide(workspace, "aside", ["log.csv:4"], "never done", "office")
    rejects.write_text(rejects.read_text("utf-8-sig").replace("2026-04-31,", "2026-04-30,"), "utf-8")
    (done,) = load_paths(workspace, [rejects], today=TODAY)
    assert done.counts.loaded == 1
    assert "decision.aside" in done.faults["code"].to_list()
    assert waiting() == []
    load_paths(workspace, [workspace.rejected], today=TODAY)  # with the file that took the row once more
    assert waiting() == []


def test_a_row_set_aside_is_told_by_its_line_from_one_that_is_wrong_alike(
    county: Load, workspace: Workspace, waiting: Callable[[], list[str]]
) -> None:
    log = LOG + "2026-05-09,Nowhere,mowing\n"
    rejects = county("log.csv", log).rejects_file
    assert rejects is not None
    decide(workspace, "aside", ["log.csv:4"], "never done", "office")
    rejects.write_text(rejects.read_text("utf-8-sig").replace("2026-04-31,", "2026-04-30,"), "utf-8")
    load_paths(workspace, [rejects], today=TODAY)
    assert waiting() == ["log.rejected.csv:4"]


def test_a_file_that_comes_again_tells_of_its_rejected_rows_itself(
    county: Load, workspace: Workspace, waiting: Callable[[], list[str]]
) -> None:
    rejects = county("log.csv", LOG).rejects_file
    assert rejects is not None
    rejects.write_text(rejects.read_text("utf-8-sig").replace("2026-04-31,", "2026-04-30,"), "utf-8")
    load_paths(workspace, [rejects], today=TODAY)
    assert waiting() == ["log.rejected.csv:3"]
    county("log.csv", LOG.replace("2026-04-31", "2026-04-30") + "2026-05-09,ALD-1,mowing\n")
    assert waiting() == ["log.csv:4"]


def test_a_file_whose_rows_are_all_rejected_again_is_the_one_to_be_mended(county: Load, workspace: Workspace) -> None:
    rejects = county("log.csv", LOG).rejects_file
    assert rejects is not None
    load_paths(workspace, [rejects], today=TODAY)
    told = [one.next[0][0] for one in open_matters(workspace) if one.sort == "rejected"]
    assert told == [f"swardtally load {workspace.rejected / 'log.rejected.csv'}"] * 2
