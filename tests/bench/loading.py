"""The validated load of a job log against the bare typed read of the same file by DuckDB, paired in each round."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from unittest.mock import patch

import duckdb

from pipeline.load import load as load_module
from pipeline.load import loading as loading_module
from pipeline.store import store as store_module
from tests.bench import peers
from tests.bench.jobs import TYPES, load, workspace_with_registers, write_jobs
from tests.bench.parts import OTHER, Clock
from tests.bench.reached import row

ROUNDS = 3
FEWER = 100_000
"""Rows that frictionless validates: it takes a minute over ten times as many."""


def bare_read(folder: Path, path: Path, *, store_rejects: bool = False) -> float:
    """Seconds of the bare typed read into a new DuckDB file."""
    columns = "{" + ", ".join(f"'{name}': '{kind}'" for name, kind in TYPES.items()) + "}"
    extra = ", store_rejects=true" if store_rejects else ""
    target = folder / f"bare-{time.monotonic_ns()}.duckdb"
    start = time.perf_counter()
    con = duckdb.connect(str(target))
    con.execute(
        f"CREATE TABLE job AS SELECT * FROM read_csv(?, header=true, auto_detect=false, delim=',', quote='\"', "
        f"columns={columns}{extra})",
        [str(path)],
    ).fetchall()
    con.close()
    seconds = time.perf_counter() - start
    target.unlink()
    return seconds


def timed_load(folder: Path, path: Path) -> tuple[float, float]:
    """Seconds of the validated load into a new workspace, and of loading the unchanged file again."""
    workspace = workspace_with_registers(folder / f"w{time.monotonic_ns()}")
    start = time.perf_counter()
    first = load(workspace, path)
    middle = time.perf_counter()
    again = load(workspace, path)
    end = time.perf_counter()
    assert again.counts.loaded == 0
    assert first.counts.loaded, first.faults
    assert first.counts.rows == first.counts.loaded + first.counts.rejected
    return middle - start, end - middle


def measure(rows: int) -> None:
    """Print the ratios."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        clean, half = folder / "clean.csv", folder / "half.csv"
        write_jobs(clean, rows)
        write_jobs(half, rows, bad_share=0.5)
        _say(f"job log of {rows:,} rows, {clean.stat().st_size / 1e6:.0f} MB, {ROUNDS} rounds, medians")
        found: dict[str, list[float]] = {"bare": [], "pandas": [], "again": [], "bad": []}
        for _ in range(ROUNDS):
            bare, panda = bare_read(folder, clean), peers.by_pandas(clean, folder / "peer.duckdb")
            first, repeat = timed_load(folder, clean)
            worse, _ = timed_load(folder, half)
            for which, ratio in zip(found, (first / bare, first / panda, repeat / first, worse / first), strict=True):
                found[which].append(ratio)
            _say(f"  bare read {bare:.2f} s, pandas and pandera {panda:.2f} s, validated {first:.2f} s, ", end="")
            _say(f"again {repeat:.2f} s, half bad {worse:.2f} s")
        row("validated load against DuckDB's bare typed read into a file", statistics.median(found["bare"]), 1.8)
        row("the same against pandas, pandera and DuckDB", statistics.median(found["pandas"]), 0.9)
        row("loading the unchanged file again against its first load", statistics.median(found["again"]), 0.05)
        row("half the rows bad against clean", statistics.median(found["bad"]), 2)
        _against_frictionless(folder)
        smaller = folder / "smaller.csv"
        write_jobs(smaller, rows // 2)
        less, more = _peak_memory(folder / "less", smaller), _peak_memory(folder / "more", clean)
        _say(f"peak memory of a validated load: {more:,.0f} MB (goal: at most 1,000 at a million rows), ", end="")
        _say(f"of a file half as large {less:,.0f} MB, ratio {more / less:.2f}")
        _say(f"processor time of a load, and where it goes: {_shares(folder / 'shares', clean)}")


def _say(text: str, end: str = "\n") -> None:
    sys.stdout.write(text + end)
    sys.stdout.flush()


def _against_frictionless(folder: Path) -> None:
    """A load of fewer rows against frictionless, which validates them and no more."""
    path = folder / "fewer.csv"
    write_jobs(path, FEWER)
    ratios = []
    for _ in range(ROUNDS):
        if (theirs := peers.by_frictionless(path)) is None:
            _say("frictionless is not here: make bench installs it where it can")
            return
        ratios.append(timed_load(folder, path)[0] / theirs)
    row(f"validated load of {FEWER:,} rows against frictionless", statistics.median(ratios), 0.2)


STEPS = (
    (load_module, "detect", "reading"),
    (load_module, "standardise", "understanding"),
    (load_module, "validate", "checking"),
    (loading_module, "match", "laying out"),
    (loading_module, "write_records", "writing"),
    (loading_module, "add_load", "hashing"),
    (store_module, "settle", "bringing the log into the file"),
)
"""Steps of a load, where each is called, and what it does."""


def _shares(folder: Path, path: Path) -> str:
    """Processor time of a load, and each step's share of it, in the order of the steps."""
    workspace, clock = workspace_with_registers(folder), Clock()
    with ExitStack() as until_done:
        for module, name, what in STEPS:
            until_done.enter_context(patch.object(module, name, clock.of(getattr(module, name), what)))
        with clock.part(OTHER):
            load(workspace, path)
    whole = sum(clock.seconds.values())
    told = ", ".join(f"{what} {clock.seconds[what] / whole:.0%}" for _, _, what in STEPS)
    return f"{whole:.1f} s, {told}"


def _peak_memory(folder: Path, path: Path) -> float:
    """Peak memory in MB of a process of its own that loads the file once."""
    code = (
        "import sys; from pathlib import Path; from tests.bench.watched import most_held_mb; "
        "from tests.bench.jobs import load, workspace_with_registers; "
        f"load(workspace_with_registers(Path({str(folder)!r})), Path({str(path)!r})); "
        "sys.stdout.write(str(most_held_mb()))"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return float(done.stdout)
