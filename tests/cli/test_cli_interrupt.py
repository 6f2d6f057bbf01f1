"""Ctrl-C at any moment of any command: a sentence, exit code 3, and a store that holds all that was asked or nothing.

The moment is the n-th call of a function, so that it is the same each time; n is a share of the calls that the command
makes when nobody stops it.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from shutil import copytree

import pytest

from pipeline.cli import app as cli
from pipeline.common.whole_files import LEFT
from pipeline.copies.backup import back_up
from pipeline.load.files import load_paths
from pipeline.publish.documents import write_reports
from pipeline.workspace.settings import Workspace, open_workspace
from tests.cli.test_cli_commands import Call, Run, call, place
from tests.conftest import TODAY
from tests.faults.commands import CREW_PROFILE, UNKNOWN
from tests.load.test_load_store import kept
from tests.thorough import THOROUGH, but_for

__all__ = ["call", "place"]

ROOT = Path(__file__).parents[2]
SHARES = [at / 12 for at in range(12)] if THOROUGH else [0.3, 0.8]
"""Moments, as shares of a command's calls."""
NAME = "Ann Example"
CALLS: dict[str, tuple[str, ...]] = {
    "init": ("init", "{new}"),
    "load": ("load", "{log}", "-w", "{place}"),
    "profile": ("profile", "{crew}", "--force", "-w", "{place}"),
    "words": ("words", "{unknown}", "--say", "spinning=mowing", "-w", "{place}"),
    "forms": ("forms", "--kind", "job", "-w", "{place}"),
    "show": ("show", "ALD-1", "-w", "{place}", "--json"),
    "report": ("report", "--all", "-w", "{place}"),
    "survey": ("survey", "ALD-1", "2026-05-04", "-w", "{place}"),
    "compare": ("compare", "-w", "{place}"),
    "programme": ("programme", "ALD-1", "--template", "gma-season", "-w", "{place}"),
    "due": ("due", "-w", "{place}", "--json"),
    "costs": ("costs", "-w", "{place}", "--json"),
    "order": ("order", "-w", "{place}"),
    "status": ("status", "-w", "{place}", "--json"),
    "decide": ("decide", "one", "log.csv:2", "twice.csv:2", "--why", "x", "--who", "y", "-w", "{place}"),
    "history": ("history", "-w", "{place}", "--json"),
    "changed": ("changed", "--since", "2026-01-01", "-w", "{place}"),
    "undo": ("undo", "5", "-w", "{place}"),
    "doctor": ("doctor", "-w", "{place}"),
    "verify": ("verify", "-w", "{place}"),
    "prove": ("prove", "{report}", "-w", "{place}"),
    "backup": ("backup", "{new}", "-w", "{place}"),
    "restore": ("restore", "{backup}", "{new}"),
    "copy": ("copy", "{place}/store.duckdb", "{new}"),
    "forget": ("forget", NAME, "-w", "{place}"),
}
"""A call of every command but ``demo``, which is loads and documents."""
FILES = {
    "ann.csv": f"date,green,operation,hours,logged_by\n2026-05-10,ALD-1,mowing,1,{NAME}\n",
    "twice.csv": "date,green,operation,hours,logged_by\n2026-05-04,ALD-1,mowing,1.5,Bob\n",
    "seen.csv": "date,green,observed,value,unit\n2026-05-04,ALD-1,moss,6,%\n2026-05-04,ALD-1,root depth,80,mm\n",
}
"""Loaded before, each of a kind that a command is about."""
ORDINARY = ("load", "status")
_COUNTED = ("meta.load", "meta.decision", "meta.fault", "meta.rejects")
STOPPED = ("Stopped. What was not finished was not kept.", "Stopped at ", "Stopped after ")


class Pressed:
    """Presses Ctrl-C as the n-th function is called, and counts them."""

    def __init__(self, at: int) -> None:
        self.calls, self._at = 0, at

    def __call__(self, frame: object, event: str, _: object) -> None:
        if event != "call":
            return
        self.calls += 1
        if self.calls == self._at:
            sys.setprofile(None)
            signal.raise_signal(signal.SIGINT)


@pytest.fixture
def pressing(call: Call) -> Iterator[Callable[..., tuple[Run, int]]]:
    """Runs a command and presses Ctrl-C at its n-th call; what it came to, and how many calls there were."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)

    def run(at: int, words: tuple[str, ...]) -> tuple[Run, int]:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        pressed, original = Pressed(at), cli._run

        def watched() -> int:
            sys.setprofile(pressed)
            try:
                return original()
            finally:
                sys.setprofile(None)

        cli._run = watched
        try:
            return call(*words), pressed.calls
        finally:
            sys.setprofile(None)
            cli._run = original
            for one in threading.enumerate():  # a command that has ended is pressed no more
                if isinstance(one, threading.Timer):
                    one.cancel()

    yield run
    signal.signal(signal.SIGINT, before)


def held(folder: Path) -> dict[str, int]:
    """How many versions of records, loads and decisions a store holds; figures may follow with the next load."""
    tables = kept(open_workspace(folder))
    return {name: rows.height for name, rows in tables.items() if name.startswith("history.") or name in _COUNTED}


def test_every_command_is_stopped_here() -> None:
    """A command that is added is stopped too."""
    names = {one.name for one in cli.app.registered_commands}
    assert names - set(CALLS) == {"demo"}


def prepared(here: Workspace, folder: Path, command: str) -> dict[str, Path]:
    """Have the workspace hold what the commands are about: a name, a job said twice, a survey; what they are given."""
    (here.profiles / "crew.toml").write_text(CREW_PROFILE)
    for name, text in FILES.items():
        (folder / name).write_text(text)
        load_paths(here, [folder / name], today=TODAY)
    if command == "restore":
        back_up(here, folder / "backup")
    if command == "prove":
        write_reports(here, greens=["ALD-1"], workers=1)
    return {"backup": folder / "backup", "report": next(here.reports.rglob("*condition*.pdf"), folder)}


@pytest.mark.parametrize("command", but_for(ORDINARY, CALLS))
def test_ctrl_c_at_several_moments(
    pressing: Callable[..., tuple[Run, int]], place: Path, tmp_path: Path, command: str
) -> None:
    """Whatever it was in the midst of: no traceback, no half of a result, no half of a change."""
    (tmp_path / "more.csv").write_text("date,green,operation,hours\n2026-05-11,ALD-1,mowing,1\n2026-05-12,ALD-1,mo,1\n")
    (tmp_path / "crew.csv").write_text("Day,Where,Task done\n2026-05-11,ALD-1,mown\n")
    (tmp_path / "unknown.csv").write_text(UNKNOWN)
    given = {"unknown": tmp_path / "unknown.csv", **prepared(open_workspace(place), tmp_path, command)}

    def fresh(name: str) -> tuple[Path, tuple[str, ...]]:
        folder = copytree(place, tmp_path / name)
        known = {"place": folder, "new": tmp_path / f"new-{name}", "log": tmp_path / "more.csv", **given}
        return folder, tuple(word.format(**known, crew=tmp_path / "crew.csv") for word in CALLS[command])

    folder, words = fresh("whole")
    before = held(folder)
    done, calls = pressing(0, words)
    assert done.code in {0, 1}, done.err
    after, whole = held(folder), tmp_path / "new-whole"
    named, nameless = (NAME.encode() in (one / "store.duckdb").read_bytes() for one in (place, folder))
    assert named and nameless == (command != "forget")
    for number, share in enumerate(SHARES):
        folder, words = fresh(f"stopped-{number}")
        stopped, _ = pressing(max(1, int(calls * share)), words)
        assert "Traceback" not in stopped.err
        figures_wait = stopped.code == 1 and "figures are not brought up yet: this was stopped" in stopped.err
        assert stopped.code in {3, done.code} or figures_wait, (share, stopped.err)
        assert not figures_wait or held(folder) == after
        if stopped.code == 3 != done.code:
            assert any(line.startswith(STOPPED) for line in stopped.err.splitlines()), stopped.err
            assert stopped.out == "" or command not in {"show", "due", "costs", "status", "history"}
        elif "--json" in words:
            assert json.loads(stopped.out) is not None
        assert held(folder) in (before, after), share
        assert not [path for path in tmp_path.rglob(".*") if LEFT.fullmatch(path.name)], "no file is left half written"
        if command == "restore":
            new = tmp_path / f"new-stopped-{number}"
            assert not new.exists() or held(new) == held(whole)
        if command == "forget" and NAME.encode() in (folder / "store.duckdb").read_bytes():
            assert (folder / "store.duckdb").read_bytes() == (place / "store.duckdb").read_bytes()


LOST = """
import signal, time
from pipeline.common import interrupt
class Taken:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)
        time.sleep(0)
interrupt.watch()
one = Taken()
try:
    del one
    time.sleep(60)
except KeyboardInterrupt:
    print("came again")
"""


@pytest.mark.timeout(50)
def test_ctrl_c_that_meets_what_cannot_end_by_it_comes_again() -> None:
    """Python prints such a one, as of a generator that is taken away, and goes on as if nobody had pressed it."""
    done = subprocess.run(
        [sys.executable, "-c", LOST], cwd=ROOT, capture_output=True, text=True, check=False, env={"PYTHONPATH": "."}
    )
    assert (done.stdout, done.stderr) == ("came again\n", "")
