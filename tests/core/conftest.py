"""The small county loaded once; each test gets a copy of its store, since loading it anew costs half a second."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pipeline.loading import load_paths
from pipeline.workspace import Workspace, make_workspace, open_workspace
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY, Load


@pytest.fixture(scope="session")
def county_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store that holds one club, one green and two materials (loads 1 to 3)."""
    folder = tmp_path_factory.mktemp("county")
    make_workspace(folder)
    workspace = open_workspace(folder)
    for name, text in (("clubs.csv", CLUBS), ("greens.csv", GREENS), ("materials.csv", MATERIALS)):
        path = folder / name
        path.write_text(text)
        assert not load_paths(workspace, [path], today=TODAY)[0].failed
    return workspace.store


@pytest.fixture
def county(load: Load, workspace: Workspace, county_store: Path) -> Load:
    """A workspace with that county in it; loads further files into it."""
    shutil.copy(county_store, workspace.store)
    return load
