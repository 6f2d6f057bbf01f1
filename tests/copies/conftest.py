"""A small workspace with something of everything that a copy takes, and a backup of it; both are made once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from PIL import Image

from pipeline.copies.backup import back_up
from pipeline.load.files import load_paths
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY

JOBS = (
    "date,green,operation,material,packs,hours,cost,note\n"
    '2026-03-16,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,2,1,63.1,"said ""twice"", dry"\n'
    "2026-03-17,ALD-1,mowing,,,1.5,0.1,=1+1\n"
    "2026-03-17,ALD-1,mowing,,,1.5,0.1,\n"
    "2026-03-18,ALD-1,moing,,,1,,\n"
)
SPEEDS = "date,green,value,unit,rink\n2026-06-20,ALD-1,12.1,s,3\n2026-06-20,ALD-1,11.8,s,4\n"
PHOTOS = "date,green,picture,caption,taken_by\n2026-06-20,ALD-1,core.png,A core,office\n"
PROFILE = 'name = "crew"\nkind = "job"\n\n[fields]\ndate = "Visited"\ngreen = "Place"\noperation = "What we did"\n'


def made_workspace(folder: Path, registers: Path) -> Workspace:
    """The workspace, with loads in force and one taken back, a rejected row, a picture, and a person's own files."""
    make_workspace(folder)
    shutil.copyfile(registers, folder / "store.duckdb")
    here = open_workspace(folder)
    inbox = folder / "inbox"
    (inbox / "jobs.csv").write_text(JOBS, "utf-8")
    (inbox / "speeds.csv").write_text(SPEEDS, "utf-8")
    (inbox / "april.csv").write_text("date,green,operation,hours\n2026-04-02,ALD-1,mowing,1\n", "utf-8")
    (inbox / "photos.csv").write_text(PHOTOS, "utf-8")
    Image.new("RGB", (12, 8), "green").save(inbox / "core.png")
    for name in ("jobs.csv", "speeds.csv", "photos.csv", "april.csv"):
        results = load_paths(here, [inbox / name], today=TODAY)
    undo(here, results[0].load_id or 0)
    (folder / "profiles" / "crew.toml").write_text(PROFILE, "utf-8")
    (folder / "surveys").mkdir()
    (folder / "surveys" / "ALD-1-2026-06-20.toml").write_text('text = "é"\n', "utf-8")
    (folder / "inbox" / "empty.txt").touch()
    (folder / "reports" / "2026").mkdir()
    (folder / "reports" / "2026" / "ALD-1-condition-2026.pdf").write_bytes(b"%PDF-1.7 made anew")
    (folder / "reports" / "2026" / "ALD-programme-2026.csv").write_text("edited\n", "utf-8")
    return here


@pytest.fixture(scope="session")
def original(tmp_path_factory: pytest.TempPathFactory, registers: tuple[Path, Path]) -> Workspace:
    """The workspace; to be read, never written."""
    folder = tmp_path_factory.mktemp("original") / "ostershire"
    folder.mkdir()
    return made_workspace(folder, registers[1])


@pytest.fixture(scope="session")
def backups(original: Workspace) -> Path:
    """A folder with one backup of it; to be read, never written."""
    return back_up(original, original.folder.parent / "backups").path.parent.parent


@pytest.fixture
def here(original: Workspace, tmp_path: Path) -> Workspace:
    """A workspace of the test's own that is the same."""
    shutil.copytree(original.folder, tmp_path / "ostershire")
    return open_workspace(tmp_path / "ostershire")


@pytest.fixture
def copied(backups: Path, tmp_path: Path) -> Path:
    """A folder of backups of the test's own that is the same, as one brought to another machine."""
    shutil.copytree(backups, tmp_path / "brought")
    return tmp_path / "brought"
