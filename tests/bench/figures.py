"""Figures of many greens in the store: a whole rebuild and its growth, what a small load costs, memory, and reading.

The county is the demo's, multiplied: the records of its last five seasons stand once more five years before, so that
each green has ten seasons, and each green and club so often as asked, with lines of its own in the files it is from.
Weather stations, materials and targets stay as many as they are.
"""

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.figures.refresh import refresh
from pipeline.figures.table import figures_in
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.seasons import seasons_on_record
from pipeline.season.green import indicators
from pipeline.store.derived import RECORDS
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS, Kind
from tests.bench.reports import demo_workspace
from tests.bench.watched import watched

GREENS, CLUBS = 18, 14
"""Greens and clubs of the demo county."""
TIMES = (3, 10, 34)
"""How often its greens stand in the store: 612 greens at last."""
THOUSAND = 72
"""How often its clubs make a thousand."""
FIRST_DAY = {10: date(2021, 10, 1), 2: date(2025, 10, 1)}
"""First day of the records that are kept, by seasons a green has in the end; those of ten stand twice."""
SHIFTED_YEARS = 5
SAMPLE = 40
"""Greens and seasons made one at a time, as before figures were made of many at once."""
SEASON_MS, EXPONENT, SHARE, MEMORY_MB = 15.0, 1.05, 0.02, 2000.0
WORKERS = 2
CLUBS_TOUCHED = 3
SHOW_S, COMPARE_S = 0.5, 5.0
"""Goals of ``show`` of one green and of ``compare`` of 600, s, each a process of its own with all that it starts."""
ASKED = {"show": ["show", "ALD-1"], "compare": ["compare", "--force"]}
ROUNDS = 3
ONCE_MORE, COPIED = 10**6, 10**7
"""What is added to the line of a record five years before, and to that of each copy of a green's."""


@dataclass(frozen=True)
class Rebuilt:
    """A whole rebuild: greens and seasons, seconds waited and of processor time of all processes, and MB."""

    seasons: int
    wall_s: float
    cpu_s: float
    most_mb: float


def measure(times: Sequence[int] = TIMES, thousand: int = THOUSAND) -> None:
    """Print a whole rebuild at several sizes and its growth, the ratio to one at a time, and a small load's share."""
    with tempfile.TemporaryDirectory() as name:
        workspace = demo_workspace(Path(name) / "county")
        lengthen(workspace)
        single = one_at_a_time(workspace)
        found = [rebuilt(workspace, many) for many in times]
        largest = found[-1]
        _asked_for(workspace, times[-1] * GREENS)
        ratio = single / (largest.cpu_s / largest.seasons)
        sys.stdout.write(
            f"one green and season at a time, as before: {1000 * single:.0f} ms of processor time each, "
            f"{ratio:.1f} times as much\n"
            f"growth exponent of processor time {_exponent(found):.2f} over all sizes, "
            f"{_exponent(found[-2:]):.2f} over the last two (goal {EXPONENT})\n"
        )
    with tempfile.TemporaryDirectory() as name:
        a_small_load(demo_workspace(Path(name) / "clubs"), thousand)


def rebuilt(workspace: Workspace, many: int) -> Rebuilt:
    """Figures of so many counties made anew by two workers."""
    multiply(workspace, many)
    with Store(workspace.store) as store, watched() as taken:
        began = time.perf_counter()
        made = refresh(store, workspace, WORKERS).made
        waited = time.perf_counter() - began
    sys.stdout.write(
        f"{many * GREENS:>6,} greens, {made:,} seasons, {WORKERS} workers: {1000 * waited / made:.1f} ms each (goal "
        f"{SEASON_MS:g}), {1000 * taken.cpu_s / made:.1f} ms of processor time, {waited:.0f} s in all; "
        f"at most {taken.most_mb:,.0f} MB (goal {MEMORY_MB:,.0f}); load of the machine {os.getloadavg()[0]:.1f}\n"
    )
    return Rebuilt(made, waited, taken.cpu_s or waited, taken.most_mb)


def _exponent(found: Sequence[Rebuilt]) -> float:
    """Slope of processor time over greens and seasons, both as logarithms, by least squares."""
    points = [(math.log(one.seasons), math.log(one.cpu_s)) for one in found]
    x, y = (sum(values) / len(points) for values in zip(*points, strict=True))
    return sum((a - x) * (b - y) for a, b in points) / sum((a - x) ** 2 for a, _ in points)


def one_at_a_time(workspace: Workspace) -> float:
    """Seconds of processor time of one green and season made by itself, the mean of a sample of the county."""
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
    spans = list(seasons_on_record(records, workspace))
    indicators(green_records(records, *spans[0], workspace))  # imports
    sample = spans[:: len(spans) // SAMPLE][:SAMPLE]
    began = time.process_time()
    for green, season in sample:
        indicators(green_records(records, green, season, workspace))
    return (time.process_time() - began) / len(sample)


def a_small_load(workspace: Workspace, many: int) -> None:
    """Print what a load that touches three of a thousand clubs costs beside a whole rebuild; two seasons a green.

    The median of some, with what makes figures imported: the workers of a whole rebuild start with it. Every job of
    the three clubs is touched, in both seasons.
    """
    with Store(workspace.store) as store:
        for kind in _dated():
            store.con.execute(f"DELETE FROM history.{kind.name} WHERE date < ?", [FIRST_DAY[2]])
    whole = rebuilt(workspace, many)
    with Store(workspace.store) as store:
        waited = []
        for _ in range(ROUNDS):
            store.con.execute(
                "UPDATE history.job SET hours = coalesce(hours, 0) + 1 WHERE green IN (SELECT green FROM green "
                "WHERE list_contains(?, club))",
                [_clubs_touched(store)],
            )
            store.con.execute("UPDATE derived.state SET records = '0' || records")  # another text: stale
            began = time.perf_counter()
            touched = refresh(store, workspace)
            waited.append(time.perf_counter() - began)
        again = statistics.median(waited)
        began = time.perf_counter()
        assert figures_in(store, workspace.settings, "2026", ["ALD-1"])
        one = time.perf_counter() - began
    sys.stdout.write(
        f"a load that touches {CLUBS_TOUCHED} of {many * CLUBS:,} clubs: {touched.made} of {whole.seasons:,} seasons "
        f"made again, {again:.2f} s (first {waited[0]:.2f}), {100 * again / whole.wall_s:.1f} % of a whole rebuild by "
        f"{WORKERS} workers (goal {100 * SHARE:g} %); one green read in {1000 * one:.0f} ms\n"
    )


def _clubs_touched(store: Store) -> list[str]:
    """Clubs far apart in the order of their codes: its copies stand beside each other, and the first is the fullest."""
    clubs = [club for (club,) in store.rows("SELECT DISTINCT club FROM green ORDER BY club")]
    return [clubs[(2 * at + 1) * len(clubs) // (2 * CLUBS_TOUCHED)] for at in range(CLUBS_TOUCHED)]


def _dated() -> Iterator[Kind]:
    return (kind for kind in KINDS.values() if kind.dated)


def lengthen(workspace: Workspace) -> None:
    """Leave ten seasons of records: the last five, and the same five years before."""
    with Store(workspace.store) as store:
        for kind in _dated():
            store.con.execute(f"DELETE FROM history.{kind.name} WHERE date < ?", [FIRST_DAY[10]])
            names = [name for name in kind.by_name if name in ("date", "date_to")]
            moved = ", ".join(f"({name} - INTERVAL {SHIFTED_YEARS} YEAR)::DATE AS {name}" for name in names)
            store.con.execute(
                f"INSERT INTO history.{kind.name} SELECT * REPLACE ({moved}, line + {ONCE_MORE} AS line) "
                f"FROM history.{kind.name}"
            )
        _faults_too(store, f"SELECT *, {ONCE_MORE} AS more, '' AS mark FROM meta.fault")


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
    """Bring the store's greens and clubs, with their records, to so many times those of the demo county; no figures."""
    with Store(workspace.store) as store:
        for table in ("state", "green_mark", "figure", "green_season", "evidence"):
            store.con.execute(f"DELETE FROM derived.{table}")
        for kind in KINDS.values():
            named = [name for name in ("green", "club") if name in {field.name for field in kind.stored}]
            store.con.execute(f"DELETE FROM history.{kind.name} WHERE line >= {COPIED}")
            if named:
                said = ", ".join(f"{name} || '~' || n AS {name}" for name in named) + f", line + n * {COPIED} AS line"
                store.con.execute(
                    f"INSERT INTO history.{kind.name} SELECT * EXCLUDE (n) REPLACE ({said}) "
                    f"FROM history.{kind.name}, range(1, {many}) AS r(n) "
                    f"WHERE {' OR '.join(f'{name} IS NOT NULL' for name in named)}"
                )
        store.con.execute(f"DELETE FROM meta.fault WHERE line >= {COPIED}")
        of_copies = f"n * {COPIED} AS more, '~' || n AS mark FROM meta.fault, range(1, {many}) AS r(n)"
        _faults_too(store, f"SELECT * EXCLUDE (n), {of_copies}")


def _faults_too(store: Store, copies: str) -> None:
    """Faults on the lines that were copied."""
    store.con.execute(
        "INSERT INTO meta.fault SELECT * EXCLUDE (more, mark) REPLACE (line + more AS line, of_line + more AS of_line, "
        f"green || mark AS green) FROM ({copies}) WHERE line IS NOT NULL"
    )
