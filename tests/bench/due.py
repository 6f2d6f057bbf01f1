"""The due list of six thousand greens: seconds in all and a green, by their number, with a programme for each.

The county is the demo's, multiplied, with a programme of eight lines a season for every club, and what its targets ask.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

from pipeline.load.files import load_paths
from pipeline.plan.matching import matched
from pipeline.plan.read import done_works, planned_works
from pipeline.publish.due import MANY, due_list
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.bench.figures import GREENS, multiply
from tests.bench.reports import demo_workspace
from tests.programmes import programme_of

TIMES = (11, 34, 334)
"""How often the greens of the demo stand in the store: 6,012 at last."""
TODAY = date(2026, 11, 1)


def measure(times: Sequence[int] = TIMES) -> None:
    """Print what the whole list takes at each size, and of that what the programmes alone take."""
    with tempfile.TemporaryDirectory() as name:
        workspace = demo_workspace(Path(name) / "county")
        for many in times:
            multiply(workspace, many)
            _planned(workspace, Path(name) / f"programme-{many}.csv")
            plan_s, lines = _programmes(workspace)
            start, used = time.perf_counter(), _cpu()
            found = due_list(workspace, until=TODAY + timedelta(weeks=8), today=TODAY)
            seconds, cpu = time.perf_counter() - start, _cpu() - used
            greens = many * GREENS
            whole = f"due list, {greens:,} greens, {len(found.items):,} things due: {seconds:.1f} s"
            told = f", {1000 * cpu / greens:.1f} ms of processor time a green" if greens < MANY else ""
            alone = f"its programmes alone, {lines:,} lines beside the log: {plan_s:.1f} s"
            sys.stdout.write(f"{whole}{told}; {alone}\n")


def _cpu() -> float:
    """Processor time of this process, s: that of workers, which a list of very many is made in, is not in it."""
    return time.process_time()


def _planned(workspace: Workspace, path: Path) -> None:
    """Load a programme for every club."""
    with Store(workspace.store, read_only=True) as store:
        clubs = [club for (club,) in store.rows("SELECT DISTINCT club FROM green ORDER BY club")]
    path.write_text(programme_of(clubs, (2027,)), "utf-8")
    (done,) = load_paths(workspace, [path], today=TODAY)
    assert not done.failed and not done.counts.rejected, done.faults


def _programmes(workspace: Workspace) -> tuple[float, int]:
    """Seconds to read every planned work and job of a season, and to lay one beside the other; how many lines."""
    season = workspace.season("2027")
    start = time.perf_counter()
    with Store(workspace.store, read_only=True) as store:
        lines = planned_works(store, days=(season.start, season.end))
        jobs = done_works(store, days=(season.start, TODAY))
    beside = matched(lines, jobs, TODAY, season.end)
    return time.perf_counter() - start, len(beside.lines)


if __name__ == "__main__":
    measure([int(one) for one in sys.argv[1:]] or TIMES)
