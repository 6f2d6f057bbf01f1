"""What a process and those it started take while something runs: processor time and memory, where the system tells."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

EVERY_S = 2.0
PROC = Path("/proc")


@dataclass
class Taken:
    """Seconds of processor time by process, and the most memory all of them held at once, MB; 0 where not told."""

    before: dict[int, float] = field(default_factory=dict)
    by_process: dict[int, float] = field(default_factory=dict)
    most_mb: float = 0.0

    @property
    def cpu_s(self) -> float:
        """Seconds of processor time of all of them."""
        return sum(spent - self.before.get(pid, 0.0) for pid, spent in self.by_process.items())

    def look(self) -> None:
        """Note what they have taken by now; a process that has ended keeps what it was last seen with."""
        spent, held = _family()
        self.before = self.before or spent
        self.by_process |= spent
        self.most_mb = max(self.most_mb, held)


def _family() -> tuple[dict[int, float], float]:
    """Seconds by process of this one and all below it, and the MB they hold; what several share counts once."""
    told: dict[int, tuple[int, float]] = {}
    for path in PROC.glob("[0-9]*/stat"):
        if fields := _read(path).rpartition(")")[2].split():
            told[int(path.parent.name)] = int(fields[1]), sum(map(int, fields[11:13])) / os.sysconf("SC_CLK_TCK")
    ours = {os.getpid()}
    while more := {pid for pid, (parent, _) in told.items() if parent in ours} - ours:
        ours |= more
    return {pid: told[pid][1] for pid in ours if pid in told}, sum(_held_mb(pid) for pid in ours)


def _held_mb(pid: int) -> float:
    lines = _read(PROC / str(pid) / "smaps_rollup").splitlines()
    return sum(int(line.split()[1]) * 1024 / 1e6 for line in lines if line.startswith("Pss:"))


def _read(path: Path) -> str:
    """What a file says; "" where its process has just ended."""
    try:
        return path.read_text("ascii", "replace")
    except OSError:
        return ""


@contextmanager
def watched() -> Iterator[Taken]:
    """What is taken until the block ends, looked at again and again."""
    taken, over = Taken(), threading.Event()
    if not (PROC / "self" / "stat").exists():
        yield taken
        return
    taken.look()

    def watch() -> None:
        while not over.wait(EVERY_S):
            taken.look()

    beside = threading.Thread(target=watch)
    beside.start()
    try:
        yield taken
    finally:
        over.set()
        beside.join()
        taken.look()


def most_held_mb() -> float:
    """The most memory this process has held, MB; where only ``getrusage`` tells, at least what its parent held."""
    if told := _read(PROC / "self" / "status"):
        (held,) = (line for line in told.splitlines() if line.startswith("VmHWM"))
        return int(held.split()[1]) * 1024 / 1e6
    import resource  # Windows has none

    unit = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6
