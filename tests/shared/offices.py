"""Two offices that load into one shared store at the same time; every row is there once, told by a hash over all."""

from __future__ import annotations

import json
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from pipeline.store.store import Store
from pipeline.verify.verify import verify
from pipeline.workspace.settings import Workspace
from tests.conftest import REGISTERS
from tests.shared.fixtures import shared_workspace
from tests.shared.server import Server

ROWS = 4
"""Rows of a file."""
BOTH = 5
"""One file in so many is loaded by both offices, byte for byte the same."""
CORRECTED = 10
"""One file in so many of the second office is corrected once it is loaded."""
LOTS = 5
"""Lots in which the first office loads its files where it takes some back between."""
COMMAND = (sys.executable, "-c", "from pipeline.cli.start import run; run()")
Rows = dict[str, tuple[str, str]]
"""Reference of a job → its day and its hours."""


@dataclass(frozen=True)
class Came:
    """What came of one way of loading.

    Attributes:
        rows: rows that are in force.
        expected: rows that the files hold, each counted once.
        same: whether the hash over the one is that over the other.
        whole: whether the chain is whole and every original, read again, gives what the store holds.
        kills: times that a load was killed at work.
        seconds: how long it took.
    """

    rows: int
    expected: int
    same: bool
    whole: bool
    kills: int
    seconds: float


def offices(running: Server, folder: Path, name: str, files: int) -> tuple[Workspace, Workspace, Rows]:
    """Two workspaces of one shared store, with so many files in the inbox of each; and what all files say."""
    database = f"offices_{name}"
    running.made(database, folder / "files")
    pair = [shared_workspace(folder / office, running, database, folder / "files") for office in ("north", "south")]
    for file, text in REGISTERS.items():
        (pair[0].folder / file).write_text(text, "utf-8")
        _done(_load(pair[0], pair[0].folder / file))
    said: Rows = {}
    for here in pair:
        inbox = here.folder / "files"
        inbox.mkdir()
        for number in range(files):
            whose = "both" if number % BOTH == 0 else here.folder.name
            rows = {f"{whose}-{number}-{row}": (f"2026-0{1 + row}-{1 + number % 28:02}", "1.5") for row in range(ROWS)}
            said |= rows
            lines = [f"{day},ALD-1,mowing,{reference},{hours}\n" for reference, (day, hours) in rows.items()]
            (inbox / f"{whose}_{number:03}.csv").write_text("date,green,operation,reference,hours\n" + "".join(lines))
    return pair[0], pair[1], said


def side_by_side(running: Server, folder: Path, files: int) -> Came:
    """Both load everything at once."""
    north, south, said = offices(running, folder, "plain", files)
    begun = time.monotonic()
    both = [_load(one, one.folder / "files") for one in (north, south)]
    for one in both:
        _done(one)
    return _came(north, said, 0, begun)


def one_killed(running: Server, folder: Path, files: int, kills: int, seed: int) -> Came:
    """Both load everything; the second is killed so many times on its way, each time at a moment that is drawn."""
    north, south, said = offices(running, folder, "killed", files)
    draw, begun, killed = random.Random(seed), time.monotonic(), 0  # noqa: S311 (moments, no secret)
    first = _load(north, north.folder / "files")
    longest = 4.0
    for _ in range(kills):
        second = _load(south, south.folder / "files")
        time.sleep(draw.uniform(1.0, longest))
        if second.poll() is None:
            second.send_signal(signal.SIGKILL)
            killed += 1
        second.communicate()
        longest = min(longest + 1.0, 20.0)  # what is in already takes its time as well
    _done(first)
    _done(_load(south, south.folder / "files"))
    return _came(north, said, killed, begun)


def undone_between(running: Server, folder: Path, files: int) -> Came:
    """The first takes loads back between its lots and loads them again; the second corrects some of its files."""
    north, south, said = offices(running, folder, "undone", files)
    begun = time.monotonic()
    second = _load(south, south.folder / "files")
    paths = sorted((north.folder / "files").iterdir())
    for lot in _lots(paths):
        _done(_load(north, *lot))
        number = _number_of(north, lot[-1].name)
        _done(_run(north, "undo", str(number)))
    _done(_load(north, *paths))
    _done(second)
    mended = sorted((south.folder / "files").glob("south_*"))[::CORRECTED]
    _correct(south, mended)
    again = _load(south, *mended)
    more = _load(north, *paths[: len(paths) // 2])
    _done(again)
    _done(more)
    for path in mended:
        number = int(path.stem.rpartition("_")[2])
        reference = f"south-{number}-0"
        said[reference] = (said[reference][0], "2.5")
    return _came(north, said, 0, begun)


def _lots(paths: list[Path]) -> Iterator[list[Path]]:
    size = max(1, len(paths) // LOTS)
    for first in range(0, len(paths), size):
        yield paths[first : first + size]


def _correct(here: Workspace, paths: list[Path]) -> None:
    """Have the first row of these files say other hours."""
    entries = [
        f'[[correction]]\nfile = "{path.name}"\nline = 2\ncolumn = "hours"\nfrom = "1.5"\nto = "2.5"\n'
        'why = "as the sheet says"\nwho = "office"\n'
        for path in paths
    ]
    (here.corrections / "hours.toml").write_text("\n".join(entries), "utf-8")


def _run(here: Workspace, *words: str) -> subprocess.Popen[str]:
    line = [*COMMAND, *words, "-w", str(here.folder)]
    return subprocess.Popen(line, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)


def _load(here: Workspace, *paths: Path) -> subprocess.Popen[str]:
    return _run(here, "load", "--quiet", *map(str, paths))


def _done(one: subprocess.Popen[str]) -> str:
    """What a command said that must have ended well."""
    said, _ = one.communicate()
    assert one.returncode == 0, f"{one.args}: exit code {one.returncode}\n{said[-2000:]}"
    return said


def _number_of(here: Workspace, file: str) -> int:
    """Number of the load in force of a file."""
    with Store(here.store, read_only=True) as store:
        ((number,),) = store.rows("SELECT max(load_id) FROM meta.load WHERE ends_with(file, ?) AND loaded > 0", [file])
    return int(number)


def _came(here: Workspace, said: Rows, kills: int, begun: float) -> Came:
    seconds = time.monotonic() - begun
    with Store(here.store, read_only=True) as store:
        held = store.rows("SELECT reference, CAST(date AS VARCHAR), CAST(hours AS VARCHAR) FROM job ORDER BY ALL")
    wanted = sorted((reference, day, str(float(hours))) for reference, (day, hours) in said.items())
    found = verify(here)
    return Came(len(held), len(wanted), _hash(held) == _hash(wanted), found.whole, kills, seconds)


def _hash(rows: list[tuple[str, ...]]) -> str:
    return sha256(json.dumps([list(row) for row in rows]).encode()).hexdigest()
