"""Shared stores for tests: a server, and workspaces whose settings name a store in it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest

from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.workspace.settings import SETTINGS, Workspace, make_workspace, open_workspace
from tests.shared.server import Server, lacking, server

_numbers = count()


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A server, one for each process of the run; where there can be none, a skip, and in CI a failure."""
    if why := lacking():
        if os.environ.get("CI") == "true":
            pytest.fail(why)
        pytest.skip(why)
    with server() as running:
        yield running


@pytest.fixture(scope="session")
def shared_stores(postgres: Server, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Two databases to copy, by name, each with the folder of its files: an empty store, and the small county."""
    from tests.conftest import REGISTERS, TODAY

    made = {}
    for name, texts in (("empty", {}), ("county", REGISTERS)):
        folder = tmp_path_factory.mktemp(name)
        postgres.made(name, folder / "files")
        here = shared_workspace(folder / "w", postgres, name, folder / "files")
        with Store(here.store):
            pass
        for file, text in texts.items():
            (folder / file).write_text(text, "utf-8")
            assert not load_paths(here, [folder / file], today=TODAY)[0].failed
        made[name] = folder / "files"
    return made


def shared_workspace(folder: Path, running: Server, database: str, files: Path) -> Workspace:
    """A workspace in a folder whose settings name a shared store."""
    folder.mkdir(parents=True, exist_ok=True)
    make_workspace(folder)
    path = folder / SETTINGS
    lines = path.read_text("utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith(("store =", "store_files ="))]
    said = f'store = "ducklake:postgres:{running.words(database)}"\nstore_files = "{files}"\n'
    path.write_text(said + "".join(kept), "utf-8")
    return open_workspace(folder)


def workspace_with(name: str, folder: Path, request: pytest.FixtureRequest) -> Workspace:
    """A workspace with a copy of one of the shared stores."""
    running: Server = request.getfixturevalue("postgres")
    stores: dict[str, Path] = request.getfixturevalue("shared_stores")
    factory: pytest.TempPathFactory = request.getfixturevalue("tmp_path_factory")
    database, files = f"of_test_{next(_numbers)}", factory.mktemp("shared") / "files"
    running.made(database, files, template=name)
    shutil.copytree(stores[name], files)
    return shared_workspace(folder, running, database, files)
