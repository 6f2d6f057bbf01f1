"""One command run in a process of its own, with one of its calls failing; and what must hold after it."""

from __future__ import annotations

import gc
import importlib
import io
import json
import os
import pkgutil
import select
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import typer.main

from pipeline.copies import restore
from pipeline.figures import refresh
from pipeline.store.proof import seals
from tests.faults.commands import CREW_LOAD, STARTS, WORKSPACE
from tests.faults.preload import Calls, Way
from tests.faults.states import State, mark_of, read_store, state_of

SECONDS = 120.0
"""The longest a command may take before it counts as hanging."""
HUNG = -1000
CRASH = "Traceback (most recent call last)"


@dataclass(frozen=True)
class Ran:
    """What a command came to: its exit code (the number of a signal, negative, where one ended it), and its words."""

    code: int
    out: str
    err: str


@dataclass(frozen=True)
class Place:
    """Where trials are made: a folder in memory for workspaces, and the library that is preloaded."""

    folder: Path
    calls: Calls
    starts: dict[str, Path] = field(default_factory=dict)
    read: dict[str, dict[str, dict[str, str]]] = field(default_factory=dict)

    @property
    def case(self) -> Path:
        """The folder that a command is run in, and below which its calls are counted."""
        return self.folder / "case"

    @property
    def workspace(self) -> Path:
        """The workspace in it."""
        return self.case / WORKSPACE

    def fresh(self, start: str) -> None:
        """Have the case be a workspace as it is at the start."""
        made = self.start(start)
        shutil.rmtree(self.case, ignore_errors=True)
        shutil.copytree(made, self.case)

    def start(self, name: str) -> Path:
        """Folder of a workspace to start from, made once."""
        if name not in self.starts:
            shutil.rmtree(self.case, ignore_errors=True)
            self.case.mkdir(parents=True)
            (self.case / "tmp").mkdir()
            for step in STARTS[name]:
                if isinstance(step, str):
                    self.fresh(step)
                elif callable(step):
                    in_child(lambda step=step: step(self.workspace))
                else:
                    ran = self.run(step)  # type: ignore[arg-type]
                    rejects = step == CREW_LOAD  # one of its rows is meant to be
                    assert ran.code == int(rejects), f"{step}: {ran}"
            made = self.folder / f"start-{name.replace(' ', '-')}"
            shutil.copytree(self.case, made)
            self.starts[name] = made
        return self.starts[name]

    def run(
        self, line: Sequence[str], at: int = 0, way: Way = Way.NONE, *, counted: bool = False, figures: bool = True
    ) -> Ran:
        """A command run in the case, one of its calls failing; ``counted`` where they are only to be counted."""
        self.calls.set(self.case, at, way)
        watched = self.calls if at or counted else None
        try:
            return ran_in_child(line, self.case, self.folder / "said", watched, figures=figures)
        finally:
            self.calls.disarm()

    def state(self, workspace: str = WORKSPACE) -> State:
        """What the case holds now, and a workspace in it."""
        return state_of(self.case, workspace, self._tables)

    def _tables(self, store: Path) -> dict[str, dict[str, str]]:
        """What a store of these bytes holds, read once."""
        mark = mark_of(store)
        if mark not in self.read:
            self.read[mark] = in_child(lambda: read_store(store))
        return self.read[mark]


def ran_in_child(
    line: Sequence[str],
    folder: Path,
    said: Path,
    calls: Calls | None,
    seconds: float | None = None,
    *,
    figures: bool = True,
) -> Ran:
    """A command line run by a process that is forked off this one: everything is imported there already.

    Where seconds are given it is killed after so many.
    """
    paths = [said.with_suffix(".out"), said.with_suffix(".err")]
    child = os.fork()
    if child == 0:
        if not figures:
            refresh.keep_up = lambda _: None  # type: ignore[assignment,return-value]
            restore.remake_figures = lambda *_: ""
        _run(line, folder, paths, calls)
    code = ended(child, SECONDS if seconds is None else seconds)
    code = -signal.SIGKILL if code == HUNG and seconds is not None else code
    out, err = (path.read_text("utf-8", errors="replace") for path in paths)
    return Ran(code, out, err)


def _run(line: Sequence[str], folder: Path, paths: Sequence[Path], calls: Calls | None) -> None:
    """Be the command; never returns."""
    from pipeline.cli.app import main

    code = 1
    gc.disable()  # what is freed at the end of the process need not be looked for
    seals._salts[:] = [lambda load_id: f"{load_id:064x}"]
    try:
        for number, path in enumerate(paths, 1):
            opened = os.open(path, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
            os.dup2(opened, number)
        sys.stdout, sys.stderr = (
            io.TextIOWrapper(open(number, "wb", closefd=False), encoding="utf-8", write_through=True)  # noqa: SIM115
            for number in (1, 2)
        )
        os.chdir(folder)
        os.environ["TMPDIR"], tempfile.tempdir = str(folder / "tmp"), None
        sys.argv = ["swardtally", *line]
        if calls:
            calls.arm()
        main()
    except SystemExit as done:
        code = done.code if isinstance(done.code, int) else int(bool(done.code))
    except BaseException:
        traceback.print_exc()
    finally:
        if calls:
            calls.disarm()
        os._exit(code)


def in_child(work: Callable[[], Any]) -> Any:
    """What a function returns, called in a process of its own: no thread that it starts is in the way of a fork."""
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            told = json.dumps(work()).encode()
            with os.fdopen(writes, "wb") as out:
                out.write(told)
            os._exit(0)
        except BaseException:
            traceback.print_exc()
            os._exit(1)
    os.close(writes)
    with os.fdopen(reads, "rb") as told_by:
        told = told_by.read()
    assert ended(child, SECONDS) == 0, "what the workspace holds could not be told"
    return json.loads(told)


def ended(child: int, seconds: float) -> int:
    """How a child ended: its exit code, or the number of the signal that ended it, negative."""
    watched = os.pidfd_open(child)
    try:
        if not select.select([watched], [], [], seconds)[0]:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return HUNG
    finally:
        os.close(watched)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


LATER = (
    "polars", "duckdb", "pandera.polars", "hypothesis", "pyarrow.pandas_compat", "weasyprint", "vl_convert",
    "xlsxwriter", "scipy.stats", "contourpy", "PIL.Image", "PIL.JpegImagePlugin", "rapidfuzz.process", "pint", "jinja2",
    "markdown_it", "encodings.utf_8_sig", "encodings.cp1252", "concurrent.futures.process", "rich.progress",
    "fontTools.ttLib",
)  # fmt: skip
"""What is imported inside functions, or inside libraries, when it is first needed."""


def warm() -> None:
    """Import and make all that commands import and make once, so that no trial does; no frame, no store, no page."""
    for package in ("pipeline", "schemas", "reports"):
        for found in pkgutil.walk_packages(importlib.import_module(package).__path__, f"{package}."):
            if not found.name.endswith(("__main__", "warm")):
                importlib.import_module(found.name)
    for name in LATER:
        importlib.import_module(name)
    from pipeline.cli.app import app
    from pipeline.figures.state import code_version
    from pipeline.publish.render_cache import code_mark
    from pipeline.standardise.cells.units import registry

    typer.main.get_command = cache(typer.main.get_command)  # type: ignore[assignment]
    typer.main.get_command(app)
    for made_once in (code_version, code_mark, registry):
        made_once()
    gc.collect()
    gc.freeze()


def now() -> float:
    """Seconds, to measure by."""
    return time.monotonic()
