"""Ctrl-C at any moment of any command: a sentence, exit code 3, and a store that holds all that was asked or nothing.

The moment is the n-th call of a function, so that it is the same each time; n is a share of the calls that the command
makes when nobody stops it.
"""

from __future__ import annotations

import json
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from shutil import copytree

import pytest

from pipeline.cli import app as cli
from pipeline.workspace.settings import open_workspace
from tests.cli.test_cli_commands import Call, Run, call, place
from tests.load.test_load_store import kept
from tests.thorough import THOROUGH, but_for

__all__ = ["call", "place"]

SHARES = [at / 12 for at in range(12)] if THOROUGH else [0.3, 0.8]
"""Moments, as shares of a command's calls."""
CALLS: dict[str, tuple[str, ...]] = {
    "init": ("init", "{new}"),
    "load": ("load", "{log}", "-w", "{place}"),
    "profile": ("profile", "{crew}", "-w", "{place}"),
    "words": ("words", "{crew}", "-w", "{place}"),
    "forms": ("forms", "--kind", "job", "-w", "{place}"),
    "show": ("show", "ALD-1", "-w", "{place}", "--json"),
    "report": ("report", "--all", "-w", "{place}"),
    "survey": ("survey", "ALD-1", "2026-05-04", "-w", "{place}"),
    "compare": ("compare", "-w", "{place}"),
    "programme": ("programme", "ALD", "--template", "club-green", "-w", "{place}"),
    "due": ("due", "-w", "{place}", "--json"),
    "costs": ("costs", "-w", "{place}", "--json"),
    "order": ("order", "-w", "{place}"),
    "status": ("status", "-w", "{place}", "--json"),
    "decide": ("decide", "two", "log.csv:2", "log.csv:3", "--why", "x", "--who", "y", "-w", "{place}"),
    "history": ("history", "-w", "{place}", "--json"),
    "changed": ("changed", "--since", "2026-01-01", "-w", "{place}"),
    "undo": ("undo", "4", "-w", "{place}"),
    "doctor": ("doctor", "-w", "{place}"),
    "verify": ("verify", "-w", "{place}"),
    "prove": ("prove", "{log}", "-w", "{place}"),
    "backup": ("backup", "{new}", "-w", "{place}"),
    "restore": ("restore", "{crew}", "{new}"),
    "forget": ("forget", "Ann Example", "--dry-run", "-w", "{place}"),
}
"""A call of every command but ``demo``, which is loads and documents."""
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


@pytest.mark.parametrize("command", but_for(ORDINARY, CALLS))
def test_ctrl_c_at_several_moments(
    pressing: Callable[..., tuple[Run, int]], place: Path, tmp_path: Path, command: str
) -> None:
    """Whatever it was in the midst of: no traceback, no half of a result, no half of a change."""
    (tmp_path / "more.csv").write_text("date,green,operation,hours\n2026-05-11,ALD-1,mowing,1\n2026-05-12,ALD-1,mo,1\n")
    (tmp_path / "crew.csv").write_text("Day,Where,Task done\n2026-05-11,ALD-1,mown\n")

    def fresh(name: str) -> tuple[Path, tuple[str, ...]]:
        folder = copytree(place, tmp_path / name)
        known = {"place": folder, "new": tmp_path / f"new-{name}", "log": tmp_path / "more.csv"}
        return folder, tuple(word.format(**known, crew=tmp_path / "crew.csv") for word in CALLS[command])

    folder, words = fresh("whole")
    before = held(folder)
    done, calls = pressing(0, words)
    assert done.code in {0, 1, 2, 3}, done.err
    after = held(folder)
    for number, share in enumerate(SHARES):
        folder, words = fresh(f"stopped-{number}")
        stopped, _ = pressing(max(1, int(calls * share)), words)
        assert "Traceback" not in stopped.err
        assert stopped.code in {3, done.code}, (share, stopped.err)
        if stopped.code == 3 != done.code:
            assert stopped.err.split("\n")[0].startswith(STOPPED), stopped.err
            assert stopped.out == "" or command not in {"show", "due", "costs", "status", "history"}
        elif "--json" in words:
            assert json.loads(stopped.out) is not None
        assert held(folder) in (before, after), share
        assert not list(folder.rglob("*.new")), "no file is left half written"
