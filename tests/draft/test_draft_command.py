"""The command: exit codes, what it prints, what it writes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pipeline.cli.app import app
from pipeline.workspace.settings import Workspace

JOBS = "Date,Green,Operation,Depth\n03/04/2026,ALD-1,mowing,6\n"


def _run(workspace: Workspace, path: Path, *options: str) -> int:
    words = ["profile", str(path), "--workspace", str(workspace.folder), *options]
    return int(app(words, standalone_mode=False))


def test_it_prints_path_mapping_and_what_to_decide(
    workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "crew.csv"
    path.write_text(JOBS, "utf-8")
    assert _run(workspace, path) == 0
    out, err = capsys.readouterr()
    assert out.splitlines()[0] == str(workspace.profiles / "crew.toml")
    assert "Date       date" in out
    assert "2 things to decide:" in err
    assert "values.date_order:" in err
    assert "fields.depth_mm.unit (Depth):" in err


def test_json_says_the_same(workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "crew.csv"
    path.write_text(JOBS, "utf-8")
    assert _run(workspace, path, "--json") == 0
    said = json.loads(capsys.readouterr().out)
    assert [ask["key"] for ask in said["decide"]] == ["values.date_order", "fields.depth_mm.unit"]
    assert said["mapped"][0] == {"header": "Date", "field": "date", "unit": "", "how": "by its name"}
    assert said["kind"] == "job"


@pytest.mark.parametrize("content", [b"", b"   \n \n"])
def test_a_file_that_cannot_be_read_writes_nothing(
    workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes
) -> None:
    path = tmp_path / "crew.csv"
    path.write_bytes(content)
    assert _run(workspace, path) == 1
    out, err = capsys.readouterr()
    assert not out
    assert "→" in err
    assert not list(workspace.profiles.iterdir())


def test_where_nothing_is_to_be_decided_it_does_not_say_so(
    workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It told the reader to decide every “?” of a draft that had none."""
    path = tmp_path / "crew.csv"
    path.write_text("Date,Green,Operation\n2026-04-03,ALD-1,mowing\n", "utf-8")
    assert _run(workspace, path) == 0
    err = capsys.readouterr().err
    assert "0 things to decide" in err
    assert "decide every" not in err
    assert f"look it over, then: swardtally load -w {workspace.folder} {path}\n" in err
