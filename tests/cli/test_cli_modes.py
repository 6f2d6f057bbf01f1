"""Nobody else on the machine reads what the tool writes; the group has what the umask gives it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from pipeline.cli.app import main
from pipeline.cli.demo import demo_workspace
from pipeline.survey.build import OWN_TEXTS
from tests.thorough import beyond

if sys.platform == "win32":
    pytest.skip("Windows has no such rights", allow_module_level=True)

JOBS = (
    "date,green,operation,logged_by,hours\n2026-03-01,ALD-1,mowing,A. Person,1.5\n2026-03-32,ALD-1,mowing,A. Person,1\n"
)


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., int]]:
    """Runs the command line under a umask, as a shell would start it."""
    before = os.umask(0)

    def _run(umask: int, *words: object) -> int:
        os.umask(umask)
        monkeypatch.setattr(sys, "argv", ["swardtally", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        return int(str(ended.value.code))

    yield _run
    os.umask(before)


def modes(folder: Path) -> tuple[set[int], set[int]]:
    """Rights of the files and of the folders in a folder, itself among them."""
    paths = [folder, *folder.rglob("*")]
    rights = [(path.is_dir(), path.stat().st_mode & 0o777) for path in paths]
    return {mode for is_dir, mode in rights if not is_dir}, {mode for is_dir, mode in rights if is_dir}


@pytest.mark.parametrize(
    ("umask", "file", "folder"), [(0o022, 0o640, 0o750), (0o077, 0o600, 0o700), (0o002, 0o660, 0o770)]
)
@beyond(1)
def test_what_is_made_is_closed_to_others(
    run: Callable[..., int], tmp_path: Path, umask: int, file: int, folder: int
) -> None:
    """A store and rejected rows hold people's names: on a machine of several users 644 shows them to everybody."""
    workspace, source = tmp_path / "ws", tmp_path / "jobs.csv"
    source.write_text(JOBS)
    assert run(umask, "init", workspace) == 0
    (tmp_path / "greens.csv").write_text("green,club,area_m2\nALD-1,ALD,1600\n")
    (tmp_path / "clubs.csv").write_text("club,name\nALD,Alder Brook\n")
    assert run(umask, "load", tmp_path / "clubs.csv", tmp_path / "greens.csv", source, "-w", workspace) == 1
    assert run(umask, "decide", "aside", "jobs.csv", "--why", "none", "--who", "office", "-w", workspace) == 0
    assert run(umask, "forms", "crew", "-w", workspace) == 0
    made = {path.relative_to(workspace).as_posix() for path in workspace.rglob("*")}
    assert {"store.duckdb", "rejected/jobs.rejected.csv", "decisions/decided.toml", "forms/crew.xlsx"} <= made
    assert modes(workspace) == ({file}, {folder})


def test_what_the_demo_brings_has_the_rights_of_the_umask(tmp_path: Path) -> None:
    """Where it is installed for everybody, files and folders may be read by all, or written by none."""
    before = os.umask(0o027)
    try:
        place = demo_workspace(tmp_path / "demo").folder
    finally:
        os.umask(before)
    assert list(place.glob("profiles/*.toml"))
    assert list(place.glob(f"{OWN_TEXTS}/*"))
    assert modes(place) == ({0o640}, {0o750})


def test_a_store_that_is_there_keeps_its_mode(run: Callable[..., int], tmp_path: Path) -> None:
    """Somebody has opened it to a group: the next load does not close it again."""
    workspace, clubs = tmp_path / "ws", tmp_path / "clubs.csv"
    clubs.write_text("club,name\nALD,Alder Brook\n")
    assert run(0o022, "init", workspace) == 0
    assert run(0o022, "load", clubs, "-w", workspace) == 0
    store = workspace / "store.duckdb"
    store.chmod(0o664)
    clubs.write_text("club,name\nALD,Alder Brook\nBRA,Bramfold\n")
    assert run(0o022, "load", clubs, "-w", workspace) == 0
    assert store.stat().st_mode & 0o777 == 0o664
