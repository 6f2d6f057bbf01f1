"""``python -m tests.bombs``: each file made at full size, loaded by a command of its own, and what that cost.

Prints a table of name, bytes of the file, exit code, fault, megabytes of memory and seconds; ends with 1 where a file
was not refused, cost a gigabyte or more, or took 20 seconds or longer.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from pipeline.workspace.settings import make_workspace
from tests.bombs.files import BOMBS
from tests.bombs.pictures import PICTURES
from tests.conftest import CLUBS, GREENS

MOST_MB, MOST_SECONDS = 1_000, 20.0
_KEPT = frozenset({"EXIF, 4,000 tags of 4 x 10^9 values", "PNG, 10 GB of remarks", "PNG, colour profile of 500 MB"})
"""Pictures that are small but for what is not read of them: kept or refused, either is right."""
_RUN = """
import resource, runpy, sys
sys.argv = ["swardtally", *sys.argv[1:]]
try:
    runpy.run_module("pipeline.cli", run_name="__main__")
except SystemExit as ended:
    code = ended.code
from tests.bench.watched import most_held_mb
used = resource.getrusage(resource.RUSAGE_SELF)
print(f"{code} {most_held_mb():.0f} {used.ru_utime + used.ru_stime:.1f}", file=sys.stderr)
"""


def loaded(workspace: Path, path: Path) -> tuple[int, int, float, str]:
    """Exit code, megabytes and seconds of processor of a load in a process of its own, and what it said first."""
    command = [sys.executable, "-c", _RUN, "load", str(path), "-w", str(workspace), "--json", "--quiet"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": "."})
    last = (done.stderr.strip().split("\n") or [""])[-1].split()
    if len(last) != 3:
        return done.returncode, 0, 0.0, done.stderr[-200:]
    code = next((line.split('"')[3] for line in done.stdout.split("\n") if '"code":' in line), done.stderr[:60])
    return int(last[0]), int(last[1]), float(last[2]), code


def _made(folder: Path, wanted: list[str]) -> Iterator[tuple[str, Path]]:
    """Each file, made when it is asked for."""
    for name in [*BOMBS, *PICTURES]:
        if wanted and not any(word in name for word in wanted):
            continue
        if name in BOMBS:
            make, file = BOMBS[name]
            yield name, make(folder / file, 1.0)
            continue
        (folder / "a.img").write_bytes(PICTURES[name]())
        path = folder / "photos.csv"
        path.write_text("date,green,picture,caption\n2026-05-04,ALD-1,a.img,x\n")
        yield name, path


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def main() -> int:
    """Print the table; the exit code."""
    failed = 0
    _say(f"{'file':38} {'bytes':>13}  exit  {'fault':24} {'MB':>5} {'s':>6}")
    with tempfile.TemporaryDirectory() as name:
        folder, workspace = Path(name) / "in", Path(name) / "workspace"
        folder.mkdir()
        workspace.mkdir()
        make_workspace(workspace)
        for file, text in (("clubs.csv", CLUBS), ("greens.csv", GREENS)):
            (folder / file).write_text(text)
            loaded(workspace, folder / file)
        for title, path in _made(folder, sys.argv[1:]):
            began = time.monotonic()
            code, memory, seconds, fault = loaded(workspace, path)
            held = path if path.name != "photos.csv" else folder / "a.img"
            bad = memory >= MOST_MB or seconds >= MOST_SECONDS or not (code == 1 or (title in _KEPT and code == 0))
            failed += bad
            row = f"{title:38} {held.stat().st_size:13,}  {code:4}  {fault:24} {memory:5} {seconds:6.1f}"
            _say(f"{row} {'<-- too much' if bad else ''} ({time.monotonic() - began:.0f} s by the clock)")
            path.unlink()
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
