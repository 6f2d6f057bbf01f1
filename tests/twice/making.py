"""``python -m tests.twice.making FOLDER THREADS [demo|least]``: a workspace to be made twice.

It holds the demo's records and two greens' reports, one survey and one comparison; or the whole demo; or, of the demo's
registers and what came of one season, one green's report.
"""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from functools import partial
from importlib.resources import as_file, files
from pathlib import Path
from shutil import copy, copytree

import duckdb

from pipeline.cli.demo import DEMO_DAY, FOLDERS, demo_workspace, make_demo
from pipeline.load.files import load_paths
from pipeline.publish.comparison import compare
from pipeline.publish.documents import write_reports
from pipeline.publish.survey import write_survey
from pipeline.store.proof.seals import salts_of_a_demo

ROOT = Path(__file__).parents[2]
GREENS = ("BRA-1", "FEN-1")
"""Crown and flat, the second surveyed; the soil tests of the first come from a wide sheet, several a line."""
SURVEYED = ("FEN-1", date(2026, 9, 17))
OF_ONE_SEASON = (
    "registers",
    "as_it_arrives/jobs_north_round.csv",
    "as_it_arrives/lab_tarnfold_nutrients_2026.csv",
    "as_it_arrives/lab_tarnfold_organic_2026.csv",
    "as_it_arrives/speeds_county_2026.csv",
)
"""Folders and files of the demo that make up the least: jobs, wide sheets and speeds, each read by a profile."""


TWO = (
    ({"PYTHONHASHSEED": "1", "POLARS_MAX_THREADS": "1", "TZ": "UTC"}, "1"),
    ({"PYTHONHASHSEED": "4711", "POLARS_MAX_THREADS": "6", "TZ": "Pacific/Auckland"}, "6"),
)
"""Environment and DuckDB's threads of each of the two processes."""


def start(folder: Path, number: int, *more: str) -> subprocess.Popen[str]:
    """The first (0) or second (1) process that makes a workspace in a folder."""
    environment, threads = TWO[number]
    command = [sys.executable, "-m", "tests.twice.making", str(folder), threads, *more]
    return subprocess.Popen(command, cwd=ROOT, env={**os.environ, **environment}, stderr=subprocess.PIPE, text=True)


def few(folder: Path) -> None:
    """A workspace with the demo's records and a few documents of each sort."""
    workspace = demo_workspace(folder)
    with as_file(files("demo_data")) as source:
        for name in FOLDERS:
            copytree(source / name, folder / "inbox" / name)
    with salts_of_a_demo():
        for name in FOLDERS:
            load_paths(workspace, [folder / "inbox" / name], today=DEMO_DAY)
    written = write_reports(workspace, greens=GREENS, workers=1)
    assert not any(one.fault for one in written), written
    assert not write_survey(workspace, *SURVEYED).fault
    compare(workspace)


def least(folder: Path) -> None:
    """A workspace with a season's records and the condition report of the first green."""
    workspace = demo_workspace(folder)
    with as_file(files("demo_data")) as source:
        for name in OF_ONE_SEASON:
            (copytree if (source / name).is_dir() else copy)(source / name, _place(folder / "inbox" / name))
    with salts_of_a_demo():
        for name in OF_ONE_SEASON:
            load_paths(workspace, [folder / "inbox" / name], today=DEMO_DAY)
    written = write_reports(workspace, greens=GREENS[:1], workers=1, only=["condition"])
    assert not any(one.fault for one in written), written


def _place(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    return path


MAKINGS = {"demo": make_demo, "few": few, "least": least}


def _with_threads(connect: object, threads: int, *given: object, **options: object) -> object:
    options["config"] = {**options.get("config", {}), "threads": threads}  # type: ignore[dict-item]
    return connect(*given, **options)  # type: ignore[operator]


if __name__ == "__main__":
    duckdb.connect = partial(_with_threads, duckdb.connect, int(sys.argv[2]))  # type: ignore[assignment]
    MAKINGS[(sys.argv[3:] or ["few"])[0]](Path(sys.argv[1]))
