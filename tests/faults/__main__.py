"""``python -m tests.faults``: every call on files made to fail, and commands killed; exit 1 where anything is broken.

``--small`` is what the suite runs: each sort of call of ``load`` and ``undo`` on a file; the one is killed at it, and
it fails in the other. ``--only NAME`` (as ``COMMANDS`` has it; may be repeated) goes through one command, ``--one-in
4`` through a quarter of the calls, ``--kills 0`` leaves out the kills at random moments.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue
from typing import Any

from tests.faults.commands import COMMANDS
from tests.faults.preload import SAID, Way, compiler, environment

KILLS = 500
MEMORY = Path("/dev/shm")  # noqa: S108 (a folder of the system's, in which one of our own is made)


def main() -> int:
    """Go through all that is asked for, by several processes, and print the sum."""
    asked = _asked()
    if compiler() is None:
        sys.stdout.write("There is no C compiler (cc) on this machine, or it is no Linux: nothing was tried.\n")
        return 1
    begun = time.monotonic()
    told: list[dict[str, Any]] = []
    signal.signal(signal.SIGTERM, lambda *_: _stop(told, asked, begun))
    signal.signal(signal.SIGINT, lambda *_: _stop(told, asked, begun))
    with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None, prefix="faults-") as folder:
        for one in _from_workers(asked, Path(folder)):
            told.append(one)
            if one.get("broken"):
                sys.stdout.write(_line(one) + "\n")
                sys.stdout.flush()
    sys.stdout.write(_sum(told, asked, time.monotonic() - begun))
    return int(any(one.get("broken") for one in told))


def _stop(told: Sequence[dict[str, Any]], asked: argparse.Namespace, begun: float) -> None:
    """Print what was tried until the run was stopped, and end; workers end as they find nobody to tell."""
    sys.stdout.write("Stopped before the end.\n" + _sum(told, asked, time.monotonic() - begun))
    sys.stdout.flush()
    os._exit(1)


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.faults")
    parser.add_argument("--small", action="store_true", help="what the suite runs")
    parser.add_argument("--only", action="append", choices=[one.name for one in COMMANDS], help="this command alone")
    parser.add_argument("--one-in", type=int, default=1, metavar="N", help="one call in so many")
    parser.add_argument("--kills", type=int, default=KILLS, metavar="N", help="kills at random moments")
    parser.add_argument("--seed", type=int, help="what they are drawn by")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, metavar="N", help="processes")
    asked = parser.parse_args()
    if asked.seed is None:
        asked.seed = random.SystemRandom().randrange(1_000_000)
    return asked


def _from_workers(asked: argparse.Namespace, folder: Path) -> Iterator[dict[str, Any]]:
    """What each worker tells, as it comes; a worker that fails ends all."""
    told: SimpleQueue[dict[str, Any] | None] = SimpleQueue()

    def read(number: int) -> int:
        own = folder / str(number)
        own.mkdir()
        with environment(own) as env:
            words = [sys.executable, "-m", "tests.faults.worker", str(own), str(number), json.dumps(vars(asked))]
            with subprocess.Popen(words, stdout=subprocess.PIPE, env=env, text=True) as worker:
                assert worker.stdout is not None
                for line in worker.stdout:
                    told.put(json.loads(line))
        shutil.rmtree(own)
        told.put(None)
        return worker.returncode

    with ThreadPoolExecutor(asked.workers) as pool:
        working = [pool.submit(read, number) for number in range(asked.workers)]
        for _ in range(asked.workers):
            while (one := told.get()) is not None:
                yield one
        for one in working:
            assert one.result() == 0, "a worker failed: what it says stands above"


def _line(one: dict[str, Any]) -> str:
    where = f"call {one['at']} ({one['call']}), {one['way']}" if "at" in one else f"killed by seed {one['seed']}"
    return "\n".join([f"DOES NOT HOLD  {one['command']}: {where}, exit code {one.get('code')}", *one["broken"]])


def _sum(told: Sequence[dict[str, Any]], asked: argparse.Namespace, seconds: float) -> str:
    tried = [one for one in told if "at" in one]
    killed = [one for one in told if "seed" in one]
    counts = {one["command"]: one for one in told if "calls" in one}
    by_way = Counter(one["way"] for one in tried if one["met"])
    lines = [f"{'command':20} {'calls':>6} {'places':>7} {'failed':>7}"]
    for name, one in counts.items():
        failed = sum(other["command"] == name and other["met"] for other in tried)
        lines.append(f"{name:20} {one['calls']:6} {one['places']:7} {failed:7}")
    places = sum(one["places"] for one in counts.values())
    lines += [
        f"Commands {len(counts)}, places in the code that change a file {places}.",
        "Calls made to fail: " + ", ".join(f"{by_way[way.name]} {SAID[way]}" for way in SAID) + ".",
        f"Not met again, for a command makes not the same calls each time: {sum(not one['met'] for one in tried)}.",
    ]
    if killed:
        dead = sum(one["killed"] for one in killed)
        seeds = f"{asked.seed} to {asked.seed + len(killed) - 1}"
        lines.append(f"Kills at random moments: {dead} of {len(killed)} were still at work; seeds {seeds}.")
    if asked.one_in > 1:
        lines.append(f"Left out: all but one call in {asked.one_in}, and all but one kill in as many.")
    broken = sum(bool(one["broken"]) for one in (*tried, *killed))
    lines.append(f"Kills in all: {by_way[Way.KILL.name] + sum(one['killed'] for one in killed)}. Violations: {broken}.")
    return "\n".join([*lines, f"{seconds / 60:.1f} minutes.", ""])


if __name__ == "__main__":
    sys.exit(main())
