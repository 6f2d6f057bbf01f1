"""The layout of a store: its tables with their columns and comments, its views, and how an older one is brought up."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from hashlib import sha256
from importlib.resources import files

import duckdb

from pipeline.store.by_day import by_day_views
from pipeline.store.derived import DERIVED
from pipeline.store.figure_log import LOG
from pipeline.store.figure_views import figure_views
from pipeline.store.proof.chain import CHAIN
from pipeline.store.proof.originals import ORIGINALS
from pipeline.store.sql_text import quoted
from schemas import KINDS
from schemas.kind import ENDINGS

SCHEMA_VERSION = 8
"""Version of the store's layout; a newer one is refused, an older one is brought up by migrations.py."""

LOAD_COLUMNS = (
    ("load_id", "BIGINT NOT NULL", "number of the load, ascending"),
    ("file", "VARCHAR NOT NULL", "file as the person named it"),
    ("sha256", "VARCHAR NOT NULL", "SHA-256 of the file's bytes"),
    ("kind", "VARCHAR NOT NULL", "kind of record"),
    ("profile", "VARCHAR NOT NULL", "source profile used, or '' where the headers were the kind's own"),
    (
        "rules_sha256",
        "VARCHAR NOT NULL",
        "SHA-256 of every profile of the workspace and the file's corrections and decisions",
    ),
    ("loaded_at", "TIMESTAMP NOT NULL", "when, UTC"),
    ("version", "VARCHAR NOT NULL", "version of the tool"),
    ("encoding", "VARCHAR NOT NULL", "encoding the bytes were read in"),
    ("rows", "BIGINT NOT NULL", "records put forward and lines left out"),
    ("loaded", "BIGINT NOT NULL", "records new to the store"),
    ("unchanged", "BIGINT NOT NULL", "records the store already held, in force or as former versions"),
    *((way, "BIGINT NOT NULL", f"records that ended so: {what}") for way, what in ENDINGS.items()),
    ("rejected", "BIGINT NOT NULL", "records written to a rejects file with their faults"),
    ("ignored", "BIGINT NOT NULL", "lines left out (totals, comments, blank results, true copies)"),
    ("warnings", "BIGINT NOT NULL", "faults that did not keep a record out"),
)

META = {
    "load": (
        "One load of one file (grain: load).",
        LOAD_COLUMNS,
    ),
    "fault": (
        "One fault of one load (grain: load, line and fault).",
        (
            ("load_id", "BIGINT NOT NULL", "load that met it"),
            ("line", "BIGINT", "line of the file; NULL where it concerns the whole file"),
            ("column_name", "VARCHAR", "column as the person sees it"),
            ("value", "VARCHAR", "cell as written"),
            ("code", "VARCHAR NOT NULL", "kind of fault (docs/faults.md)"),
            ("severity", "VARCHAR NOT NULL", "error, warning or note"),
            ("message", "VARCHAR NOT NULL", "what is wrong"),
            ("hint", "VARCHAR NOT NULL", "what to do"),
            ("green", "VARCHAR", "green the line names, where that much was understood"),
            (
                "record",
                "VARCHAR",
                "key of the record it is about as JSON, as far as understood; NULL where of none or many",
            ),
            ("of_value", "BOOLEAN", "whether it is about one value of a line that holds several records"),
            ("of_load", "BIGINT", "load that brought the record it is about, where the store held that already"),
            ("of_line", "BIGINT", "line of that record in that load"),
            (
                "settled_by",
                "BIGINT",
                "load that saw its record again or confirmed its cell, or decision about it; NULL while it stands",
            ),
        ),
    ),
    "undone": (
        "One load that was taken back (grain: load).",
        (*LOAD_COLUMNS, ("undone_at", "TIMESTAMP NOT NULL", "when it was taken back, UTC")),
    ),
    "rests_on": (
        "One load and an earlier one that it rests on (grain: the two loads, and how).",
        (
            ("load_id", "BIGINT NOT NULL", "the later load"),
            ("on_load", "BIGINT NOT NULL", "the earlier one: what it did, the later one would have done without it"),
            ("how", "VARCHAR NOT NULL", "again: both say these records; ended: both leave them out or take them back"),
            ("records", "BIGINT", "how many; NULL where a store of layout 4 had not kept it"),
        ),
    ),
    "decision": (
        "One decision of a person about one or two lines (grain: decision).",
        (
            ("decision", "BIGINT NOT NULL", "its number, one sequence with the loads"),
            ("source", "VARCHAR NOT NULL", "file of the folder decisions it stands in"),
            ("sha256", "VARCHAR NOT NULL", "SHA-256 of the entry"),
            ("decided", "VARCHAR NOT NULL", "one, two or aside"),
            ("kind", "VARCHAR NOT NULL", "kind of record"),
            ("about", "VARCHAR NOT NULL", "the lines, in words"),
            ("file", "VARCHAR NOT NULL", "file of the record that counts, or of the row set aside"),
            ("other_file", "VARCHAR", "file of the other record; NULL of a row set aside"),
            ("why", "VARCHAR NOT NULL", "the reason"),
            ("who", "VARCHAR NOT NULL", "who says so"),
            ("decided_at", "TIMESTAMP NOT NULL", "when it was first followed, UTC"),
            ("fits", "BOOLEAN NOT NULL", "whether the lines still say what it was made for"),
            ("of_load", "BIGINT", "load of the record that counts; NULL where it fits none"),
            ("of_line", "BIGINT", "its line"),
            ("record", "VARCHAR", "its key as JSON"),
            ("other_load", "BIGINT", "load of the other record"),
            ("other_line", "BIGINT", "its line"),
            ("other_record", "VARCHAR", "its key as JSON"),
            ("taken_back_at", "TIMESTAMP", "when it was taken back, UTC; NULL while it stands"),
        ),
    ),
    "rejects": (
        "One file of rejected rows (grain: file written, and name its input was loaded by).",
        (
            ("name", "VARCHAR NOT NULL", "its name in the folder of rejected rows"),
            ("place", "VARCHAR NOT NULL", "file the rows are of, from the workspace's folder or with its whole path"),
            ("file", "VARCHAR NOT NULL", "the same as a person named it"),
            ("sha256", "VARCHAR NOT NULL", "SHA-256 of what was written: other bytes are a person's changes"),
        ),
    ),
    "layout": (
        "Version of the store's layout (grain: one row).",
        (
            ("version", "BIGINT NOT NULL", "layout version"),
            ("parts", "VARCHAR", "mark of every table, column and view, so that an unchanged layout is not made again"),
        ),
    ),
    **ORIGINALS,
    **CHAIN,
    **LOG,
}

Connection = duckdb.DuckDBPyConnection


def make_layout(con: Connection) -> None:
    """Make every table with its comments."""
    _make_schemas(con)
    for table, comment, columns in tables():
        _make_table(con, table, comment, columns)


def _make_schemas(con: Connection) -> None:
    for schema in ("history", "meta", "derived"):
        con.execute(f"CREATE SCHEMA IF NOT EXISTS {schema}")


def _make_table(con: Connection, table: str, comment: str, columns: list[tuple[str, str, str]]) -> None:
    body = ", ".join(f'"{name}" {kind}' for name, kind, _ in columns)
    con.execute(f"CREATE TABLE IF NOT EXISTS {table} ({body})")
    _explain(con, table, comment, columns)


def _explain(con: Connection, table: str, comment: str, columns: list[tuple[str, str, str]]) -> None:
    """Give a table and its columns their comments."""
    con.execute(f"COMMENT ON TABLE {table} IS {quoted(comment)}")
    for name, _, text in columns:
        con.execute(f'COMMENT ON COLUMN {table}."{name}" IS {quoted(text)}')


def tables() -> Iterator[tuple[str, str, list[tuple[str, str, str]]]]:
    """Every table of the store: name, comment, columns (name, type, comment)."""
    for kind in KINDS.values():
        yield f"history.{kind.name}", f"Every version of {kind.grain}.", list(kind.store_columns())
    for name, (comment, columns) in META.items():
        yield f"meta.{name}", comment, list(columns)
    for name, (comment, columns) in DERIVED.items():
        yield f"derived.{name}", comment, list(columns)


def missing(con: Connection) -> Iterator[tuple[str, str, list[tuple[str, str, str]], bool]]:
    """Tables and columns the store lacks: table, comment, columns, and whether the whole table is new."""
    have: dict[str, set[str]] = {}
    sql = (
        "SELECT table_schema || '.' || table_name, column_name FROM information_schema.columns "
        "WHERE table_catalog = current_database()"
    )
    for table, column in con.execute(sql).fetchall():
        have.setdefault(table, set()).add(column)
    for table, comment, columns in tables():
        names = have.get(table, set())
        lacking = [column for column in columns if column[0] not in names]
        if lacking:
            yield table, comment, lacking, not names


def bring_up(con: Connection) -> None:
    """Add the tables and columns gained since the store was made; earlier rows hold NULL there. Comments are anew.

    What is made from the records loses the columns it no longer has: nothing is lost, for it can be made anew.
    """
    _make_schemas(con)
    for table, comment, columns, whole in list(missing(con)):
        if whole:
            _make_table(con, table, comment, columns)
            continue
        for name, declared, _ in columns:
            con.execute(f'ALTER TABLE {table} ADD COLUMN "{name}" {declared.replace(" NOT NULL", "")}')
    for name, (_, declared_now) in DERIVED.items():
        have = con.execute(
            "SELECT column_name FROM duckdb_columns() "
            "WHERE database_name = current_database() AND schema_name = 'derived' AND table_name = ?",
            [name],
        )
        for (column,) in sorted({*have.fetchall()} - {(known,) for known, *_ in declared_now}):
            con.execute(f'ALTER TABLE derived.{name} DROP COLUMN "{column}"')
    for table, comment, columns in tables():
        _explain(con, table, comment, columns)


@cache
def parts_of_layout() -> str:
    """A mark that changes with any table, column, comment or view."""
    return sha256(repr([list(tables()), list(_views())]).encode()).hexdigest()


def make_views(con: Connection) -> None:
    """Make the views of the records in force, and the joined ones in pipeline/sql/."""
    in_file = con.execute("SELECT type FROM duckdb_databases() WHERE database_name = current_database()").fetchall()
    for statement in _views():
        if in_file == [("duckdb",)] or not statement.startswith("COMMENT ON COLUMN"):  # of a shared view it has none
            con.execute(statement)


def _views() -> Iterator[str]:
    """The statements that make every view, in order."""
    for kind in KINDS.values():
        if kind.by_day:
            yield from by_day_views(kind)
            continue
        fields = ", ".join(f'k."{field.name}"' for field in kind.stored)
        yield (
            f'CREATE OR REPLACE VIEW "{kind.name}" AS SELECT {fields}, k.load_id, l.file, k.line, k.written '  # noqa: S608
            f"FROM history.{kind.name} AS k JOIN meta.load AS l ON l.load_id = k.load_id WHERE k.ended_by IS NULL"
        )
        words = f"{kind.title} in force; one row is {kind.grain}."
        yield f'COMMENT ON VIEW "{kind.name}" IS {quoted(words)}'
    yield from figure_views()
    for path in sorted(files("pipeline.store").joinpath("sql").iterdir(), key=lambda entry: entry.name):
        if path.name.endswith(".sql"):
            yield path.read_text("utf-8")
