"""The demo county with its figures in the store, made once for all processes of the run."""

from __future__ import annotations

from pathlib import Path
from shutil import copyfile

import pytest

from pipeline.figures.refresh import refresh
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
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
