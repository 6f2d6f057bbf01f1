"""Backup and restore as they are typed: what they print, and their exit codes."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from pipeline.cli import app
from pipeline.workspace.settings import Workspace
from tests.conftest import Load


def run(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    monkeypatch.setattr("sys.argv", ["swardtally", *map(str, words)])
    with pytest.raises(SystemExit) as left:
        app.main()
    return int(left.value.code or 0)


def test_from_a_backup_to_a_workspace_again(
    county: Load,
    workspace: Workspace,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The words of a person's evening: back up, look at it, bring it back; and what each says of itself."""
    assert run(monkeypatch, "backup", "-w", workspace.folder) == 0
    said = capsys.readouterr()
    place = workspace.folder.parent / "workspace-backup"
    (manifest,) = (place / "manifests").iterdir()
    assert said.out == f"{manifest}\n"
    assert said.err.startswith("Backup 1: ")
    assert run(monkeypatch, "backup", "-w", workspace.folder, "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["number"], told["written"], told["tables"]["history.club"], told["left_out"]) == (2, 0, 1, [])
    assert run(monkeypatch, "backup", "-w", workspace.folder, "--check") == 0
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.endswith("all as they were written.\n")
    assert run(monkeypatch, "restore", place, tmp_path / "again") == 0
    said = capsys.readouterr()
    assert said.out == f"{tmp_path / 'again'}\n"
    assert said.err.endswith(f"Next: swardtally verify -w {tmp_path / 'again'}\n")
    assert run(monkeypatch, "status", "-w", tmp_path / "again", "--quiet") == 0
    assert "1 green of 1 club" in capsys.readouterr().out
    assert run(monkeypatch, "restore", place, "-w", tmp_path / "again") == 3
    assert capsys.readouterr().err == (
        f"{tmp_path / 'again'} is not empty.\nName a new folder, or an empty one. Nothing was written.\n"
    )
    damaged = next(path for path in (place / "objects").rglob("*.csv"))
    damaged.write_bytes(b"other")
    assert run(monkeypatch, "backup", place, "--check", "--json") == 1
    told = json.loads(capsys.readouterr().out)
    assert (told["fine"], told["damages"][0]["object"]) == (False, damaged.relative_to(place).as_posix())
    assert run(monkeypatch, "backup", place, "--check") == 1
    assert "A new backup into the same folder (swardtally backup DIR) writes anew" in capsys.readouterr().err
    assert run(monkeypatch, "restore", place, tmp_path / "another") == 3
    assert capsys.readouterr().err.startswith("The backup is damaged: ")
    assert not (tmp_path / "another").exists()


def test_words_that_do_not_go_together(
    workspace: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Wrong usage is 2, and nothing is written."""
    assert run(monkeypatch, "backup", tmp_path / "b", "--part", "tables", "-w", workspace.folder) == 2
    assert run(monkeypatch, "restore", tmp_path / "b") == 2
    assert run(monkeypatch, "restore", tmp_path / "b", tmp_path / "c", "-w", tmp_path / "d") == 2
    capsys.readouterr()
    assert run(monkeypatch, "backup", tmp_path / "b", "--check") == 3
    assert capsys.readouterr().err.startswith(f"{tmp_path / 'b'} is no backup: it lacks swardtally-backup.txt.")
    assert run(monkeypatch, "backup", "-w", tmp_path / "none") == 3
    assert sorted(path.name for path in tmp_path.iterdir()) == ["workspace"]


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_what_is_not_in_a_backup_is_said(
    workspace: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Done, but not everything is in it: exit code 1, also where messages are off."""
    (workspace.folder / "inbox" / "elsewhere").symlink_to(tmp_path)
    assert run(monkeypatch, "backup", tmp_path / "b", "-w", workspace.folder, "-q") == 1
    assert capsys.readouterr().err == (
        "Not in the backup: inbox/elsewhere, which is a link or no file. Copy what it leads to into the workspace.\n"
    )
