"""The small county loaded once; each test gets a copy of its store, since loading it anew costs half a second."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pipeline.indicators.record import GreenSeason
from pipeline.indicators.records import read_records
from pipeline.indicators.season import green_season
from pipeline.loading import load_paths
from pipeline.store import Store
from pipeline.workspace import Workspace, make_workspace, open_workspace
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY, Load
from tests.indicators.figures import Figures


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


@pytest.fixture
def figures(county: Load, workspace: Workspace) -> Figures:
    """Loads texts as files into the small county and gives the green's season.

    ``figures(job="…")`` loads the text as job.csv, after the kinds before it in the argument list.
    """

    def _figures(green: str = "ALD-1", season: str = "2026", **files: str) -> GreenSeason:
        for kind, text in files.items():
            result = county(f"{kind}.csv", text, kind=kind)
            assert not result.counts.rejected, result.faults["message"].to_list()
        with Store(workspace.store, read_only=True) as store:
            records = read_records(store)
        return green_season(records, green, workspace.season(season), workspace)

    return _figures
