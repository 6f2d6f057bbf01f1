"""Rejected rows: each input has a file of its own, whole before the load is; a person's work in it is never lost."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from io import BufferedWriter, FileIO, TextIOWrapper
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.indicators.base.reading import read_records
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, rejects_name
from tests.conftest import TODAY, Load
from tests.load.test_load_store import JOBS, MOW, balanced, kept, rows, same
from tests.thorough import beyond

pytestmark = pytest.mark.both_stores(ordinary=())

BAD = MOW.replace("mowing", "moing")
WORSE = "2026-05-09,ALD-1,egding,1,crew A\n"


def mend(path: Path) -> str:
    """Put the right word in, as a person would; what the file then holds."""
    text = path.read_text("utf-8-sig").replace("ALD-1,moing", "ALD-1,mowing").replace("1.5", "4")
    path.write_text(text, "utf-8-sig")
    return text


def told(result: FileResult) -> list[str]:
    return result.faults.filter(result.faults["code"].str.starts_with("load.rejects"))["message"].to_list()


def test_a_mended_file_is_left_as_it_is_when_the_inbox_is_loaded_again(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """The loop of every keeper: load, mend, load what was mended, load the inbox again next week."""
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    (inbox / "log.csv").write_text(JOBS + MOW + BAD)
    load_paths(workspace, [inbox], today=TODAY)
    path = workspace.rejected / "log.rejected.csv"
    mended = mend(path)
    before_it_is_loaded = load_paths(workspace, [inbox], today=TODAY)[0]
    assert path.read_text("utf-8-sig") == mended
    assert told(before_it_is_loaded) == [
        "rejected/log.rejected.csv was changed since it was written, so it was not written over; it was made of the "
        "very rows that are rejected now."
    ]
    assert before_it_is_loaded.rejects_file == path
    assert balanced(load_paths(workspace, [path], today=TODAY)[0]) == (1, 1, 0, 0, 0, 0, 0)
    before = kept(workspace)
    for _ in range(2):
        load_paths(workspace, [inbox], today=TODAY)
        assert path.read_text("utf-8-sig") == mended
        assert [one.name for one in workspace.rejected.iterdir()] == ["log.rejected.csv"]
        assert not load_paths(workspace, [path], today=TODAY)[0].counts.effect
        assert same(before, kept(workspace))
    assert rows(workspace, "SELECT hours FROM job ORDER BY 1") == [(1.5,), (4.0,)], "the mended row is one of its own"
    with Store(workspace.store, read_only=True) as store:
        season = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    assert [note.text for note in season.data_notes if "not in these figures" in note.text] == []


def test_rows_that_came_since_go_to_a_file_of_the_next_number(county: Load, workspace: Workspace) -> None:
    """The export has grown while a person mends: neither the mended rows nor the new ones may be lost."""
    first = county("log.csv", JOBS + BAD)
    assert first.rejects_file is not None
    mended = mend(first.rejects_file)
    grown = JOBS + BAD + WORSE
    for _ in range(2):
        second = county("log.csv", grown)
        assert second.rejects_file == workspace.rejected / "log.rejected-2.csv"
        assert told(second) == [
            "rejected/log.rejected.csv was changed since it was written, so it was not written over; the rows rejected "
            "now are in rejected/log.rejected-2.csv."
        ]
        assert first.rejects_file.read_text("utf-8-sig") == mended
        assert "egding" in second.rejects_file.read_text("utf-8-sig")
    third = county("log.csv", grown + WORSE.replace("egding", "rlling"))
    assert third.rejects_file == workspace.rejected / "log.rejected-2.csv", "nobody changed it: it is written over"
    assert "rlling" in third.rejects_file.read_text("utf-8-sig")
    more = third.rejects_file.read_text("utf-8-sig").replace("moing", "mowing", 1)
    third.rejects_file.write_text(more, "utf-8-sig")
    county("log.rejected.csv", mended)
    assert balanced(county("log.rejected-2.csv", more))[1:4] == (0, 0, 1), "the row mended twice is one row"
    assert len(rows(workspace, "SELECT * FROM job")) == 1


def test_a_file_nobody_changed_follows_its_input(county: Load, workspace: Workspace) -> None:
    """Written over with what is rejected now; once nothing is, the file stays and is said to be of no more use."""
    county("log.csv", JOBS + BAD)
    path = county("log.csv", JOBS + WORSE).rejects_file
    assert path == workspace.rejected / "log.rejected.csv"
    assert "moing" not in path.read_text("utf-8-sig")
    clean = county("log.csv", JOBS + MOW)
    assert clean.rejects_file is None
    assert told(clean) == [
        "Nothing of this file is rejected any more; rejected/log.rejected.csv holds rows that an earlier load of it "
        "rejected."
    ]
    assert path.exists()
    assert told(county("log.csv", JOBS + MOW)) == told(clean)
    path.unlink()
    assert told(county("log.csv", JOBS + MOW)) == []


@pytest.mark.parametrize(
    "names",
    [
        ("a/log.csv", "b/log.csv"),
        ("log.csv", "LOG.csv"),
        ("log", "log.csv"),
        ("a/b_log.csv", "a_b/log.csv", "a_b_log.csv"),
        ("log.csv", "log.rejected-2.csv", "b/log.csv"),
        ("x" * 200 + ".csv", "x" * 210 + ".csv"),
    ],
)
@beyond(2)
def test_two_inputs_never_share_a_file(
    county: Load, workspace: Workspace, tmp_path: Path, names: tuple[str, ...]
) -> None:
    """One of them would lose its rows to the other; the same input always has the same file."""
    found: dict[str, Path] = {}
    for turn in range(2):
        for number, name in enumerate(names):
            path = tmp_path / "in" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(JOBS + BAD.replace("moing", f"moing{number}"))
            result = load_paths(workspace, [path], today=TODAY)[0]
            assert result.rejects_file is not None
            assert result.rejects_file == found.setdefault(name, result.rejects_file)
            assert told(result) == [], turn
        by_folder = load_paths(workspace, [tmp_path / "in"], today=TODAY) if turn else []
        assert {one.rejects_file for one in by_folder} <= set(found.values())
    assert len({str(path).casefold() for path in found.values()}) == len(names)
    for number, name in enumerate(names):
        assert f"moing{number}" in found[name].read_text("utf-8-sig")


def test_a_file_the_store_does_not_know_is_not_written_over(county: Load, workspace: Workspace) -> None:
    """A store made anew beside the folder of the old one: what lies there may be a person's work."""
    path = workspace.rejected / "log.rejected.csv"
    path.write_text("mine")
    result = county("log.csv", JOBS + BAD)
    assert path.read_text() == "mine"
    assert result.rejects_file == workspace.rejected / "log.rejected-2.csv"
    assert told(result) == [
        "rejected/log.rejected.csv belongs to no load of this store, so it was not written over; the rows rejected now "
        "are in rejected/log.rejected-2.csv."
    ]


def test_a_file_that_a_killed_load_left_is_taken_over_or_named(county: Load, workspace: Workspace) -> None:
    """A kill between the file's renaming and the commit: it must not lie there for ever with nothing said of it."""
    first = county("log.csv", JOBS + BAD)

    def killed() -> None:
        """As the kill leaves it: the file is there, and the store knows neither it nor the load."""
        with Store(workspace.store) as store:
            store.con.execute("DELETE FROM meta.rejects")
            store.con.execute("DELETE FROM meta.load WHERE file = 'log.csv'")

    killed()
    again = county("log.csv", JOBS + BAD)
    assert (told(again), again.rejects_file) == ([], first.rejects_file)
    assert [path.name for path in workspace.rejected.iterdir()] == ["log.rejected.csv"]
    killed()
    mended = county("log.csv", JOBS)
    assert told(mended) == [
        "rejected/log.rejected.csv belongs to no load of this store, so it was not written over; nothing of this file "
        "is rejected now."
    ]


class FullDisk(FileIO):
    """A file whose disk is full after so many writes of a few bytes."""

    left = 0

    def write(self, content: Any) -> int:
        if FullDisk.left <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        FullDisk.left -= 1
        return super().write(bytes(content[:100]))


def full_after(monkeypatch: pytest.MonkeyPatch, writes: int) -> None:
    """Every file that is opened for writing in Python has a full disk after so many writes."""
    original = Path.open

    def opened(path: Path, mode: str = "r", *rest: Any, **words: Any) -> Any:
        if "w" not in mode and "a" not in mode:
            return original(path, mode, *rest, **words)
        raw = BufferedWriter(FullDisk(path, mode.replace("b", "")), 1)
        if "b" in mode:
            return raw
        return TextIOWrapper(raw, encoding=words.get("encoding"), newline=words.get("newline"))

    FullDisk.left = writes
    monkeypatch.setattr(Path, "open", opened)


def state_of(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.mark.parametrize("writes", range(5))
@pytest.mark.parametrize("earlier", [False, True])
@beyond(3)
def test_a_full_disk_leaves_neither_half_a_file_nor_the_load(
    county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch, writes: int, earlier: bool
) -> None:
    """Whichever write fails, file and store are as they were, and the sentence says so."""
    if earlier:
        county("log.csv", JOBS + BAD)
    before, files = kept(workspace), state_of(workspace.rejected)
    full_after(monkeypatch, writes)
    monkeypatch.setattr(
        Path, "write_bytes", lambda path, content: path.unlink(missing_ok=True) or _plain(path, content)
    )
    with pytest.raises(CannotDo) as caught:
        county("log.csv", JOBS + MOW + BAD + WORSE)
    monkeypatch.undo()
    assert caught.value.message == (
        f"The rejected rows of log.csv could not be written to {workspace.rejected / 'log.rejected.csv'}: "
        "No space left on device."
    )
    assert caught.value.hint.startswith("Nothing of it was kept.")
    assert same(before, kept(workspace))
    assert state_of(workspace.rejected) == files
    assert balanced(county("log.csv", JOBS + MOW + BAD + WORSE)) == (3, 1, 0, 0, 0, 2, 0)


def _plain(path: Path, content: bytes) -> int:
    with open(path, "wb") as out:  # noqa: PTH123 (the test's own file, on a disk that has room)
        return out.write(content)


def _rename_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(path: Path, target: Path) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(target))

    monkeypatch.setattr(Path, "replace", fail)


def _sync_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: int) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(os, "fsync", fail)


@pytest.mark.parametrize("failing", [_rename_fails, _sync_fails])
def test_a_file_that_cannot_be_put_in_its_place_stops_the_load(
    county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch, failing: Callable[[pytest.MonkeyPatch], None]
) -> None:
    """A spreadsheet may hold the file open; a disk may fail as late as when it is told to keep what it has."""
    county("log.csv", JOBS + BAD)
    before, files = kept(workspace), state_of(workspace.rejected)
    failing(monkeypatch)
    with pytest.raises(CannotDo, match="could not be written to"):
        county("log.csv", JOBS + MOW + WORSE)
    monkeypatch.undo()
    assert same(before, kept(workspace))
    assert state_of(workspace.rejected) == files


@pytest.mark.parametrize("there", [True, False])
def test_a_file_changed_at_the_last_moment_is_not_lost(
    county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    """A person saves while the load is on: what was decided a moment ago no longer holds."""
    path = workspace.rejected / "log.rejected.csv"
    if there:
        county("log.csv", JOBS + BAD)
    before = kept(workspace)
    monkeypatch.setattr(os, "fsync", lambda _: path.write_text("mended"))
    with pytest.raises(CannotDo, match="it was changed at this very moment"):
        county("log.csv", JOBS + MOW + WORSE)
    monkeypatch.undo()
    assert state_of(workspace.rejected) == {path.name: b"mended"}
    assert same(before, kept(workspace))


def test_a_folder_that_cannot_be_written_stops_the_load(county: Load, workspace: Workspace) -> None:
    """Exit code 3 says that nothing was changed; the load was in by then."""
    before = kept(workspace)
    workspace.rejected.rmdir()
    workspace.rejected.write_text("a file in its place")
    with pytest.raises(
        CannotDo, match=r"The rejected rows of log\.csv could not be written to .*: (File exists|Not a)"
    ):
        county("log.csv", JOBS + MOW + BAD)
    assert same(before, kept(workspace))
    assert not county("log.csv", JOBS + MOW).failed, "a file without rejected rows needs no folder for them"


@pytest.mark.parametrize("earlier", [False, True])
def test_rejected_rows_of_a_load_that_fails_do_not_stay(
    county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch, earlier: bool
) -> None:
    """They are written first; where the store then cannot be, the folder is as it was."""
    if earlier:
        county("log.csv", JOBS + BAD)
    before, files = kept(workspace), state_of(workspace.rejected)

    def full(*_: object) -> None:
        assert state_of(workspace.rejected) != files, "written before the load is"
        raise duckdb.IOException("Could not write: No space left on device")

    monkeypatch.setattr("pipeline.load.loading.drop_temporary", full)
    with pytest.raises(CannotDo, match="could not be written: Could not write: No space left on device"):
        county("log.csv", JOBS + MOW + WORSE)
    monkeypatch.undo()
    assert same(before, kept(workspace))
    assert state_of(workspace.rejected) == files


def test_files_loaded_before_one_that_fails_are_told(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """ "Nothing was changed" would be false of them."""
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    (inbox / "a.csv").write_text(JOBS + MOW)
    (inbox / "b.csv").write_text(JOBS + BAD)
    workspace.rejected.rmdir()
    workspace.rejected.write_text("a file in its place")
    with pytest.raises(CannotDo) as caught:
        load_paths(workspace, [inbox], today=TODAY)
    assert caught.value.hint.endswith(" 1 file of this call had been loaded by then and stays loaded.")
    assert len(rows(workspace, "SELECT * FROM job")) == 1


def test_a_row_mended_in_two_rounds_stands_beside_its_twin(county: Load, workspace: Workspace) -> None:
    """What is rejected a second time stays in its file and is still of the first one: no job gives way to it."""
    first = county("log.csv", JOBS + MOW + BAD.replace("1.5", "3"))
    assert first.rejects_file is not None
    path = workspace.rejected / first.rejects_file.name
    path.write_text(path.read_text("utf-8-sig").replace("moing", "mowng", 1), "utf-8-sig")
    second = load_paths(workspace, [path], today=TODAY)[0]
    assert second.rejects_file == path
    assert [one.name for one in workspace.rejected.iterdir()] == [path.name], "the file holds its rows already"
    path.write_text(path.read_text("utf-8-sig").replace("mowng", "mowing", 1), "utf-8-sig")
    assert balanced(load_paths(workspace, [path], today=TODAY)[0]) == (1, 1, 0, 0, 0, 0, 0)
    assert rows(workspace, "SELECT hours FROM job ORDER BY 1") == [(1.5,), (3.0,)]


def test_a_dry_run_writes_no_rejected_rows_and_says_where_they_would_go(county: Load, workspace: Workspace) -> None:
    """What a rehearsal says is what the load says, also of files left as they are."""
    first = county("log.csv", JOBS + BAD)
    assert first.rejects_file is not None
    mend(first.rejects_file)
    files = state_of(workspace.rejected)
    rehearsed = county("log.csv", JOBS + BAD + WORSE, dry_run=True)
    assert state_of(workspace.rejected) == files
    assert rehearsed.rejects_file is None
    assert told(rehearsed) == told(county("log.csv", JOBS + BAD + WORSE))


def test_names_of_files_of_rejected_rows() -> None:
    """Readable, without what leads out of the folder or steers a terminal, and short enough for any disk."""
    assert rejects_name("a/../b\\log\x1b[2J.csv") == "a_.._b_log_[2J.rejected.csv"
    assert rejects_name("é" * 300 + ".csv") == "é" * 100 + ".rejected.csv"
