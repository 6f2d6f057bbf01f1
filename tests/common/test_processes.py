"""Work in several processes: in the order of the tasks, taken as needed, and no worker outlives whoever started it."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from multiprocessing import active_children
from pathlib import Path

import pytest

from pipeline.common.processes import AHEAD, in_order

ROOT = Path(__file__).parents[2]
WARM = "pipeline.common.marks"
KILLED = f"""
import os, signal, threading, time
from multiprocessing import active_children
from pipeline.common.processes import in_order

def end():
    while len(active_children()) < 2:
        time.sleep(0.1)
    print(*(one.pid for one in active_children()), flush=True)
    time.sleep(2)
    os.kill(os.getpid(), signal.SIGKILL)

threading.Thread(target=end).start()
list(in_order(time.sleep, [60, 60], 2, {WARM!r}))
"""


def test_results_come_in_the_order_of_the_tasks() -> None:
    """The first takes longest, so that the others are done before it."""
    assert list(in_order(time.sleep, [0.5, 0, 0], 2, WARM)) == [None] * 3
    assert list(in_order(abs, [-1, -2, -3, -4, -5], 2, WARM)) == [1, 2, 3, 4, 5]
    assert list(in_order(abs, [-1, -2], 1, WARM)) == [1, 2]
    assert list(in_order(abs, [], 2, WARM)) == []


def test_tasks_are_taken_as_they_are_needed() -> None:
    """Whatever their number, few wait: each may hold the records of many greens."""
    taken: list[int] = []

    def tasks() -> Iterator[int]:
        for number in range(100):
            taken.append(number)
            yield -number

    others = set(active_children())
    with closing(in_order(abs, tasks(), 2, WARM)) as found:
        assert next(found) == 0
        assert len(taken) <= 2 * AHEAD + 1
    for one in set(active_children()) - others:
        one.join(10)
        assert not one.is_alive()


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_workers_end_with_a_process_that_is_killed() -> None:
    """Left alone they would wait for ever, each with the memory of its last work."""
    done = subprocess.run(
        [sys.executable, "-c", KILLED], capture_output=True, text=True, cwd=ROOT, check=False, timeout=60
    )
    workers = [int(pid) for pid in done.stdout.split()]
    assert len(workers) == 2, done.stderr
    until = time.monotonic() + 20
    while any(_lives(pid) for pid in workers) and time.monotonic() < until:
        time.sleep(0.1)
    assert not [pid for pid in workers if _lives(pid)]


def _lives(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True
