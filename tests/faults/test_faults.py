"""Each place of ``load`` and ``undo`` that changes a file fails once, or the process is killed there: nothing is lost.

``make faults`` makes every call of these and other commands fail in every way. Without a C compiler the calls of DuckDB
cannot be reached, and what is tried here are Python's own: ``os`` and ``io`` as ``write_whole`` calls them.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.common.whole_files import clear_left, taking_its_place, unfinished, write_whole
from tests.faults.preload import compiler

ROOT = Path(__file__).parents[2]


def test_each_place_that_changes_a_file_may_fail_once() -> None:
    """A store that a failed write leaves half is found when the season's log is gone."""
    if compiler() is None:
        said = "there is no C compiler, so that calls of DuckDB cannot be made to fail"
        pytest.fail(f"{said}, and CI runs every test") if os.environ.get("CI") == "true" else pytest.skip(said)
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults", "--small", "--workers", "2"],
        cwd=ROOT, capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Violations: 0." in done.stdout
    kills = re.search(r"Kills in all: (\d+)", done.stdout)
    assert kills is not None and int(kills[1]) >= 20


def failing(real: Callable[..., object], at: int, calls: list[int]) -> Callable[..., object]:
    """A call that fails the so-manieth time that any of them is made."""

    def call(*given: object, **named: object) -> object:
        calls.append(1)
        if len(calls) == at:
            raise OSError(5, "Input/output error")
        return real(*given, **named)

    return call


@pytest.mark.parametrize("at", range(1, 16))
def test_files_that_belong_together_stand_as_before_whichever_call_of_python_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    """Half a set of files, or half a file under its own name, is taken for the whole."""
    (tmp_path / "a").write_bytes(b"old")
    calls: list[int] = []
    for name in ("fsync", "link", "replace", "unlink"):
        monkeypatch.setattr(os, name, failing(getattr(os, name), at, calls))
    try:
        write_whole({tmp_path / name: b"new" for name in "abc"})
        expected = dict.fromkeys("abc", b"new")
    except OSError:
        expected = {"a": b"old"}
    monkeypatch.undo()
    held = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert {name: content for name, content in held.items() if not name.startswith(".")} == expected
    write_whole({tmp_path / name: b"new" for name in "abc"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == dict.fromkeys("abc", b"new")


def test_what_a_killed_process_left_goes_and_nothing_else(tmp_path: Path) -> None:
    """A hidden file of a person's, or of a process that is at work, is not ours to take."""
    with subprocess.Popen([sys.executable, "-c", ""]) as ended:
        pass
    left = [f".a.csv.{ended.pid}.unfinished", f".a.csv.{ended.pid}.former", f".a.{ended.pid}.unfinished.wal"]
    left.append(f".a.{ended.pid}.unfinished.whole")
    others = [".hidden", ".a.csv.unfinished", f"a.csv.{ended.pid}.unfinished", f".a.csv.{os.getppid()}.unfinished"]
    for name in (*left, *others):
        (tmp_path / name).write_bytes(b"x")
    with taking_its_place(tmp_path / "b") as mine:
        mine.write_bytes(b"x")
        clear_left(tmp_path)
        assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*others, unfinished(tmp_path / "b").name])
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(others)
