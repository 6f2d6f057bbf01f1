"""The validated load of a job log against the bare typed read of the same file by DuckDB, paired in each round."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import duckdb

from tests.bench.jobs import load, workspace_with_registers, write_jobs

ROUNDS = 3
TYPES = {
    "date": "DATE",
    "green": "VARCHAR",
    "operation": "VARCHAR",
    "material": "VARCHAR",
    "reference": "VARCHAR",
    "logged_by": "VARCHAR",
    "depth_mm": "DOUBLE",
    "passes": "DOUBLE",
    "mass_kg": "DOUBLE",
    "hours": "DOUBLE",
    "people": "BIGINT",
    "cost": "DOUBLE",
    "note": "VARCHAR",
}


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
    say = sys.stdout.write
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        clean, half = folder / "clean.csv", folder / "half.csv"
        write_jobs(clean, rows)
        write_jobs(half, rows, bad_share=0.5)
        say(f"job log of {rows:,} rows, {clean.stat().st_size / 1e6:.0f} MB, {ROUNDS} rounds, medians\n")
        ratios, again, bad = [], [], []
        for _ in range(ROUNDS):
            bare = bare_read(folder, clean)
            first, repeat = timed_load(folder, clean)
            worse, _ = timed_load(folder, half)
            ratios.append(first / bare)
            again.append(repeat / first)
            bad.append(worse / first)
            say(f"  bare read {bare:.2f} s, validated {first:.2f} s, again {repeat:.2f} s, half bad {worse:.2f} s\n")
        say(f"validated load against bare typed read: {statistics.median(ratios):.2f} (target 1.8)\n")
        say(f"loading the unchanged file again against its first load: {statistics.median(again):.3f} (target 0.1)\n")
        say(f"half the rows bad against clean: {statistics.median(bad):.2f} (target 2)\n")
        smaller = folder / "smaller.csv"
        write_jobs(smaller, rows // 2)
        less, more = _peak_memory(folder / "less", smaller), _peak_memory(folder / "more", clean)
        say(f"peak memory of a validated load: {more:,.0f} MB, of one half as large {less:,.0f} MB: ")
        say(f"ratio {more / less:.2f} (at most 2: no faster than the file)\n")


def _peak_memory(folder: Path, path: Path) -> float:
    """Peak memory in MB of a process of its own that loads the file once."""
    code = (
        "import resource, sys; from pathlib import Path; from tests.bench.jobs import load, workspace_with_registers; "
        f"load(workspace_with_registers(Path({str(folder)!r})), Path({str(path)!r})); "
        "sys.stdout.write(str(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    unit = 1024**2 if sys.platform == "darwin" else 1024
    return int(done.stdout) / unit
