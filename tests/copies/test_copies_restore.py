"""Restoring: the same workspace in a place that held nothing, or nothing at all and a sentence that says why."""

from __future__ import annotations

import json
import os
import shutil
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.copies import restored_files, restored_store
from pipeline.copies.backup import back_up
from pipeline.copies.fresh_place import made_beside
from pipeline.copies.manifest import SHOWN, read_manifest
from pipeline.copies.restore import restore
from pipeline.copies.tables import tables_of
from pipeline.figures.refresh import keep_up
from pipeline.figures.state import standing
from pipeline.load.files import load_paths
from pipeline.publish.documents import write_reports
from pipeline.store.derived import DERIVED
from pipeline.store.layout import SCHEMA_VERSION
from pipeline.store.store import Store, as_it_stands
from pipeline.verify.verify import verify
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY
from tests.copies.test_copies_backup import state
from tests.store.test_store_former import SAMPLES, made
from tests.thorough import thorough


def rows(store: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every table that is copied, row for row in the order they stand in."""
    with as_it_stands(store, read_only=True) as con:
        return {
            table.name: con.execute(f"SELECT * FROM {table.name} ORDER BY rowid").fetchall() for table in tables_of(con)
        }


def edited(folder: Path, change: Any) -> Path:
    """The manifest of a folder after somebody has changed it, under a name that fits its bytes."""
    (path,) = (folder / "manifests").iterdir()
    held = json.loads(path.read_text("utf-8"))
    change(held)
    content = json.dumps(held).encode()
    path.unlink()
    fresh = path.with_name(f"{path.name[: -5 - SHOWN]}{sha256(content).hexdigest()[:SHOWN]}.json")
    fresh.write_bytes(content)
    return fresh


def test_everything_comes_back_as_it_was(original: Workspace, copied: Path, tmp_path: Path) -> None:
    """Every row of every table in its place, settings, files and empty folders, views and explanations."""
    found = restore(copied, tmp_path / "again")
    assert (found.changed, found.figures) == ({}, "")
    again = open_workspace(tmp_path / "again")
    assert rows(again.store) == rows(original.store)
    wanted = {name: mark for name, mark in state(original.folder).items() if not name.endswith((".duckdb", ".pdf"))}
    assert {name: mark for name, mark in state(again.folder).items() if not name.endswith(".duckdb")} == wanted
    folders = {path.relative_to(original.folder) for path in original.folder.rglob("*") if path.is_dir()}
    assert {path.relative_to(again.folder) for path in again.folder.rglob("*") if path.is_dir()} == folders
    assert sorted(path.name for path in tmp_path.iterdir()) == ["again", "brought"]
    with Store(again.store, read_only=True) as store, Store(original.store, read_only=True) as before:
        for sql in (
            "SELECT view_name, sql FROM duckdb_views() WHERE NOT internal ORDER BY ALL",
            "SELECT table_name, column_name, comment FROM duckdb_columns() WHERE NOT internal ORDER BY ALL",
        ):
            assert store.rows(sql) == before.rows(sql)


def test_figures_are_made_as_they_were_and_no_change_is_logged(here: Workspace, tmp_path: Path) -> None:
    """The log tells what loads did to figures: a restore did nothing to them, and a report has the same bytes."""
    keep_up(here)
    back_up(here, tmp_path / "backups")
    assert restore(tmp_path / "backups", tmp_path / "again").figures == ""
    again = open_workspace(tmp_path / "again")
    assert rows(again.store) == rows(here.store)
    assert standing(again) == standing(here)
    assert standing(again).seasons == 1
    assert not standing(again).stale
    with Store(again.store, read_only=True) as store, Store(here.store, read_only=True) as before:
        for table in DERIVED:
            every = f"SELECT * FROM derived.{table} ORDER BY ALL"
            assert store.rows(every) == before.rows(every), table
    marks = []
    for workspace in (here, again):
        written = write_reports(
            workspace, greens=["ALD-1"], season="2026", issued_on=date(2026, 11, 1), force=True, workers=1
        )
        marks.append([sha256(one.path.read_bytes()).hexdigest() for one in written if one.path])
    assert marks[0] == marks[1]
    assert len(marks[0]) == 1


def test_it_goes_on_as_if_nothing_had_been(copied: Path, tmp_path: Path) -> None:
    """The same file again changes nothing, and a new one is one more load; what proves the records came along whole."""
    restore(copied, tmp_path / "again")
    again = open_workspace(tmp_path / "again")
    assert verify(again).whole
    (same,) = load_paths(again, [again.folder / "inbox" / "jobs.csv"], today=TODAY)
    assert (same.counts.changed, same.counts.unchanged) == (0, 3)
    log = again.folder / "inbox" / "july.csv"
    log.write_text("date,green,operation,hours\n2026-07-02,ALD-1,mowing,1\n", "utf-8")
    (fresh,) = load_paths(again, [log], today=TODAY)
    assert fresh.counts.loaded == 1


def test_a_place_that_holds_anything_is_left_as_it_is(
    copied: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A restore over a workspace would lose what came since; the folder one stands in cannot be moved into."""
    for name in ("workspace", "hidden"):
        (tmp_path / name).mkdir()
    (tmp_path / "workspace" / "settings.toml").touch()
    (tmp_path / "hidden" / ".keep").touch()
    (tmp_path / "file").touch()
    (tmp_path / "empty").mkdir()
    before = state(tmp_path)
    for name in ("workspace", "hidden", "file"):
        with pytest.raises(CannotDo, match="is not empty"):
            restore(copied, tmp_path / name)
    monkeypatch.chdir(tmp_path / "empty")
    with pytest.raises(CannotDo, match="the folder that the command is run in"):
        restore(copied, Path())
    monkeypatch.undo()
    assert state(tmp_path) == before
    restore(copied, tmp_path / "empty")
    assert open_workspace(tmp_path / "empty").store.exists()


def test_what_is_damaged_is_named_and_nothing_is_made(copied: Path, tmp_path: Path) -> None:
    """File, expected and found hash; every hash is looked at before anything is used."""
    (path,) = (copied / "manifests").iterdir()
    files = {one.path: one for one in read_manifest(path).files}
    bad, gone = files["workspace/settings.toml"], files["tables/meta.fault.csv"]
    (copied / "objects" / bad.object_name).write_bytes(b"x")
    (copied / "objects" / gone.object_name).unlink()
    with pytest.raises(CannotDo) as caught:
        restore(copied, tmp_path / "again")
    assert caught.value.message == (
        f"The backup is damaged: {gone.path}: expected {gone.sha256}, found missing (objects/{gone.object_name}); "
        f"{bad.path}: expected {bad.sha256}, found {sha256(b'x').hexdigest()} (objects/{bad.object_name})."
    )
    assert sorted(one.name for one in tmp_path.iterdir()) == ["brought"]


LEADS_OUT = (
    "workspace/../outside.txt",
    "workspace/pages/../../../outside.txt",
    "/etc/outside.txt",
    "workspace//etc/outside.txt",
    "workspace/.",
    "outside.txt",
    "../workspace/outside.txt",
    "workspace/with\0zero",
)


@pytest.mark.parametrize("path", LEADS_OUT)
def test_a_manifest_that_leads_out_is_refused_whole(copied: Path, tmp_path: Path, path: str) -> None:
    """Whoever brings a backup may have edited it: nothing is ever written outside the place."""

    def change(held: dict[str, Any]) -> None:
        next(one for one in held["files"] if one["path"] == "workspace/inbox/empty.txt")["path"] = path

    manifest = edited(copied, change)
    before = state(tmp_path)
    with pytest.raises(CannotDo, match="does not hold what a manifest may hold"):
        restore(manifest, tmp_path / "deep" / "again")
    assert state(tmp_path) == before
    assert not (tmp_path / "deep").exists()


def _other_hash(held: dict[str, Any]) -> None:
    held["files"][0]["sha256"] = "../../../etc/passwd"


def _other_type(held: dict[str, Any]) -> None:
    held["tables"][0]["columns"][0]["type"] = "VARCHAR); COPY (SELECT 1) TO 'outside.txt'; --"


def _other_table(held: dict[str, Any]) -> None:
    held["tables"][0]["name"] = "history.job; DROP TABLE meta.load"


def _twice(held: dict[str, Any]) -> None:
    held["files"].append(held["files"][0])


def _lost_table(held: dict[str, Any]) -> None:
    held["files"] = [one for one in held["files"] if one["path"] != "tables/meta.load.csv"]


def _unknown_key(held: dict[str, Any]) -> None:
    held["run"] = "this"


def _no_number(held: dict[str, Any]) -> None:
    held["number"] = "1"


def _table_twice(held: dict[str, Any]) -> None:
    held["tables"].append(held["tables"][0])


def _endless_parts(held: dict[str, Any]) -> None:
    """Ten thousand million names of files were made before the first was found missing."""
    held["tables"] += [{**held["tables"][0], "name": f"history.t{i}", "parts": 1_000_000} for i in range(10_000)]


@pytest.mark.parametrize(
    "change",
    [
        _table_twice,
        _endless_parts,
        _other_hash,
        _other_type,
        _other_table,
        _twice,
        _lost_table,
        _unknown_key,
        _no_number,
    ],
)
def test_a_manifest_that_does_not_fit_is_refused_whole(copied: Path, tmp_path: Path, change: Any) -> None:
    """No name in it reaches the disk or SQL before all of it fits."""
    manifest = edited(copied, change)
    before = state(tmp_path)
    with pytest.raises(CannotDo, match="does not hold what a manifest may hold"):
        restore(manifest, tmp_path / "again")
    assert state(tmp_path) == before


def test_bytes_that_a_table_names_and_the_manifest_lacks_are_told(copied: Path, tmp_path: Path) -> None:
    """A picture that is not there must not come back as nothing."""

    def change(held: dict[str, Any]) -> None:
        held["files"] = [one for one in held["files"] if not one["path"].startswith("blobs/")]

    with pytest.raises(CannotDo, match="The backup lacks the bytes"):
        restore(edited(copied, change), tmp_path / "again")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["brought"]


def test_a_table_whose_rows_were_edited_is_not_taken_for_what_it_was(copied: Path, tmp_path: Path) -> None:
    """A file under its right hash that does not come back to the same bytes: the store would differ from the file."""
    (path,) = (copied / "manifests").iterdir()
    one = next(one for one in read_manifest(path).files if one.path == "tables/history.green_speed.csv")
    content = (copied / "objects" / one.object_name).read_bytes().replace(b"12.1", b"12.10")
    mark = sha256(content).hexdigest()
    target = copied / "objects" / mark[:2] / f"{mark}.csv"
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(content)

    def change(held: dict[str, Any]) -> None:
        next(told for told in held["files"] if told["path"] == one.path).update(sha256=mark, bytes=len(content))

    with pytest.raises(CannotDo, match=r"The table history.green_speed does not come back as it was: expected"):
        restore(edited(copied, change), tmp_path / "again")
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["brought"]


def test_a_newer_backup_is_refused(copied: Path, tmp_path: Path) -> None:
    """What this version cannot read whole it does not read in part."""
    manifest = edited(copied, lambda held: held.update(layout=SCHEMA_VERSION + 1))
    with pytest.raises(CannotDo, match=rf"newer version of swardtally \(layout {SCHEMA_VERSION + 1}\)"):
        restore(manifest, tmp_path / "again")
    manifest = edited(copied, lambda held: held.update(swardtally_backup=2, more=True))
    with pytest.raises(CannotDo, match=r"newer version of swardtally \(form 2\)"):
        restore(manifest, tmp_path / "again")
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize("step", ["files", "store"])
def test_a_restore_that_fails_or_is_stopped_leaves_nothing_half(
    copied: Path, tmp_path: Path, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A workspace with half its records is worse than none; the next run starts over."""

    def full(*_: object) -> str:
        raise OSError(28, "No space left on device")

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    where: dict[str, tuple[object, str, Any, type[BaseException]]] = {
        "files": (restored_files, "copy_hashed", full, CannotDo),
        "store": (restored_store, "read_table", stopped, KeyboardInterrupt),
    }
    module, name, fault, seen = where[step]
    monkeypatch.setattr(module, name, fault)
    with pytest.raises(seen):
        restore(copied, tmp_path / "again")
    monkeypatch.undo()
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["brought"]


def test_what_a_killed_restore_left_is_removed_by_the_next(copied: Path, tmp_path: Path) -> None:
    """A process that was killed cleans nothing up; a folder of somebody else of that name is not taken for its."""
    left = tmp_path / ".again.restoring"
    left.mkdir()
    (left / "settings.toml").write_text("half", "utf-8")
    with pytest.raises(CannotDo, match="is in the way"):
        restore(copied, tmp_path / "again")
    assert (left / "settings.toml").exists()
    (tmp_path / ".again.restoring.lock").touch()
    restore(copied, tmp_path / "again")
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["again", "brought"]


def test_two_restores_of_one_place_do_not_meet(copied: Path, tmp_path: Path) -> None:
    """The second is refused while the first is at work, and leaves its folder alone."""
    with made_beside(tmp_path / "again") as work:
        (work / "note").touch()
        with pytest.raises(CannotDo, match="is being restored already"):
            restore(copied, tmp_path / "again")
        assert (work / "note").exists()
    assert [entry.name for entry in (tmp_path / "again").iterdir()] == ["note"]


def test_an_earlier_backup_is_restored_by_its_manifest(here: Workspace, tmp_path: Path) -> None:
    """The last one may be of the day on which the harm was done."""
    first = back_up(here, tmp_path / "backups")
    (here.profiles / "crew.toml").unlink()
    back_up(here, tmp_path / "backups")
    restore(first.path, tmp_path / "before")
    assert (tmp_path / "before" / "profiles" / "crew.toml").exists()


@pytest.mark.parametrize("layout", [6, *(pytest.param(one, marks=thorough) for one in sorted(SAMPLES) if one != 6)])
def test_a_backup_of_an_older_layout_is_brought_up(layout: int, tmp_path: Path) -> None:
    """Made before an upgrade, it must be of use after it: the store is what bringing up the one there would give."""
    (tmp_path / "old").mkdir()
    old = made(layout, tmp_path / "old")
    assert back_up(old, tmp_path / "backups").manifest.layout == layout
    assert restore(tmp_path / "backups", tmp_path / "again").brought_up == (layout < SCHEMA_VERSION)
    with Store(old.store) as store:
        assert store.rows("SELECT version FROM meta.layout") == [(SCHEMA_VERSION,)]
    found, wanted = rows(tmp_path / "again" / "store.duckdb"), rows(old.store)
    of_figures = {name for name in found if name.startswith(("meta.refresh", "meta.figure_", "meta.season_"))}
    assert {name: found[name] for name in found.keys() - of_figures} == {
        name: wanted[name] for name in wanted.keys() - of_figures
    }
    for name in of_figures:
        assert found[name][: len(wanted[name])] == wanted[name], name


def test_places_outside_the_workspace_are_brought_into_it(here: Workspace, tmp_path: Path) -> None:
    """A restored copy must not work on the store of the workspace it was made of, nor write anywhere else."""
    shared = tmp_path / "shared"
    shared.mkdir()
    shutil.move(here.profiles, shared / "profiles")
    shutil.move(here.store, shared / "store.duckdb")
    text = (here.folder / "settings.toml").read_text("utf-8")
    text = text.replace('profiles = "profiles" ', f'profiles = "{(shared / "profiles").as_posix()}" ')
    text = text.replace('store = "store.duckdb" ', 'store = "../shared/store.duckdb" ')
    (here.folder / "settings.toml").write_text(text, "utf-8")
    back_up(open_workspace(here.folder), tmp_path / "backups")
    before = state(shared)
    found = restore(tmp_path / "backups", tmp_path / "again")
    again = open_workspace(tmp_path / "again")
    assert found.changed == {"store": "store.duckdb", "profiles": "profiles"}
    assert (again.folder / "profiles" / "crew.toml").is_file()
    assert rows(again.store) == rows(shared / "store.duckdb")
    assert state(shared) == before
    changed = [
        (one, other)
        for one, other in zip(
            text.splitlines(), (again.folder / "settings.toml").read_text("utf-8").splitlines(), strict=True
        )
        if one != other
    ]
    assert [other for _, other in changed] == ['store = "store.duckdb"', 'profiles = "profiles"']


def test_a_workspace_without_a_store_comes_back_without_one(tmp_path: Path) -> None:
    """And names that differ in capitals alone, of no bytes, or of bytes that are no text come back as they were."""
    (tmp_path / "fresh").mkdir()
    make_workspace(tmp_path / "fresh")
    names = ["note.txt", "NOTE.txt", "two\nlines.txt"] + (["caf\udce9.txt"] if os.name != "nt" else [])
    for name in names:
        (tmp_path / "fresh" / "inbox" / name).touch()
    (tmp_path / "fresh" / "inbox" / "note.txt").write_text("a", "utf-8")
    back_up(open_workspace(tmp_path / "fresh"), tmp_path / "backups")
    assert restore(tmp_path / "backups", tmp_path / "again").figures == ""
    assert state(tmp_path / "again") == state(tmp_path / "fresh")


def test_a_disk_that_takes_two_names_for_one_loses_neither(
    copied: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second would be written over the first in silence."""

    def taken(source: Path, target: Path) -> str:
        raise FileExistsError(17, "File exists", str(target))

    monkeypatch.setattr(restored_files, "copy_hashed", taken)
    with pytest.raises(CannotDo, match="have names that are the same on this disk"):
        restore(copied, tmp_path / "again")
    assert not (tmp_path / "again").exists()
