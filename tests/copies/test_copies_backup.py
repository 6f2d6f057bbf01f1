"""Backups: all that a person wrote, once each, in a manifest that is written last; and nothing over anything else."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.copies import backup as making
from pipeline.copies import folder as of_backups
from pipeline.copies.backup import back_up, beside
from pipeline.copies.check import check
from pipeline.copies.folder import ABOUT, UNFINISHED
from pipeline.copies.manifest import Manifest, read_manifest
from pipeline.copies.restore import restore
from pipeline.forget.forget import forget
from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY


def paths(manifest: Manifest) -> set[str]:
    """Paths of the workspace's files in a backup, without the empty templates that every workspace has."""
    found = {one.path.removeprefix("workspace/") for one in manifest.files if one.path.startswith("workspace/")}
    return {path for path in found if not path.startswith("templates/")}


def state(folder: Path) -> dict[str, str]:
    """Every file below a folder with its hash."""
    return {
        path.relative_to(folder).as_posix(): sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_backup_holds_all_that_a_person_wrote(original: Workspace, backups: Path) -> None:
    """What is missing from a backup is missed on the day it is needed; documents alone can be made anew."""
    (path,) = (backups / "manifests").iterdir()
    manifest = read_manifest(path)
    assert paths(manifest) == {
        "settings.toml",
        "profiles/crew.toml",
        "surveys/ALD-1-2026-06-20.toml",
        "inbox/empty.txt",
        "inbox/april.csv",
        "inbox/core.png",
        "inbox/jobs.csv",
        "inbox/photos.csv",
        "inbox/speeds.csv",
        "rejected/jobs.rejected.csv",
        "reports/2026/ALD-programme-2026.csv",
    }
    assert {one.removeprefix("workspace/") for one in manifest.folders} == {"corrections", "decisions"}
    for one in manifest.files:
        content = (backups / "objects" / one.object_name).read_bytes()
        assert (sha256(content).hexdigest(), len(content)) == (one.sha256, one.bytes)
    with Store(original.store, read_only=True) as store:
        counts = {one.name: store.rows(f"SELECT count(*) FROM {one.name}")[0][0] for one in manifest.tables}
    assert counts == {one.name: one.rows for one in manifest.tables}
    assert counts["history.job"] == 3
    assert counts["meta.undone"] == 1


def test_no_path_of_this_machine_stands_in_a_backup(original: Workspace, backups: Path) -> None:
    """It is to be restored on another one."""
    for path in backups.rglob("*"):
        if path.is_file():
            assert str(original.folder.parent).encode() not in path.read_bytes(), path


def test_what_is_there_is_not_written_again(here: Workspace, tmp_path: Path) -> None:
    """A backup each evening would else fill the disk with the same files; the former one stays as it was."""
    place = tmp_path / "backups"
    first = back_up(here, place)
    before = {path: path.stat().st_mtime_ns for path in (place / "objects").rglob("*") if path.is_file()}
    again = back_up(here, place)
    assert (again.written, again.written_bytes, again.manifest.number) == (0, 0, 2)
    (here.folder / "surveys" / "ALD-1-2026-06-20.toml").write_text('text = "other"\n', "utf-8")
    log = here.folder / "inbox" / "july.csv"
    log.write_text("date,green,operation,hours\n2026-07-02,ALD-1,mowing,1\n", "utf-8")
    load_paths(here, [log], today=TODAY)
    third = back_up(here, place)
    after = {path: path.stat().st_mtime_ns for path in (place / "objects").rglob("*") if path.is_file()}
    assert {path: after[path] for path in before} == before
    fresh = {one.path for one in third.manifest.files} - {one.path for one in first.manifest.files}
    assert {one for one in fresh if not one.startswith("blobs/")} == {"workspace/inbox/july.csv"}
    assert len(after) - len(before) == third.written
    assert {"tables/history.job.csv", "tables/meta.load.csv", "workspace/surveys/ALD-1-2026-06-20.toml"} <= {
        one.path for one in third.manifest.files if one not in first.manifest.files
    }
    assert check(place).fine
    assert check(place).backups == 3


def test_a_long_table_is_not_written_whole_again(
    here: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A log of years grows by a few lines a week: a backup each evening holds those, not the years again."""
    monkeypatch.setattr("pipeline.copies.tables.ROWS_A_FILE", 2)
    first = back_up(here, tmp_path / "backups")
    log = here.folder / "inbox" / "july.csv"
    log.write_text("date,green,operation,hours\n2026-07-02,ALD-1,mowing,1\n2026-07-03,ALD-1,mowing,1\n", "utf-8")
    load_paths(here, [log], today=TODAY)
    second = back_up(here, tmp_path / "backups")
    jobs = [
        [one.sha256 for one in made.manifest.files if one.path.startswith("tables/history.job")]
        for made in (first, second)
    ]
    assert [len(one) for one in jobs] == [2, 3]
    assert jobs[0][0] == jobs[1][0]
    restore(tmp_path / "backups", tmp_path / "again")
    with (
        Store(here.store, read_only=True) as store,
        Store(tmp_path / "again" / "store.duckdb", read_only=True) as other,
    ):
        assert store.rows("SELECT * FROM history.job ORDER BY rowid") == other.rows(
            "SELECT * FROM history.job ORDER BY rowid"
        )


def test_a_backup_that_was_stopped_is_none_and_the_next_goes_on(
    here: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a backup that looks whole would be found out on the day it is needed."""
    place = tmp_path / "backups"
    kept = of_backups.BackupFolder.keep
    count = iter(range(100))

    def stopped(self: of_backups.BackupFolder, path: str, made: Path, sha: str) -> None:
        if next(count) == 9:
            raise KeyboardInterrupt
        kept(self, path, made, sha)

    monkeypatch.setattr(of_backups.BackupFolder, "keep", stopped)
    with pytest.raises(KeyboardInterrupt):
        back_up(here, place)
    monkeypatch.undo()
    (place / f"{UNFINISHED}killed").mkdir()  # what a process leaves that was ended without a word
    (place / f"{UNFINISHED}killed" / "file").write_text("half")
    assert not list((place / "manifests").glob("*"))
    with pytest.raises(CannotDo, match="holds no finished backup"):
        check(place)
    objects = sum(path.is_file() for path in (place / "objects").rglob("*"))
    made = back_up(here, place)
    assert objects == 9
    assert made.written == sum(path.is_file() for path in (place / "objects").rglob("*")) - objects
    assert not list(place.glob(f"{UNFINISHED}*"))
    assert check(place).fine


def test_a_full_disk_ends_a_backup_without_one(
    here: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message says that there is no backup, that nothing in the workspace changed, and how it goes on."""
    place, before = tmp_path / "backups", state(here.folder)

    def full(source: Path, target: Path) -> str:
        raise OSError(28, "No space left on device", str(target))

    monkeypatch.setattr(making, "copy_hashed", full)
    with pytest.raises(CannotDo) as caught:
        back_up(here, place)
    assert caught.value.message.startswith("The backup could not be written: No space left on device (")
    assert caught.value.hint == (
        f"There is no new backup. What was copied stays in {place}, and the next one goes on from there."
    )
    assert state(here.folder) == before
    assert not list((place / "manifests").glob("*"))
    assert not list(place.glob(f"{UNFINISHED}*"))


def test_a_disk_that_fills_while_a_table_is_written_is_said_as_such(
    here: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault is the disk's, not the store's: nobody is to look for damage there."""

    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pipeline.copies.plain.write_table", full)
    with pytest.raises(CannotDo, match=r"The backup could not be written: No space left on device\."):
        back_up(here, tmp_path / "backups")
    assert not list((tmp_path / "backups" / "manifests").glob("*"))


def test_a_folder_that_is_something_else_is_left_alone(here: Workspace, tmp_path: Path) -> None:
    """Objects among somebody's files would be neither a backup nor theirs."""
    other = tmp_path / "pictures"
    other.mkdir()
    (other / "holiday.jpg").write_bytes(b"jpeg")
    for place in (other, here.folder, tmp_path / "file"):
        (tmp_path / "file").touch()
        before = state(tmp_path)
        with pytest.raises(CannotDo):
            back_up(here, place)
        assert state(tmp_path) == before


def test_backups_of_two_workspaces_do_not_mix(here: Workspace, tmp_path: Path, registers: tuple[Path, Path]) -> None:
    """The last backup of a folder is what restore takes: it must be of the workspace that the folder is of."""
    back_up(here, tmp_path / "backups")
    other = tmp_path / "other"
    other.mkdir()
    make_workspace(other)
    clubs = other / "inbox" / "clubs.csv"
    clubs.write_text("club,name\nBRA,Bracken Bowls Club\n", "utf-8")
    load_paths(open_workspace(other), [clubs], today=TODAY)
    with pytest.raises(CannotDo, match="holds backups of another workspace"):
        back_up(open_workspace(other), tmp_path / "backups")
    assert check(tmp_path / "backups").backups == 1


def test_a_workspace_is_the_same_once_a_person_is_forgotten(tmp_path: Path) -> None:
    """The first file that was loaded may bear the name, and has another hash then."""
    make_workspace(tmp_path / "w")
    here = open_workspace(tmp_path / "w")
    clubs = here.folder / "inbox" / "clubs.csv"
    clubs.write_text("club,name,contact\nBRA,Bracken Bowls Club,Ann Example\n", "utf-8")
    load_paths(here, [clubs], today=TODAY)
    back_up(here, tmp_path / "backups")
    forget(here, ["Ann Example"])
    assert back_up(here, tmp_path / "backups").manifest.number == 2


def test_a_store_held_by_another_program_is_not_copied(here: Workspace, tmp_path: Path) -> None:
    """A load under way: a backup waits for no half of it, and says so before anything is written."""
    held = f"import duckdb, sys; con = duckdb.connect({str(here.store)!r}); print('held', flush=True); sys.stdin.read()"
    with subprocess.Popen(
        [sys.executable, "-c", held], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        with pytest.raises(CannotDo, match="is in use by another program"):
            back_up(here, tmp_path / "backups")
        holder.communicate()
    assert not (tmp_path / "backups").exists()


def test_two_backups_into_one_folder_do_not_meet(here: Workspace, tmp_path: Path) -> None:
    """The second is refused while the first is at work; nothing of the first is taken for what was left behind."""
    place = tmp_path / "backups"
    with of_backups.to_write_into(place).writing() as work:
        with pytest.raises(CannotDo, match="Another backup is being written into"):
            back_up(here, place)
        assert work.is_dir()


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_link_is_named_and_not_followed_but_where_the_tool_reads(here: Workspace, tmp_path: Path) -> None:
    """A link may lead to anything on the machine; but profiles that lie behind one are the workspace's own."""
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "key").write_text("not to be copied", "utf-8")
    (here.folder / "inbox" / "theirs").symlink_to(secret)
    (here.folder / "inbox" / "key.csv").symlink_to(secret / "key")
    shutil.move(here.profiles, tmp_path / "shared")
    here.profiles.symlink_to(tmp_path / "shared")
    made = back_up(here, tmp_path / "backups")
    assert made.left_out == ("inbox/key.csv", "inbox/theirs")
    assert "profiles/crew.toml" in paths(made.manifest)
    found = b"".join(path.read_bytes() for path in (tmp_path / "backups").rglob("*") if path.is_file())
    assert b"not to be copied" not in found


def test_files_that_settings_name_elsewhere_come_along(here: Workspace, tmp_path: Path) -> None:
    """Profiles of several workspaces in one place are as needful as those in the workspace."""
    shutil.move(here.profiles, tmp_path / "shared")
    text = (here.folder / "settings.toml").read_text("utf-8")
    told = text.replace('profiles = "profiles" ', f'profiles = "{(tmp_path / "shared").as_posix()}" ')
    (here.folder / "settings.toml").write_text(told, "utf-8")
    made = back_up(open_workspace(here.folder), tmp_path / "backups")
    assert [one.path for one in made.manifest.files if one.path.startswith("elsewhere/")] == [
        "elsewhere/profiles/crew.toml"
    ]


def test_names_of_any_bytes_and_two_that_differ_in_capitals_alone(here: Workspace, tmp_path: Path) -> None:
    """A name that is no text, or that another disk takes for a second one's, may not lose a file."""
    names = ["note.txt", "NOTE.txt", "Note", "two\nlines.txt"] + (["caf\udce9.txt"] if os.name != "nt" else [])
    for number, name in enumerate(names):
        (here.folder / "inbox" / name).write_text(str(number), "utf-8")
    made = back_up(here, tmp_path / "backups")
    assert {f"inbox/{name}" for name in names} <= paths(read_manifest(made.path))


def test_a_workspace_without_a_store_and_one_without_settings(tmp_path: Path, registers: tuple[Path, Path]) -> None:
    """What a person wrote before the first load is worth a copy; and a store alone is a workspace."""
    (tmp_path / "fresh").mkdir()
    make_workspace(tmp_path / "fresh")
    made = back_up(open_workspace(tmp_path / "fresh"), tmp_path / "one")
    assert (made.manifest.layout, made.manifest.tables, paths(made.manifest)) == (None, [], {"settings.toml"})
    (tmp_path / "bare").mkdir()
    shutil.copyfile(registers[1], tmp_path / "bare" / "store.duckdb")
    made = back_up(open_workspace(tmp_path / "bare"), tmp_path / "two")
    assert paths(made.manifest) == set()
    assert made.manifest.tables


def test_backups_within_the_workspace_do_not_hold_each_other(here: Workspace) -> None:
    """Else each would be as large as all before it together."""
    first = back_up(here, here.folder / "safe")
    again = back_up(here, here.folder / "safe")
    assert first.within
    assert again.written == 0
    assert paths(again.manifest) == paths(first.manifest)
    assert beside(here.folder) == here.folder.parent / "ostershire-backup"


def test_damage_is_named_whole_or_by_parts(copied: Path) -> None:
    """A file of a backup that went bad is to be known while there is another copy of it."""
    (path,) = (copied / "manifests").iterdir()
    files = {one.path: one for one in read_manifest(path).files}
    bad, gone = files["tables/history.job.csv"], files["workspace/profiles/crew.toml"]
    (copied / "objects" / bad.object_name).write_text("other", "utf-8")
    (copied / "objects" / gone.object_name).unlink()
    found = check(copied)
    assert [(one.path, one.expected, one.found) for one in found.damages] == [
        (bad.path, bad.sha256, sha256(b"other").hexdigest()),
        (gone.path, gone.sha256, "missing"),
    ]
    assert [one.path for one in check(copied, ["workspace/profiles"]).damages] == [gone.path]
    assert check(copied, ["tables/meta.load.csv", "workspace/surveys"]).fine
    assert check(path, ["tables"]).files == len([one for one in files if one.startswith("tables/")])
    with pytest.raises(WrongUsage, match="No backup holds 'profiles'"):
        check(copied, ["profiles"])


def test_the_next_backup_mends_a_damaged_object(here: Workspace, copied: Path) -> None:
    """What is there is held against its hash, not its name: else one bad file would be in every backup to come."""
    (path,) = (copied / "manifests").iterdir()
    one = next(one for one in read_manifest(path).files if one.path == "tables/history.job.csv")
    (copied / "objects" / one.object_name).write_bytes(b"")
    made = back_up(here, copied)
    assert made.written == 1
    assert check(copied).fine


def test_a_damaged_manifest_is_told_by_its_name(copied: Path) -> None:
    """A manifest with another hash in it would make a damaged file right."""
    (path,) = (copied / "manifests").iterdir()
    path.write_bytes(path.read_bytes().replace(b"crew.toml", b"crow.toml"))
    found = check(copied)
    assert not found.fine
    assert found.unreadable[0].startswith(f"The manifest {path.name} is damaged or was edited: its name says that its")


def test_a_manifest_is_json_and_the_folder_explains_itself(backups: Path) -> None:
    """Somebody without this tool finds a file by its path."""
    (path,) = (backups / "manifests").iterdir()
    told = json.loads(path.read_text("utf-8"))
    one = next(one for one in told["files"] if one["path"] == "workspace/surveys/ALD-1-2026-06-20.toml")
    assert (backups / "objects" / one["sha256"][:2] / f"{one['sha256']}.toml").read_text("utf-8") == 'text = "é"\n'
    about = (backups / ABOUT).read_text("utf-8")
    assert all(word in about for word in ("manifests/", "objects/", "SHA-256", "NULL", "swardtally restore"))
