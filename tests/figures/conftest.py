"""Stores that tests of figures begin with, made once for all processes of the run."""

from __future__ import annotations

from pathlib import Path
from shutil import copyfile, copytree

import pytest

from pipeline.figures.refresh import keep_up, refresh
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import once


@pytest.fixture(scope="session")
def figured(shared_folder: Path, demo_county: Workspace) -> Path:
    """The demo county's store with figures: to be read, never written."""
    folder = shared_folder / "demo-figures"

    def make() -> None:
        copyfile(demo_county.store, folder / "store.duckdb")
        with Store(folder / "store.duckdb") as store:
            assert refresh(store, demo_county).made

    once(folder, make)
    return folder / "store.duckdb"


@pytest.fixture(scope="session")
def registered(shared_folder: Path) -> Path:
    """A workspace with the registers of three greens of two clubs: to be copied, never written."""
    from tests.figures.test_figures_refreshed import FIRST, step

    folder = shared_folder / "three-greens"

    def make() -> None:
        make_workspace(folder / "workspace")
        workspace = open_workspace(folder / "workspace")
        for file, text in FIRST.items():
            step(workspace, file, text)

    once(folder, make)
    return folder / "workspace"


@pytest.fixture(scope="session")
def of_one_job(shared_folder: Path, registered: Path) -> Path:
    """The same with a job on each of two greens and their figures: to be copied, never written."""
    from tests.figures.test_figures_refreshed import one_job, step

    folder = shared_folder / "one-job"

    def make() -> None:
        workspace = open_workspace(copytree(registered, folder / "workspace"))
        step(workspace, "log-a.csv", one_job(2))
        keep_up(workspace)

    once(folder, make)
    return folder / "workspace"
