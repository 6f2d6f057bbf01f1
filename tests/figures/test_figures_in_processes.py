"""Figures made in worker processes are those made in one, and a worker that fails leaves the store as it was."""

from __future__ import annotations

import gc
import os
import signal
import subprocess
import sys
import tempfile
import time
import weakref
from collections.abc import Callable
from dataclasses import replace
from multiprocessing import active_children, parent_process
from pathlib import Path
from shutil import copytree, rmtree
from typing import Any

import duckdb
import polars as pl
import pytest

from pipeline.common.processes import processes
from pipeline.common.refusal import CannotDo
from pipeline.figures import making
from pipeline.figures import refresh as refreshing
from pipeline.figures.making import Lot, Worked, worked
from pipeline.figures.refresh import refresh
from pipeline.figures.state import state_of
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import part_of
from pipeline.indicators.base.seasons import seasons_on_record
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import once
from tests.figures.test_figures_refreshed import TABLES, log, soil, step, weather
from tests.thorough import beyond, thorough

ROOT = Path(__file__).parents[2]
LOADS = {
    "log.csv": log([(10, "ALD-1", "feed"), (20, "PEN-1", "dress"), (25, "PEN-2", "feed"), (400, "PEN-2", "mow")]),
    "soil.csv": soil([(2022, "ALD-1", 60), (2023, "PEN-1", 50), (2024, "ALD-1", 55), (2025, "PEN-1", 40)]),
    "days.csv": weather(20),
}


@pytest.fixture(scope="session")
def of_seasons(shared_folder: Path, registered: Path) -> Path:
    """Three greens of two clubs with records of several seasons, no figures yet: to be copied, never written."""
    folder = shared_folder / "several-seasons"

    def make() -> None:
        workspace = open_workspace(copytree(registered, folder / "workspace"))
        for file, text in LOADS.items():
            step(workspace, file, text)

    once(folder, make)
    return folder / "workspace"


@pytest.fixture
def loaded(of_seasons: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Workspace:
    """A copy of that; a green is work for a process."""
    workspace = open_workspace(copytree(of_seasons, tmp_path / "workspace"))
    monkeypatch.setattr(refreshing, "GREENS_READ", 1)
    monkeypatch.setattr(refreshing, "GREENS_A_PROCESS", 1)
    return workspace


def rows(workspace: Workspace) -> dict[str, list[tuple[Any, ...]]]:
    """The rows of figures in the order they were written."""
    with duckdb.connect(str(workspace.store), read_only=True) as con:
        return {name: con.execute(f"SELECT * FROM derived.{name} ORDER BY rowid").fetchall() for name in TABLES}


def anew(workspace: Workspace, workers: int) -> dict[str, list[tuple[Any, ...]]]:
    """Those rows, made by so many processes from nothing."""
    with Store(workspace.store) as store:
        for table in (*TABLES, "green_mark", "state"):
            store.con.execute(f"DELETE FROM derived.{table}")
        assert refresh(store, workspace, workers).made > 3
    return rows(workspace)


def test_any_number_of_processes_writes_the_same(loaded: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    """Row for row, in the same order; so do greens together and each by itself."""
    alone = anew(loaded, 1)
    assert {green for green, *_ in alone["green_season"]} == {"ALD-1", "PEN-1", "PEN-2"}
    assert anew(loaded, 2) == alone
    assert anew(loaded, 3) == alone
    monkeypatch.setattr(refreshing, "GREENS_READ", 2)
    assert anew(loaded, 2) == alone
    monkeypatch.setattr(refreshing, "GREENS_READ", 50)
    assert anew(loaded, 2) == alone
    monkeypatch.setattr(refreshing, "SEASONS_WORKED", 2)
    assert anew(loaded, 1) == alone


def test_a_part_of_the_greens_is_what_is_read_of_them(demo_county: Workspace) -> None:
    """Records read of many greens and parted are those read of the few; so are their rejected rows."""
    with Store(demo_county.store, read_only=True) as store:
        greens = store.register().greens["green"].to_list()
        many, few = read_records(store, greens[:9]), read_records(store, greens[2:5])
    part = part_of(many, greens[2:5])
    assert part.of_greens == few.of_greens
    for name, frame in {**few.frames, "application": few.applications}.items():
        assert (part.applications if name == "application" else part.frames[name]).equals(frame), name
    assert all(part.periods[name].equals(frame) for name, frame in few.periods.items())
    every = replace(few, of_greens=None).rejected
    theirs = pl.col("green").is_in(greens[2:5])
    assert part.rejected.height < every.height
    assert part.rejected.filter(theirs).equals(every.filter(theirs))
    assert part.rejected.filter(theirs).height


def test_work_for_one_process_starts_no_other() -> None:
    assert [processes(tasks) for tasks in (0, 1)] == [0, 1]
    assert [processes(tasks, 2) for tasks in (1, 2, 9)] == [1, 2, 2]


def of_pennywell(lot: Lot) -> bool:
    return lot.records.frames["job"]["green"].str.starts_with("PEN").any()


def lost(lot: Lot) -> Worked:
    """The second lot's worker is ended from outside."""
    if of_pennywell(lot):
        os.kill(os.getpid(), signal.SIGTERM)
    return worked(lot)


def faulty(lot: Lot) -> Worked:
    """The second lot cannot be made."""
    if of_pennywell(lot):
        raise ArithmeticError("of this lot")
    return worked(lot)


def interrupting(_: Lot) -> Worked:
    """Ctrl-C comes while workers work, and they would for a minute."""
    whole = parent_process()
    assert whole is not None
    os.kill(whole.pid or 0, signal.SIGINT)
    time.sleep(60)
    raise AssertionError


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize(
    ("work", "error", "told"),
    [
        (lost, CannotDo, r"A worker process was ended before its work was done\."),
        (faulty, ArithmeticError, "of this lot"),
        (interrupting, KeyboardInterrupt, "^$"),
    ],
)
@beyond(1)
def test_a_worker_that_fails_leaves_the_store_as_it_was(
    work: Callable[[Lot], Worked], error: type[BaseException], told: str, loaded: Workspace,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """Nothing of what other workers made is kept, the figures are not said to be fresh, and no worker stays."""
    before = anew(loaded, 1)
    step(loaded, "log.csv", LOADS["log.csv"].replace("30 kg", "31 kg").replace("2 t", "3 t"))
    monkeypatch.setattr(making, "worked", work)
    others, start = set(active_children()), time.monotonic()
    with Store(loaded.store) as store:
        with pytest.raises(error, match=told):
            refresh(store, loaded, 2)
        assert not state_of(store, loaded.settings).records
    assert time.monotonic() - start < 30
    for one in set(active_children()) - others:
        one.join(10)
        assert not one.is_alive()
    assert rows(loaded) == before


@thorough
def test_a_disk_that_takes_no_figures_leaves_the_store_as_it_was(
    loaded: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder for temporary files that is not there, and one that is lost while workers write."""
    before = anew(loaded, 1)
    step(loaded, "log.csv", LOADS["log.csv"].replace("30 kg", "31 kg"))
    (tmp_path / "lost").mkdir()
    for folder in ("nowhere", "lost"):
        monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / folder))
        if folder == "lost":
            monkeypatch.setattr(making, "worked", without_a_folder)
        with Store(loaded.store) as store, pytest.raises(CannotDo, match="on their way into the store: No such file"):
            refresh(store, loaded, 1)
        assert rows(loaded) == before


def without_a_folder(lot: Lot) -> Worked:
    """The folder for temporary files is gone when the lot is made."""
    rmtree(lot.into)
    return worked(lot)


def test_a_load_that_changes_nothing_does_not_import_what_makes_figures(loaded: Workspace) -> None:
    """Nor does one that is only tried; one that changes something does, so that this tells something."""
    code = (
        "import sys\nfrom pipeline.cli.app import main\ntry:\n    main()\n"
        "except SystemExit as end:\n    print(end.code, 'pipeline.indicators.families' in sys.modules)"
    )

    def load(*more: str) -> str:
        words = ["load", str(loaded.folder / "log.csv"), "-w", str(loaded.folder), "-q", *more]
        done = subprocess.run(
            [sys.executable, "-c", code, *words], capture_output=True, text=True, cwd=ROOT, check=True
        )
        return done.stdout.splitlines()[-1]

    anew(loaded, 1)
    assert load() == "0 False"
    (loaded.folder / "log.csv").write_text(LOADS["log.csv"].replace("30 kg", "31 kg"), "utf-8")
    assert load("--dry-run") == "0 False"
    assert load() == "0 True"
    assert load() == "0 False"


def test_a_lots_records_are_let_go(loaded: Workspace, tmp_path: Path) -> None:
    """A worker works lot after lot: were one kept, by itself or by what knows it, memory would grow with the greens."""
    gc.disable()  # what only a look for waste would find stays meanwhile
    try:
        with Store(loaded.store, read_only=True) as store:
            records = read_records(store)
        worked(Lot(0, records, list(seasons_on_record(records, loaded)), loaded, {}, tmp_path))
        held = weakref.ref(records)
        del records
        assert held() is None
    finally:
        gc.enable()
