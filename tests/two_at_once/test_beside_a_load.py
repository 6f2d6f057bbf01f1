"""What each command does while another holds the store: a sentence and exit 3, or the right result; nothing is lost."""

from __future__ import annotations

import sys
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest

from pipeline.cli import app as cli
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import thorough
from tests.two_at_once.held import (
    DECISIONS_ARE_READ,
    FIGURES_ARE_MADE,
    LOAD_WRITES,
    UNDO_WRITES,
    held,
)

if sys.platform == "win32":
    pytest.skip("pipes are passed by their numbers", allow_module_level=True)

JOBS = "date,green,operation,hours\n2026-03-01,ALD-1,mowing,1.5\n2026-03-02,ALD-1,mowing,1\n2026-03-32,ALD-1,mowing,1\n"
MORE = JOBS.replace("2026-03", "2026-04").replace("04-32", "04-20")
Call = Callable[..., tuple[int, str, str]]

STORE_NEEDED = (
    "load more.csv",
    "load more.csv --dry-run",
    "status",
    "show ALD-1",
    "report --all",
    "compare",
    "due",
    "costs",
    "order --as-of 2026-11-01",
    "programme ALD-1 --last-season",
    "survey ALD-1 2026-09-16",
    "history",
    "changed",
    "verify",
    'forget "A. Person"',
    "verify --quick",
    "undo 4",
    'decide aside log.csv --why "none" --who office',
    "forms crew",
    "forms --rejected",
    "words more.csv",
    "doctor --bring-up",
)
"""Commands that ask the store something, and so cannot do anything while another changes it."""


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], workspace: Workspace) -> Call:
    """Runs the command line in this process, in the workspace."""
    import shlex

    def _call(words: str) -> tuple[int, str, str]:
        capsys.readouterr()
        monkeypatch.chdir(workspace.folder)
        monkeypatch.setattr(sys, "argv", ["swardtally", *shlex.split(words)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capsys.readouterr()
        return int(str(ended.value.code)), said.out, said.err

    return _call


@pytest.fixture
def place(county: Load, workspace: Workspace) -> Path:
    """A workspace with two jobs and a rejected row, and a file that is not loaded yet."""
    (workspace.folder / "log.csv").write_text(JOBS)
    (workspace.folder / "more.csv").write_text(MORE)
    from pipeline.figures.refresh import keep_up
    from pipeline.load.files import load_paths

    load_paths(workspace, [workspace.folder / "log.csv"])
    keep_up(workspace)
    return workspace.folder


def marks(folder: Path) -> dict[str, str]:
    """Every file of a workspace but the store's log, by what it holds."""
    files = [path for path in sorted(folder.rglob("*")) if path.is_file() and path.suffix != ".wal"]
    return {path.relative_to(folder).as_posix(): sha256(path.read_bytes()).hexdigest() for path in files}


def jobs(folder: Path) -> int:
    with Store(folder / "store.duckdb", read_only=True) as store:
        return int(store.rows("SELECT count(*) FROM job")[0][0])


def test_every_command_beside_a_load(call: Call, place: Path) -> None:
    """Guards against a second command that waits for ever, crashes, or reads half of what the first writes."""
    (place / "third.csv").write_text(JOBS.replace("2026-03", "2026-05").replace("05-32", "05-30"))
    with held(LOAD_WRITES, "load", place / "third.csv", "-w", place) as first:
        before = marks(place)
        said = {words: call(words) for words in STORE_NEEDED}
        assert {words: done for words, done in said.items() if done != (3, "", first.in_use)} == {}
        assert call("profile more.csv")[0] == 0  # which does without the registers, and says so in the draft
        drafted = place / "profiles" / "more.toml"
        assert "is in use by another program" in drafted.read_text("utf-8")
        drafted.unlink()
        code, out, _ = call("doctor")  # which looks at the machine, and says of the store what is the matter
        assert code == 1 and "is in use by another program" in " ".join(out.split())
        assert call("init .")[0] == 0
        assert marks(place) == before
        code, out, _ = first.let_go()
        assert code == 0 and "2026-05-01 to 2026-05-30" in out
    assert jobs(place) == 5
    assert call("load more.csv")[0] == 0
    assert jobs(place) == 8
    assert call("status")[0] == 0


@thorough
def test_a_load_beside_taking_back(call: Call, place: Path) -> None:
    with held(UNDO_WRITES, "undo", 4, "-w", place) as first:
        assert call("load more.csv") == (3, "", first.in_use)
        assert call("show ALD-1") == (3, "", first.in_use)
        assert first.let_go()[0] == 0
    assert jobs(place) == 0
    assert call("load more.csv")[0] == 0
    assert jobs(place) == 3


@thorough
def test_a_load_while_the_figures_of_another_are_made(call: Call, place: Path) -> None:
    """The records of the first are in by then; the second is told to wait, and both are right in the end."""
    with held(FIGURES_ARE_MADE, "load", place / "more.csv", "-w", place) as first:
        (place / "third.csv").write_text(JOBS.replace("2026-03", "2026-05").replace("05-32", "05-30"))
        assert call("load third.csv") == (3, "", first.in_use)
        assert first.let_go()[0] == 0
    assert jobs(place) == 5
    assert call("load third.csv")[0] == 0
    assert jobs(place) == 8


def test_two_decisions_at_one_time(call: Call, place: Path) -> None:
    """The second is not written over the first, nor is the first taken for one that was deleted by hand."""
    (place / "third.csv").write_text("date,green,operation,hours\n2026-05-32,ALD-1,mowing,1\n")
    assert call("load third.csv")[0] == 1
    words = ("decide", "aside", "log.csv", "--why", "first", "--who", "office", "-w", place)
    with held(DECISIONS_ARE_READ, *words) as first:
        done = call('decide aside third.csv --why "second" --who office')
        assert done == (3, "", first.in_use)
        assert first.let_go()[0] == 0
    assert call('decide aside third.csv --why "second" --who office')[0] == 0
    text = (place / "decisions" / "decided.toml").read_text()
    assert text.count("[[decision]]") == 2
    with Store(place / "store.duckdb", read_only=True) as store:
        assert store.rows("SELECT why, taken_back_at FROM meta.decision ORDER BY decision") == [
            ("first", None), ("second", None)
        ]  # fmt: skip
    assert call("status")[0] == 0
