"""The store: its layout, who may open it, and what happens where it cannot be opened."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

import pipeline.store.store as module
from pipeline.common.refusal import CannotDo
from pipeline.store import layout
from pipeline.store.layout import META, SCHEMA_VERSION, make_layout
from pipeline.store.store import Store
from schemas import KINDS
from tests.thorough import thorough

ORIGINAL = layout._make_table


def refusal(path: Path, *, read_only: bool = False) -> CannotDo:
    with pytest.raises(CannotDo) as caught:
        Store(path, read_only=read_only)
    assert caught.value.hint
    return caught.value


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "deep" / "store.duckdb"


def test_a_new_store_has_every_table_with_comments(path: Path) -> None:
    """Who opens the file with another tool finds every table and column explained."""
    with Store(path) as store:
        assert store.rows("SELECT version FROM meta.layout") == [(SCHEMA_VERSION,)]
        columns = store.rows(
            "SELECT schema_name, table_name, column_name, comment FROM duckdb_columns() "
            "WHERE schema_name IN ('history', 'meta')"
        )
        tables = store.rows("SELECT table_name, comment FROM duckdb_tables() WHERE schema_name IN ('history', 'meta')")
        views = dict(store.rows("SELECT view_name, comment FROM duckdb_views() WHERE NOT internal"))
    found = {(schema, table, name) for schema, table, name, _ in columns}
    assert found == {
        *(("history", k.name, name) for k in KINDS.values() for name, _, _ in k.store_columns()),
        *(("meta", table, name) for table, (_, fields) in META.items() for name, _, _ in fields),
    }
    assert [one for one in columns if not one[3]] == []
    assert [one for one in tables if not one[1]] == []
    assert set(KINDS) | {"application"} <= set(views)
    assert all(views.values())
    assert views["job"] == "jobs in force; one row is one operation on one green on one day."


def test_ddl_stays_in_the_subset_that_a_lake_shares(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """DuckLake knows no keys, checks, enums, sequences or indexes (its documentation, "Unsupported features"); a store
    that used one could not move there."""
    said: list[str] = []

    class Listening:
        def execute(self, sql: str, *_: object) -> None:
            said.append(sql)

    make_layout(Listening())  # type: ignore[arg-type]
    assert len(said) > 100
    with Store(path) as store:
        constraints = store.rows("SELECT DISTINCT constraint_type FROM duckdb_constraints()")
        assert {kind for (kind,) in constraints} <= {"NOT NULL"}
        for what in ("duckdb_indexes()", "duckdb_sequences()"):
            assert store.rows(f"SELECT count(*) FROM {what}") == [(0,)]
        enums = "SELECT count(*) FROM duckdb_types() WHERE logical_type = 'ENUM' AND NOT internal"
        assert store.rows(enums) == [(0,)]
        known = {"VARCHAR", "DOUBLE", "BIGINT", "DATE", "BOOLEAN", "TIMESTAMP", "UUID", "BLOB"}
        types = {kind for (kind,) in store.rows("SELECT DISTINCT data_type FROM duckdb_columns() WHERE NOT internal")}
        assert types <= known | {"DECIMAL(14,4)"}  # money; a lake has decimals too ("Data Types")
    for sql in said:
        words = sql.upper().split(" IS '")[0]
        for forbidden in (
            "PRIMARY KEY",
            "UNIQUE",
            "CHECK",
            "ENUM",
            "SEQUENCE",
            "INDEX",
            "RETURNING",
            "ON CONFLICT",
            "REFERENCES",
        ):
            assert forbidden not in words, sql


def test_opening_again_changes_nothing_and_reads_the_same(path: Path) -> None:
    """A layout brought up twice would be a layout brought up wrongly."""
    with Store(path) as store:
        store.con.execute("INSERT INTO history.club (club, name, load_id, line) VALUES ('A', 'A', 1, 2)")
    for read_only in (False, True):
        with Store(path, read_only=read_only) as store:
            assert store.rows("SELECT count(*) FROM history.club") == [(1,)]
            assert store.rows("SELECT count(*) FROM meta.layout") == [(1,)]


def test_no_store_to_read(path: Path) -> None:
    """Reading may not make an empty store: the next reader would find nothing and believe it."""
    error = refusal(path, read_only=True)
    assert error.message == f"There is no store at {path}."
    assert error.hint == "Load files first: swardtally load PATH"
    assert not path.exists()


def test_a_newer_store_is_refused_unchanged(path: Path) -> None:
    """What a newer version wrote may mean something this one does not know."""
    with Store(path) as store:
        store.con.execute("UPDATE meta.layout SET version = ?", [SCHEMA_VERSION + 1])
    for read_only in (False, True):
        error = refusal(path, read_only=read_only)
        assert error.message == (
            f"The store store.duckdb was made by a newer version of swardtally (layout {SCHEMA_VERSION + 1})."
        )
    with duckdb.connect(str(path)) as con:
        assert con.execute("SELECT version FROM meta.layout").fetchall() == [(SCHEMA_VERSION + 1,)]


def test_an_older_store_is_refused_for_reading_and_brought_up_for_writing(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each step from the layout found to the one in force is taken once, in one transaction; nothing kept is lost."""
    with Store(path) as store:
        store.con.execute("INSERT INTO history.green (green, club, note, load_id, line) VALUES ('A', 'A', 'n', 1, 2)")
    steps: list[int] = []
    monkeypatch.setattr(module, "SCHEMA_VERSION", SCHEMA_VERSION + 1)
    later = {**module.MIGRATIONS, SCHEMA_VERSION: lambda _con: steps.append(SCHEMA_VERSION)}
    monkeypatch.setattr(module, "MIGRATIONS", later)
    assert refusal(path, read_only=True).message == "The store store.duckdb has an older layout."
    for _ in range(2):
        with Store(path) as store:
            assert store.rows("SELECT version FROM meta.layout") == [(SCHEMA_VERSION + 1,)]
            assert store.rows("SELECT green, note FROM history.green") == [("A", "n")]
    assert steps == [SCHEMA_VERSION]


@thorough
def test_fields_and_kinds_that_came_later_reach_a_store_of_the_same_layout(path: Path) -> None:
    """A new field or kind needs no new layout version; opening for writing adds it, with its comment."""
    with Store(path):
        pass
    with duckdb.connect(str(path)) as con:
        con.execute('DROP VIEW "job"; DROP VIEW application; ALTER TABLE history.job DROP COLUMN note')
        con.execute("DROP VIEW target; DROP TABLE history.target; UPDATE meta.layout SET parts = 'earlier'")
    with Store(path) as store:
        assert store.rows("SELECT note FROM job") == []
        assert store.rows("SELECT count(*) FROM target") == [(0,)]
        comment = "SELECT comment FROM duckdb_columns() WHERE schema_name = 'history' AND table_name = 'job' "
        assert store.rows(comment + "AND column_name = 'note'") == [("Anything else worth keeping.",)]


def test_a_layout_that_fails_leaves_nothing_half_made(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The layout is one transaction: a full disk leaves an empty file, which the next opening mends."""

    def full(con: object, table: str, *rest: object) -> None:
        if table == "history.job":
            raise duckdb.IOException("No space left on device")
        ORIGINAL(con, table, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(layout, "_make_table", full)
    error = refusal(path)
    assert error.message == "The store store.duckdb could not be written: No space left on device"
    monkeypatch.undo()
    with duckdb.connect(str(path), read_only=True) as con:
        assert con.execute("SELECT count(*) FROM duckdb_tables()").fetchall() == [(0,)]
    with Store(path) as store:
        assert store.rows("SELECT count(*) FROM history.job") == [(0,)]


def test_a_file_that_is_no_store_is_refused_untouched(path: Path) -> None:
    """A spreadsheet named store.duckdb, or one cut short, is said to be damaged and not written over."""
    path.parent.mkdir()
    for content in (b"club,name\n" * 2000, b"\0" * 20000):
        path.write_bytes(content)
        for read_only in (False, True):
            error = refusal(path, read_only=read_only)
            assert error.message.startswith("The store store.duckdb cannot be opened: ")
            assert "\n" not in error.message
            assert error.hint == "If it is damaged, restore it from a backup, or load the files into a new workspace."
        assert path.read_bytes() == content


def test_a_store_damaged_inside_is_refused(path: Path) -> None:
    """A bad block on the disk shows only once it is read; that too is a sentence, not a traceback."""
    with Store(path):
        pass
    raw = bytearray(path.read_bytes())
    raw[12288:] = bytes(byte ^ 0xA5 for byte in raw[12288:])
    path.write_bytes(raw)
    for read_only in (False, True):
        error = refusal(path, read_only=read_only)
        assert error.message.startswith("The store store.duckdb cannot be opened: ")
        assert "\n" not in error.message


def test_a_store_another_process_holds(path: Path) -> None:
    """One writer at a time: the other is told who holds the file and that nothing was changed."""
    with Store(path):
        pass
    before = path.read_bytes()
    code = "import duckdb,sys; c = duckdb.connect(sys.argv[1]); print('held', flush=True); sys.stdin.read()"
    with subprocess.Popen(
        [sys.executable, "-c", code, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        for read_only in (False, True):
            error = refusal(path, read_only=read_only)
            assert error.message == f"The store store.duckdb is in use by another program (process {holder.pid})."
            assert error.hint == (
                "Close that program, or wait until it has finished, and try again. Nothing was changed."
            )
        holder.communicate("")
    assert path.read_bytes() == before


def test_a_rehearsal_takes_back_all_that_is_done_in_it(path: Path) -> None:
    """Several transactions within one, none of which stays; an error comes through and leaves nothing either."""
    insert = "INSERT INTO meta.layout (version) VALUES (7)"
    with Store(path) as store:
        with store.rehearsal():
            for _ in range(2):
                with store.transaction() as con:
                    con.execute(insert)
            assert store.rows("SELECT count(*) FROM meta.layout") == [(3,)]
        assert store.rows("SELECT count(*) FROM meta.layout") == [(1,)]
        with pytest.raises(ZeroDivisionError), store.rehearsal(), store.transaction() as con:
            con.execute(insert)
            raise ZeroDivisionError
        assert store.rows("SELECT count(*) FROM meta.layout") == [(1,)]
        with store.transaction() as con:
            con.execute(insert)
        assert store.rows("SELECT count(*) FROM meta.layout") == [(2,)]
