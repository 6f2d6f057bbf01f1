"""A store that several offices share: what is written stands once, what is read is of one moment, nothing is mixed."""

from __future__ import annotations

import itertools
from pathlib import Path

import duckdb
import pytest

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.copies.backup import back_up
from pipeline.copies.between import copy_store
from pipeline.copies.restore import restore
from pipeline.forget.forget import forget
from pipeline.load.files import load_paths
from pipeline.load.load import Loader
from pipeline.store import shared
from pipeline.store.decide import decide
from pipeline.store.shared import Overtaken, Turn
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.verify.verify import verify
from pipeline.workspace.settings import Settings, Workspace, open_workspace
from pipeline.workspace.shared import Shared, place_of
from tests.conftest import TODAY
from tests.shared import offices
from tests.shared.fixtures import workspace_with
from tests.shared.server import Server
from tests.thorough import thorough

JOBS = "date,green,operation,reference,hours\n2026-03-01,ALD-1,mowing,A-1,1.5\n2026-03-02,ALD-1,rolling,A-2,0.5\n"
MORE = JOBS.replace("A-", "B-").replace("2026-03", "2026-04")
ADDRESS = "ducklake:postgres:host=db.example dbname=greens"


@pytest.fixture
def here(tmp_path: Path, request: pytest.FixtureRequest) -> Workspace:
    """A workspace with a shared store that holds the small county."""
    return workspace_with("county", tmp_path / "north", request)


@pytest.fixture
def south(here: Workspace, tmp_path: Path) -> Workspace:
    """Another office's workspace of the same store."""
    from shutil import copytree

    return open_workspace(Path(copytree(here.folder, tmp_path / "south")))


def load(here: Workspace, name: str, text: str) -> int | None:
    """Number of the load of a text as a file of that name, all of whose rows are good."""
    path = here.folder / name
    path.write_text(text, "utf-8")
    (done,) = load_paths(here, [path], today=TODAY)
    assert not done.failed, done.faults
    return done.load_id


def references(here: Workspace) -> list[str]:
    """References of the jobs in force, each as often as it stands."""
    with Store(here.store, read_only=True) as store:
        return [one for (one,) in store.rows("SELECT reference FROM job ORDER BY ALL")]


def the_place(here: Workspace) -> Shared:
    """Where the shared store is."""
    assert isinstance(here.store, Shared)
    return here.store


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("ducklake:postgres:host=db dbname=g password=x", "may not say a password"),
        ("ducklake:postgres:host=db", "must say dbname"),
        ("ducklake:postgres:dbname=a dbname=b", "says a word twice"),
        ("ducklake:postgres:dbname=a options=-c", "'options' is none of"),
        ("ducklake:postgres:dbname=a'; ATTACH 'x", "is not word=value"),
        ("ducklake:sqlite:x", "is an address"),
        ("postgres:dbname=a", "is an address"),
    ],
)
def test_an_address_that_says_too_little_or_too_much_is_refused(said: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Settings.model_validate({"store": said})


def test_an_address_names_the_database_and_the_folder_of_its_files(tmp_path: Path) -> None:
    here = Workspace(tmp_path, Settings(store=f"{ADDRESS}  user=crew", store_files="parquet"))
    assert the_place(here) == Shared("host=db.example dbname=greens user=crew", tmp_path / "parquet")
    assert the_place(here).name == "greens on db.example"
    assert place_of(ADDRESS, tmp_path) == Shared("host=db.example dbname=greens", tmp_path)
    with pytest.raises(WrongUsage, match="keeps its files in a folder"):
        place_of(ADDRESS, None)
    with pytest.raises(CannotDo, match="this one is shared"):
        _ = here.store_file


def test_a_server_that_does_not_answer_is_named_with_its_reason(postgres: Server, tmp_path: Path) -> None:
    nowhere = Shared(postgres.words("no_such_database"), tmp_path)
    with pytest.raises(CannotDo, match=r"no_such_database on 127\.0\.0\.1 does not answer: .*does not exist"):
        Store(nowhere, read_only=True)
    with pytest.raises(CannotDo, match="There is no store at ducklake:postgres:"):
        Store(postgres.made("nothing_in_it", tmp_path / "files"), read_only=True)


def test_two_offices_load_undo_and_verify_one_store(here: Workspace, south: Workspace) -> None:
    load(here, "a.csv", JOBS)
    number = load(south, "b.csv", MORE)
    assert references(here) == references(south) == ["A-1", "A-2", "B-1", "B-2"]
    assert load(south, "a.csv", JOBS) is None, "the same bytes again"
    undo(here, number or 0)
    assert references(south) == ["A-1", "A-2"]
    found = verify(south)
    assert found.whole, (found.alterations, found.differences, found.unread)


def test_who_reads_sees_one_moment_and_nothing_but_the_store(here: Workspace, south: Workspace) -> None:
    load(here, "a.csv", JOBS)
    with Store(here.store, read_only=True) as store:
        before = store.rows("SELECT count(*) FROM job")
        load(south, "b.csv", MORE)
        assert store.rows("SELECT count(*) FROM job") == before == [(2,)]
        for reach in ("SELECT * FROM read_text('/etc/hostname')", f"ATTACH '{the_place(here)}' AS other"):
            with pytest.raises(duckdb.Error, match="disabled"):
                store.con.execute(reach)
    assert len(references(here)) == 4


def test_one_writes_at_a_time_and_the_other_is_told_who(
    here: Workspace, south: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shared, "_PATIENCE_S", 1)
    with (
        Store(here.store),
        pytest.raises(CannotDo, match=r"in use by another office \(postgres at 127\.0\.0\.1"),
    ):
        Store(south.store)
    with Store(south.store) as store:
        assert store.pass_on() is False


def _writes_in_spite_of_the_lock(here: Workspace) -> None:
    con = shared.connected(the_place(here), read_only=False)
    con.execute("UPDATE meta.layout SET parts = parts")
    con.close()


def test_what_does_not_follow_on_what_was_read_is_refused_whole(here: Workspace) -> None:
    with Store(here.store) as store, pytest.raises(Overtaken), store.transaction() as con:
        con.execute("DELETE FROM meta.load")
        _writes_in_spite_of_the_lock(here)
    with Store(here.store) as store:
        _writes_in_spite_of_the_lock(here)
        with pytest.raises(Overtaken), store.transaction() as con:
            con.execute("DELETE FROM meta.load")
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM meta.load") == [(3,)]


def test_a_load_that_was_overtaken_is_tried_again(here: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pipeline.load.files.time.sleep", lambda _: None)
    plain, times = Loader.load, itertools.count()

    def overtaken_once(self: Loader, detected: object) -> object:
        if next(times) == 0:
            _writes_in_spite_of_the_lock(here)
        return plain(self, detected)  # type: ignore[arg-type]

    monkeypatch.setattr(Loader, "load", overtaken_once)
    load(here, "a.csv", JOBS)
    assert (references(here), next(times)) == (["A-1", "A-2"], 2)


def test_a_file_that_the_other_office_took_back_meanwhile_is_loaded_and_not_called_known(
    here: Workspace, south: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found before its turn came, it was in the store; told unchanged, its rows would be missing without a word."""
    number = load(here, "a.csv", JOBS)
    other = load(here, "b.csv", MORE)
    assert number
    assert other
    plain, done = Turn.pass_on, []

    def undone_meanwhile(self: Turn) -> None:
        if not done:
            done.append(True)
            self.close()
            undo(south, number)
            self.__init__(self.place)  # type: ignore[misc]
        plain(self)

    monkeypatch.setattr(Turn, "pass_on", undone_meanwhile)
    again = load_paths(here, [here.folder / "b.csv", here.folder / "a.csv"], today=TODAY)
    assert [one.counts.loaded for one in again] == [0, 2]
    assert len(references(south)) == 4


def test_a_decision_of_another_office_is_not_taken_back_by_who_lacks_it(here: Workspace, south: Workspace) -> None:
    bare = "date,green,operation,logged_by,hours\n2026-03-01,ALD-1,mowing,{by},2\n"
    load(here, "ann.csv", bare.format(by="Ann"))
    load(here, "bob.csv", bare.format(by="Bob"))
    (number, _), *_ = decide(here, "one", ["ann.csv:2", "bob.csv:2"], why="one job", who="office").entries
    with pytest.raises(CannotDo, match=f"follows decision {number} .* which this workspace lacks"):
        load(south, "a.csv", JOBS)
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM job") == [(1,)]
    undo(south, number)
    load(south, "a.csv", JOBS)
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM job") == [(4,)]


def test_each_row_has_a_number_of_its_own_also_where_it_was_added_and_changed_at_once(here: Workspace) -> None:
    """DuckLake 1.0 leaves such rows the number they had within their transaction, which others have as well."""
    con = shared.connected(the_place(here), read_only=False)
    for number in (7, 8):
        con.execute("BEGIN")
        con.execute(f"INSERT INTO meta.rests_on VALUES ({number}, 1, 'again', 0)")
        con.execute(f"UPDATE meta.rests_on SET records = 5 WHERE load_id = {number}")
        con.execute("COMMIT")
    assert con.execute("SELECT count(*), count(DISTINCT rowid) FROM meta.rests_on").fetchall() == [(2, 1)]
    con.close()
    with Store(here.store) as store:  # as of one that was killed before it could see to it
        assert store.rows("SELECT load_id, records FROM meta.rests_on ORDER BY ALL") == [(7, 5), (8, 5)]
        assert store.rows("SELECT count(DISTINCT rowid) FROM meta.rests_on") == [(2,)]
    load(here, "a.csv", JOBS)
    with Store(here.store, read_only=True) as store:
        assert store.rows("SELECT count(*) = count(DISTINCT rowid) FROM meta.load") == [(True,)]


def test_rows_that_lie_in_many_files_are_put_into_few(here: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shared, "MOST_FILES", 3)
    for day in (1, 2, 3):
        load(here, f"{day}.csv", JOBS.replace("A-", f"{day}-").replace("03-0", f"0{day}-0"))
    with Store(here.store) as store:
        counts = dict(store.rows("SELECT table_name, file_count FROM ducklake_table_info('shared')"))
        assert counts["load"] <= 3
    assert len(references(here)) == 6
    found = verify(here)
    assert found.whole, (found.alterations, found.differences)


def test_a_store_is_copied_either_way_and_held_against_what_it_was_copied_from(
    here: Workspace, postgres: Server, tmp_path: Path
) -> None:
    load(here, "a.csv", JOBS)
    file = tmp_path / "copy.duckdb"
    done = copy_store(here.store, file)
    assert (done.rows["history.job"], done.rows["meta.load"]) == (2, 4)
    back = postgres.made("copied_back", tmp_path / "copied")
    assert copy_store(file, back).rows == done.rows
    with Store(file, read_only=True) as one, Store(back, read_only=True) as other:
        for table in ("job", "green", "meta.chain", "meta.load"):
            assert one.frame(f"FROM {table}").equals(other.frame(f"FROM {table}"))
    with pytest.raises(CannotDo, match="is there already"):
        copy_store(here.store, file)
    with pytest.raises(CannotDo, match="holds records already"):
        copy_store(file, back)


def test_a_copy_that_came_over_otherwise_is_not_kept(
    here: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from pipeline.copies import between

    def with_a_slip(con: duckdb.DuckDBPyConnection) -> None:
        plain(con)
        con.execute("UPDATE history.green SET area_m2 = area_m2 + 1")

    plain = between.take_over
    monkeypatch.setattr(between, "take_over", with_a_slip)
    with pytest.raises(CannotDo, match=r"history\.green did not come over as it is"):
        copy_store(here.store, tmp_path / "copy.duckdb")
    assert list(tmp_path.glob("*copy*")) == []


def test_a_backup_is_of_one_moment_and_makes_a_workspace_with_a_file(here: Workspace, tmp_path: Path) -> None:
    load(here, "a.csv", JOBS)
    back_up(here, tmp_path / "backups")
    restore(tmp_path / "backups", tmp_path / "again")
    again = open_workspace(tmp_path / "again")
    assert again.store == again.folder / "store.duckdb"
    assert references(again) == ["A-1", "A-2"]
    assert verify(again).whole


def test_a_name_is_not_forgotten_where_former_files_would_keep_it(here: Workspace) -> None:
    with pytest.raises(CannotDo, match="this one is shared"):
        forget(here, ["Ann Person"])


@pytest.mark.parametrize("files", [2, pytest.param(12, marks=thorough)])
def test_two_offices_at_once_lose_no_row_and_double_none(postgres: Server, tmp_path: Path, files: int) -> None:
    """``make offices`` does it with 500 files each, one killed ten times, and loads taken back between."""
    came = offices.side_by_side(postgres, tmp_path, files)
    assert (came.rows, came.same, came.whole) == (came.expected, True, True)


@thorough
def test_an_office_that_is_killed_at_work_loses_nothing(postgres: Server, tmp_path: Path) -> None:
    came = offices.one_killed(postgres, tmp_path, 10, kills=3, seed=1)
    assert (came.rows, came.same, came.whole) == (came.expected, True, True)


@thorough
def test_loads_taken_back_and_corrected_between_leave_each_row_once(postgres: Server, tmp_path: Path) -> None:
    came = offices.undone_between(postgres, tmp_path, 10)
    assert (came.rows, came.same, came.whole) == (came.expected, True, True)
