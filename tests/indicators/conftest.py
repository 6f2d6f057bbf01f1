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
def figures(county: Load, workspace: Workspace, tmp_path: Path) -> Figures:
    """Loads texts as files into the small county and gives the green's season.

    ``figures("ALD-1", job="…")`` loads the text as job.csv; registers come first whatever the order.
    """

    def _figures(code: str = "ALD-1", /, season: str = "2026", **files: str) -> GreenSeason:
        paths = [tmp_path / f"{kind}.csv" for kind in files]
        for path, text in zip(paths, files.values(), strict=True):
            path.write_text(text)
        for result in load_paths(workspace, paths, today=TODAY) if paths else ():
            assert result.kind == result.file.removesuffix(".csv")
            assert not result.counts.rejected, result.faults["message"].to_list()
        with Store(workspace.store, read_only=True) as store:
            records = read_records(store)
        return green_season(records, code, workspace.season(season), workspace)

    return _figures
