"""Many large files in one call: what is not held is read again, and nothing comes out otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.load import files, read_ahead
from pipeline.load.load import Loader
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY, Load
from tests.load.test_load_store import JOBS, MOW, SOIL

LINE = "2026-02-{day},ALD-1,ph,0,20,Lab A,{value},pH\n"


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    """Facts that come before the registers they need, by name; rows that are rejected; the same file twice."""
    folder = tmp_path / "inbox"
    folder.mkdir()
    texts = {
        "a_log.csv": JOBS + MOW,
        "b_log.csv": JOBS + MOW.replace("1.5", "x") + MOW.replace("2026-05", "2026-06"),
        "c_soil.csv": SOIL + LINE.format(day=10, value=6.1),
        "d_soil.csv": SOIL + LINE.format(day=10, value=6.4),
        "e_log.csv": JOBS + MOW,
        "x_clubs.csv": CLUBS,
        "y_greens.csv": GREENS,
        "z_materials.csv": MATERIALS,
    }
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8")
    return folder


def loaded(workspace: Workspace, inbox: Path) -> tuple[object, ...]:
    """What is said of each file, and what the store holds of them."""
    done = files.load_paths(workspace, [inbox], today=TODAY)
    with Store(workspace.store, read_only=True) as store:
        loads = store.rows("SELECT load_id, file, sha256, loaded, rejected FROM meta.load ORDER BY ALL")
        jobs = store.rows("SELECT * FROM history.job ORDER BY ALL")
    said = [(one.file, one.kind, one.counts, one.faults.rows()) for one in done]
    return said, jobs, loads


def test_what_is_read_again_at_its_turn_is_loaded_as_what_was_held(
    workspace: Workspace, inbox: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first file alone is held: the others' cells are let go, and read while the one before is written."""
    held = loaded(workspace, inbox)
    (tmp_path / "other").mkdir()
    make_workspace(tmp_path / "other")
    other = open_workspace(tmp_path / "other")
    read: list[Path] = []
    former = Loader.read_by

    def noted(self: Loader, search: object, path: Path, *rest: object, **named: bool) -> object:
        read.append(path)
        return former(self, search, path, *rest, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(read_ahead, "HELD_MB", 0)
    monkeypatch.setattr(Loader, "read_by", noted)
    assert loaded(other, inbox) == held
    assert len(read) == 2 * len(set(read)) - 1, "each but the first was read again"
    assert [one.name for one in read[8:11]] == ["x_clubs.csv", "y_greens.csv", "z_materials.csv"], "registers first"


@pytest.mark.parametrize("how", ["gone", "other"])
def test_a_file_that_changed_before_its_turn_is_refused(
    county: Load, workspace: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    """What was loaded before it stays, and is told."""
    first, second = tmp_path / "a_log.csv", tmp_path / "b_log.csv"
    first.write_text(JOBS + MOW, "utf-8")
    second.write_text(JOBS + MOW.replace("2026-05", "2026-06"), "utf-8")
    monkeypatch.setattr(read_ahead, "HELD_MB", 0)
    former, read = Loader.read_by, [0]

    def changed(self: Loader, *of: object, **named: bool) -> object:
        """The second file is gone when it is read again, or has become one of two parts."""
        read[0] += second in of
        if read[0] == 2 and how == "gone":
            second.unlink(missing_ok=True)
        parts = former(self, *of, **named)  # type: ignore[arg-type]
        return 2 * parts if read[0] == 2 else parts

    monkeypatch.setattr(Loader, "read_by", changed)
    with pytest.raises(CannotDo, match=r"b_log\.csv was changed while files before it were loaded") as told:
        files.load_paths(workspace, [first, second], today=TODAY)
    assert "1 file of this call had been loaded by then and stays loaded" in told.value.hint
