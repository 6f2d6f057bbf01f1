"""Figures of many greens in the store: a whole rebuild and its growth, a small load, memory, and reading them."""

from __future__ import annotations

import math
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from pipeline.figures.refresh import refresh
from pipeline.figures.table import figures_in
from pipeline.store.derived import RECORDS
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS
from tests.bench.reports import demo_workspace, resident_mb

TIMES = (2, 8, 32)
"""How often the demo county's eighteen greens stand in the store."""
SEASON_MS = 30.0
"""Goal of a green and season in bulk, ms of processor time: 15 ms on two cores."""
EXPONENT, SHARE = 1.05, 0.02
CLUBS_TOUCHED = 3
SHOW_S, COMPARE_S = 0.5, 5.0
"""Goals of ``show`` of one green and of ``compare`` of 600, s, each a process of its own with all that it starts."""
ASKED = {"show": ["show", "ALD-1"], "compare": ["compare", "--force"]}
ROUNDS = 3


def measure(times: Sequence[int] = TIMES) -> None:
    """Print a whole rebuild at several sizes, its growth exponent, and a refresh after three clubs were touched."""
    with tempfile.TemporaryDirectory() as name:
        workspace = demo_workspace(Path(name) / "county")
        seconds: list[tuple[int, float]] = []
        for many in times:
            seconds.append(_of(workspace, many))
        _asked_for(workspace, many * 18)
    (few, short), (most, long) = seconds[0], seconds[-1]
    grows = math.log(long / short) / math.log(most / few)
    sys.stdout.write(f"growth exponent {grows:.2f} (goal {EXPONENT})\n")


def _of(workspace: Workspace, many: int) -> tuple[int, float]:
    """Greens and seasons of so many counties in one store, and the processor time of a whole rebuild."""
    multiply(workspace, many)
    with Store(workspace.store) as store:
        for table in ("state", "green_mark", "figure", "green_season", "evidence"):
            store.con.execute(f"DELETE FROM derived.{table}")
        start, began = time.process_time(), time.perf_counter()
        made = refresh(store, workspace).made
        whole, waited = time.process_time() - start, time.perf_counter() - began
        store.con.execute(
            "UPDATE history.job SET hours = coalesce(hours, 0) + 1 WHERE green IN (SELECT green FROM green "
            f"WHERE club IN (SELECT DISTINCT club FROM green ORDER BY club LIMIT {CLUBS_TOUCHED}))"
        )
        store.con.execute("UPDATE derived.state SET records = ''")
        start = time.perf_counter()
        touched = refresh(store, workspace)
        again = time.perf_counter() - start
        start = time.perf_counter()
        figures_in(store, workspace.settings, "2026", ["ALD-1"])
        one = time.perf_counter() - start
    sys.stdout.write(
        f"{many * 18:>6,} greens, {made:,} seasons: {1000 * whole / made:.1f} ms of processor time each "
        f"(goal {SEASON_MS:g}), {waited:.0f} s in all; after a load of {CLUBS_TOUCHED} clubs "
        f"{100 * again / waited:.1f} % of that "
        f"({touched.made} made again); one green read in {1000 * one:.0f} ms; {resident_mb():,.0f} MB\n"
    )
    return made, whole


def _asked_for(workspace: Workspace, greens: int) -> None:
    """What a person waits for: read from the table of figures, and made from the records where it is stale."""
    for what, goal in (("show", SHOW_S), ("compare", COMPARE_S)):
        _set_records(workspace, "stale")
        from_records = _waited(workspace, what)
        _set_records(workspace, "")
        read = statistics.median(_waited(workspace, what) for _ in range(ROUNDS))
        sys.stdout.write(
            f"{what} among {greens:,} greens: {read:.2f} s (goal {goal:g} s), made from the records "
            f"{from_records:.1f} s: {from_records / read:.0f} times as long\n"
        )


def _set_records(workspace: Workspace, state: str) -> None:
    """Say that the figures are of other records; "": that they are of these."""
    with Store(workspace.store) as store:
        said = f"'{state}'" if state else RECORDS
        store.con.execute(f"UPDATE derived.state SET records = {said}")


def _waited(workspace: Workspace, what: str) -> float:
    """Seconds of a command from its start to its end."""
    code = "import sys; from pipeline.cli.app import main; main()"
    start = time.perf_counter()
    command = [sys.executable, "-c", code, *ASKED[what], "--quiet", "--workspace", str(workspace.folder)]
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - start


def multiply(workspace: Workspace, many: int) -> None:
    """Bring the store's greens and clubs, with their records, to so many times those of the demo county."""
    with Store(workspace.store) as store:
        for kind in KINDS.values():
            names = [field.name for field in kind.stored]
            if not {"green", "club"} & set(names):
                continue
            store.con.execute(f"DELETE FROM history.{kind.name} WHERE {_copied(names)}")
            about = " OR ".join(f"{name} IS NOT NULL" for name in names if name in ("green", "club"))
            said = ", ".join(
                f"CASE WHEN {name} IS NULL THEN NULL ELSE {name} || '~' || n END AS {name}"
                if name in ("green", "club")
                else f'"{name}"'
                for name in (*names, "load_id", "line", "written", "ended_by", "ended_as")
            )
            listed = ", ".join(f'"{name}"' for name in (*names, "load_id", "line", "written", "ended_by", "ended_as"))
            store.con.execute(
                f"INSERT INTO history.{kind.name} ({listed}) SELECT {said} "
                f"FROM history.{kind.name}, range(1, {many}) AS r(n) WHERE {about}"
            )


def _copied(names: Sequence[str]) -> str:
    return " OR ".join(f"contains(coalesce({name}, ''), '~')" for name in names if name in ("green", "club"))
