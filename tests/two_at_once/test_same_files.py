"""Two commands that write the same files: each file is the one's or the other's, whole, and the next run sees which."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pikepdf
import pytest

from pipeline.cli import demo
from pipeline.common.refusal import CannotDo
from pipeline.draft import draft_profile
from pipeline.load.files import load_paths
from pipeline.publish.documents import write_reports
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load
from tests.thorough import thorough
from tests.two_at_once.held import (
    DEMO_BEGINS,
    DEMO_CLAIMS,
    LIST_IS_WRITTEN,
    PROFILE_IS_WRITTEN,
    REPORT_READS,
    REPORT_WRITES,
    held,
)

if sys.platform == "win32":
    pytest.skip("pipes are passed by their numbers", allow_module_level=True)

JOBS = "date,green,operation,hours\n2026-03-01,ALD-1,mowing,1.5\n2026-05-02,ALD-1,mowing,1\n2026-08-03,ALD-1,mowing,2\n"
REPORT = ("report", "--green", "ALD-1", "--only", "condition", "--workers", "1")


@pytest.fixture
def place(county: Load, workspace: Workspace) -> Path:
    """A workspace with a few jobs."""
    assert not county("log.csv", JOBS).failed
    return workspace.folder


@pytest.fixture
def more(tmp_path: Path) -> Path:
    path = tmp_path / "more.csv"
    path.write_text("date,green,operation,hours\n2026-09-10,ALD-1,scarifying,3\n")
    return path


def condition(workspace: Workspace) -> tuple[bytes, bool]:
    """The report as it is once it is asked for again, and whether it was left as it lay there."""
    (written,) = write_reports(workspace, greens=["ALD-1"], only=["condition"], workers=1)
    assert not written.fault
    return written.path.read_bytes(), written.unchanged


def whole(folder: Path) -> None:
    """Every PDF can be read, no file is left that is not finished, and the list of them is one."""
    for path in folder.rglob("*"):
        if path.suffix == ".pdf":
            with pikepdf.open(path) as pdf:
                assert len(pdf.pages)
        elif path.is_file():
            assert path.name == ".render-cache.json", path
            assert json.loads(path.read_bytes())


@thorough
def test_a_load_beside_a_report(place: Path, workspace: Workspace, more: Path) -> None:
    """While the report reads, nothing is loaded; while it lays out, a load may come, and the next report has it.

    Guards against a report of records half of before and half of after, and against one that is taken for up to date
    ever after because its mark is of the records that came meanwhile.
    """
    with held(REPORT_READS, *REPORT, "-w", place) as first:
        with pytest.raises(CannotDo, match="in use by another program"):
            load_paths(workspace, [more], today=TODAY)
        assert first.let_go()[0] == 0
    before, left = condition(workspace)
    assert left
    with held(REPORT_WRITES, *REPORT, "--force", "-w", place) as first:
        assert load_paths(workspace, [more], today=TODAY)[0].counts.loaded == 1
        assert first.let_go()[0] == 0
    (path,) = workspace.reports.rglob("*.pdf")
    assert path.read_bytes() == before
    after, left = condition(workspace)
    assert not left
    assert after != before
    whole(workspace.reports)


def test_two_reports_into_one_folder(place: Path, workspace: Workspace, more: Path) -> None:
    """The later writer's file stands; where it is of older records, the next report makes it anew."""
    with held(REPORT_WRITES, *REPORT, "-w", place) as older:
        load_paths(workspace, [more], today=TODAY)
        newer, _ = condition(workspace)
        assert older.let_go()[0] == 0
    whole(workspace.reports)
    (path,) = workspace.reports.rglob("*.pdf")
    assert path.read_bytes() != newer
    assert condition(workspace) == (newer, False)
    assert condition(workspace) == (newer, True)


@thorough
def test_two_lists_of_what_was_rendered(place: Path, workspace: Workspace, more: Path) -> None:
    """The document is the newer one, the list the older's: its mark does not fit the file, which is then made anew."""
    with held(LIST_IS_WRITTEN, *REPORT, "-w", place) as older:
        load_paths(workspace, [more], today=TODAY)
        newer, _ = condition(workspace)
        assert older.let_go()[0] == 0
    whole(workspace.reports)
    assert condition(workspace) == (newer, False)
    assert condition(workspace) == (newer, True)


def test_two_profiles_of_one_name(place: Path, workspace: Workspace, more: Path) -> None:
    """Both found the name free: the first stands, and what a person may have decided in it by now is not lost."""
    with held(PROFILE_IS_WRITTEN, "profile", more, "-w", place) as slower:
        path = draft_profile(workspace, more).path
        assert path is not None
        path.write_text(text := path.read_text() + "# decided\n")
        said = f"There is a profile {path} already.\nGive --name another name, or overwrite it with --force.\n"
        assert slower.let_go() == (2, "", said)
        assert {one.name: one.read_text() for one in workspace.profiles.iterdir()} == {path.name: text}


class Begun(Exception):
    """Ends a demo that has begun to write."""


def test_two_demos_in_one_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both found it empty: one makes it, the other is told so in a sentence, whichever comes first."""

    def begun(_: Path) -> None:
        raise Begun

    with held(DEMO_CLAIMS, "demo", "--out", tmp_path / "demo") as slower:
        with monkeypatch.context() as patched, pytest.raises(Begun):
            patched.setattr(demo, "demo_workspace", begun)
            demo.make_demo(tmp_path / "demo")
        stands = sorted(path.relative_to(tmp_path) for path in tmp_path.rglob("*"))
        code, _, err = slower.let_go()
        assert (code, err.splitlines()[0]) == (3, f"{tmp_path / 'demo'} is not empty.")
        assert sorted(path.relative_to(tmp_path) for path in tmp_path.rglob("*")) == stands


@thorough
def test_a_demo_beside_one_that_writes(tmp_path: Path) -> None:
    with held(DEMO_BEGINS, "demo", "--out", tmp_path / "demo") as first:
        with pytest.raises(CannotDo, match=r"demo is not empty\."):
            demo.make_demo(tmp_path / "demo")
        first.process.kill()  # the whole of it takes minutes, and is another test's
        first.done.append((0, "", ""))
