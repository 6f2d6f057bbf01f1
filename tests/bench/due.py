"""Due list, costs and order of six thousand greens: seconds in all and a green, by their number.

The county is the demo's, multiplied, with its prices, rates and stock, a programme of eight lines a season for every
club beside its own, and what its targets ask.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path

from pipeline.load.files import load_paths
from pipeline.plan.matching import matched
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.plan.read import done_works, planned_works
from pipeline.publish.costs import costs
from pipeline.publish.due import MANY, due_list
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.bench.figures import GREENS, multiply
from tests.bench.reports import demo_workspace
from tests.programmes import programme_of

TIMES = (11, 34, 334)
"""How often the greens of the demo stand in the store: 6,012 at last."""
TODAY = date(2026, 11, 1)
DUE_S, COSTS_S, ORDER_S = 20.0, 20.0, 60.0
"""Goals of the largest size, s, on two cores that do nothing else."""
ORDER = Request(season="2027", as_of=date(2027, 2, 15), to="clubs")


def measure(times: Sequence[int] = TIMES) -> None:
    """Print what list, costs and order take at each size, and of the list what its programmes alone take."""
    with tempfile.TemporaryDirectory() as name:
        workspace = demo_workspace(Path(name) / "county")
        for many in times:
            multiply(workspace, many)
            _planned(workspace, Path(name) / f"programme-{many}.csv")
            greens = many * GREENS
            plan_s, lines = _programmes(workspace)
            sys.stdout.write(f"{greens:,} greens; programmes beside the log, {lines:,} lines: {plan_s:.1f} s\n")
            _told("due list", DUE_S, greens, lambda: _listed(workspace))
            _told("costs", COSTS_S, greens, lambda: _costed(workspace))
            _told("order", ORDER_S, greens, lambda: _ordered(workspace))


def _told(what: str, goal: float, greens: int, made: Callable[[], str]) -> None:
    """Print seconds of one of them, and processor time a green where it is made in this process alone."""
    start, used = time.perf_counter(), _cpu()
    said = made()
    seconds, cpu = time.perf_counter() - start, _cpu() - used
    each = "" if what == "due list" and greens >= MANY else f", {1000 * cpu / greens:.1f} ms of processor time a green"
    sys.stdout.write(f"  {what}, {said}: {seconds:.1f} s (goal of {TIMES[-1] * GREENS:,} greens: {goal:g} s){each}\n")


def _listed(workspace: Workspace) -> str:
    found = due_list(workspace, until=TODAY + timedelta(weeks=8), today=TODAY)
    return f"{len(found.items):,} things due"


def _costed(workspace: Workspace) -> str:
    found = costs(workspace)
    found.as_json()  # sums are made when they are asked for
    return f"{len(found.whole.this.items):,} works of the season"


def _ordered(workspace: Workspace) -> str:
    made = place_order(workspace, ORDER).order
    return f"{len(made.suppliers)} suppliers, {len(made.stopped):,} lines stopped"


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
