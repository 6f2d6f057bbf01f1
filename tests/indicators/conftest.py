"""The small county in one store in memory; what a test loads into it is taken back after the test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.load.load import Loader
from pipeline.load.result import FileResult
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from schemas import KINDS
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY, Load
from tests.indicators.figures import Figures

BEFORE = "date,green,operation\n2015-10-01,ALD-1,inspection\n"
NOT_KEPT = "DELETE FROM history.job WHERE green = 'ALD-1' AND date = '2015-10-01'"


def load_text(store: Store, folder: Path, name: str, text: str) -> FileResult:
    """Loads a text as a file of that name into an open store."""
    path = folder / name
    path.write_text(text)
    loader = Loader(store, Workspace(folder, Settings()), (), TODAY)
    (found,) = loader.detect(path, name)
    return loader.load(found)


@pytest.fixture(scope="session")
def county_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A store in memory that holds one club, one green and two materials, and the green's log of before."""
    folder = tmp_path_factory.mktemp("county")
    texts = {"clubs.csv": CLUBS, "greens.csv": GREENS, "materials.csv": MATERIALS, "before.csv": BEFORE}
    with Store(Path(":memory:")) as store:
        for name, text in texts.items():
            assert not load_text(store, folder, name, text).failed
        yield store


@pytest.fixture
def county(county_store: Store, tmp_path: Path) -> Iterator[Load]:
    """Loads further files into that store; all of them are taken back in the end."""
    with county_store.rehearsal():
        yield lambda name, text: load_text(county_store, tmp_path, name, text)


@pytest.fixture
def figures(county: Load, county_store: Store, tmp_path: Path) -> Figures:
    """Loads texts as files into the small county and gives the green's season.

    ``figures("ALD-1", job="…")`` loads the text as job.csv; registers come first whatever the order.
    Unless it says otherwise the log was kept before: its job of 2015 stands in no season that is looked at, and keeps
    totals whole.
    """
    workspace = Workspace(tmp_path, Settings())

    def _figures(code: str = "ALD-1", /, season: str = "2026", kept_before: bool = True, **files: str) -> GreenSeason:
        kept = kept_before and "job" in files
        if files and (not kept or code != "ALD-1"):
            county_store.con.execute(NOT_KEPT)
        for kind in sorted(files, key=list(KINDS).index):
            if kind == "job" and kept and code != "ALD-1":
                county("before.csv", BEFORE.replace("ALD-1", code))
            result = county(f"{kind}.csv", files[kind])
            assert result.kind == kind
            assert not result.counts.rejected, result.faults["message"].to_list()
        return green_season(read_records(county_store), code, workspace.season(season), workspace)

    return _figures
