"""The store: one DuckDB file that keeps every version of every record, and says where each came from.

Tables in schema ``history`` hold all versions; a view of the same name in ``main`` shows the ones in force; ``meta``
holds the loads, ``derived`` what is made from the records. DDL and SQL stay in the subset that a DuckDB file and
DuckLake share, and in what DuckDB 1.5 and 2.0 share.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import duckdb
import polars as pl

from pipeline.common.refusal import CannotDo, OlderLayout
from pipeline.store.by_day import BY_DAY, alone, by_day_views, view_name
from pipeline.store.derived import DERIVED
from pipeline.store.figure_log import LOG
from pipeline.store.figure_views import figure_views
from pipeline.store.migrations import MIGRATIONS
from pipeline.store.register import Register
from pipeline.store.sql_text import quoted, with_values
from schemas import KINDS, Kind
from schemas.kind import ENDINGS

SCHEMA_VERSION = 7
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
    **LOG,
}

Connection = duckdb.DuckDBPyConnection


class _TakenBack(Exception):
    """Ends a rehearsal."""


class Store:
    """An open store. Use as a context manager; it closes itself."""

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        """Open the store, making or bringing up its layout where it may write.

        Raises:
            CannotDo: there is no store to read, another process holds it, it is of a newer version, or it is damaged.
        """
        self.path = path
        self._rehearsing = False
        if read_only and not path.exists():
            raise CannotDo(f"There is no store at {path}.", "Load files first: swardtally load PATH")
        path.parent.mkdir(parents=True, exist_ok=True)
        self.con = _connect(path, read_only=read_only)
        try:
            self._check_layout(read_only=read_only)
        except BaseException as error:
            self._close()
            if isinstance(error, duckdb.Error):
                raise _refusal(path, error, "cannot be opened") from error
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()
        if isinstance(error, duckdb.Error):
            raise _refusal(self.path, error) from error

    def _close(self) -> None:
        with suppress(duckdb.Error):  # a store that failed may fail once more
            self.con.close()

    def rows(self, sql: str, parameters: list[Any] | None = None) -> list[tuple[Any, ...]]:
        """Rows of a query, read to the end."""
        try:
            return self.con.execute(*with_values(sql, parameters or [])).fetchall()
        except duckdb.Error as error:
            raise _refusal(self.path, error) from error

    def dicts(self, sql: str, parameters: list[Any] | None = None) -> list[dict[str, Any]]:
        """The same, each row by the names of its columns."""
        found = self.rows(sql, parameters)
        names = [one[0] for one in self.con.description or ()]
        return [dict(zip(names, row, strict=True)) for row in found]

    def frame(self, sql: str, *, by: Sequence[str] = (), **parameters: object) -> pl.DataFrame:
        """A query's result as a polars frame, in a total order: whatever the threads, the same rows in the same order.

        Args:
            sql: the query, with ``$name`` parameters; without an order of its own, unless to take the first rows by.
            by: columns to sort by first, nulls first; all others follow, as they stand, so that only equal rows tie.
            parameters: values of the parameters.
        """
        assert "ORDER BY" not in sql or "LIMIT" in sql, f"the order of a query is lost: name it with by: {sql}"
        try:
            first = "".join(f'"{name}" NULLS FIRST, ' for name in by)
            return queried(self.con, f"FROM ({sql}) ORDER BY {first}COLUMNS(*) NULLS FIRST", parameters)
        except duckdb.Error as error:
            raise _refusal(self.path, error) from error

    def current(self, kind: str) -> pl.DataFrame:
        """Records of a kind in force, with their provenance (``load_id``, ``file``, ``line``, ``written``).

        In the order of the kind, then of file and line; rows of one line (a wide sheet's) by their other fields.
        """
        one = KINDS[kind]
        return self.frame(f'SELECT * FROM "{one.name}"', by=one.reading_order)  # noqa: S608 (a name from KINDS)

    def register(self, season_start: str = "10-01") -> Register:
        """Clubs, greens, materials and targets in force; seasons begin on that day (MM-DD)."""
        by_day = self.registers_by_day()
        greens, materials = (as_last_said(by_day[name], KINDS[name]) for name in ("green", "material"))
        return Register(self.current("club"), greens, materials, self.current("target"), season_start, by_day)

    def names_met(self, kind: str) -> dict[str, frozenset[str]]:
        """Names that only records bear and a register of this kind refers to, by field (``lab``, ``station``).

        Of targets also the depths of organic matter, as they are printed (``depth``).
        """
        found: dict[str, set[str]] = {}
        for name, table in _MET.get(kind, ()):
            rows = self.rows(f'SELECT DISTINCT "{name}" FROM "{table}" WHERE "{name}" IS NOT NULL ORDER BY ALL')  # noqa: S608 (names of ours)
            found.setdefault(name, set()).update(one for (one,) in rows)
        if kind == "target":
            found["depth"] = {f"{low:g}–{high:g} mm" for low, high in self.rows(_DEPTHS)}
        return {name: frozenset(names) for name, names in found.items()}

    def registers_by_day(self) -> dict[str, pl.DataFrame]:
        """What registers said on which days, by kind: their rows with ``holds_from`` and ``holds_until``.

        In force from the one, where it is not null, to the day before the other; grain: a thing and a stretch of days.
        """
        return {name: self._as_held(KINDS[name]) for name in BY_DAY}

    def _as_held(self, kind: Kind) -> pl.DataFrame:
        by = (kind.name, "holds_from")  # a register's rows are named by the field that is called as the kind
        rows = self.frame(alone(kind), by=by)
        return self.frame(f'FROM "{view_name(kind.name)}"', by=by) if rows[kind.name].is_duplicated().any() else rows

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """One transaction: all of it or nothing.

        Raises:
            CannotDo: the disk is full or the store cannot be written; nothing was changed.
        """
        own = not self._rehearsing
        if own:
            self.con.execute("BEGIN TRANSACTION")
        try:
            yield self.con
            if own:
                self.con.execute("COMMIT")
        except BaseException as error:
            self._rollback()
            if isinstance(error, duckdb.Error) and own:
                raise _refusal(self.path, error, "could not be written") from error
            raise

    @contextmanager
    def rehearsal(self) -> Iterator[None]:
        """One transaction that holds all others begun in it, and is taken back at its end."""
        with suppress(_TakenBack), self.transaction():
            self._rehearsing = True
            try:
                yield
            finally:
                self._rehearsing = False
            raise _TakenBack

    def _rollback(self) -> None:
        with suppress(duckdb.Error):  # a failed COMMIT has already ended the transaction
            self.con.execute("ROLLBACK")

    def _check_layout(self, *, read_only: bool) -> None:
        found = self.rows("SELECT count(*) FROM information_schema.tables WHERE table_schema = 'meta'")[0][0]
        layout = self.con.execute("SELECT * FROM meta.layout").fetchall()[0] if found else (0,)
        version, parts = layout[0], _parts()
        if version > SCHEMA_VERSION:
            raise CannotDo(
                f"The store {self.path.name} was made by a newer version of swardtally (layout {version}).",
                "Install that version, or export the store with it and load the files here.",
            )
        if layout == (SCHEMA_VERSION, parts):
            return
        if read_only:
            if version < SCHEMA_VERSION or any(_missing(self.con)):
                raise OlderLayout(
                    f"The store {self.path.name} has an older layout.",
                    "swardtally doctor --bring-up brings it up, and so does loading a file; a former version cannot "
                    "read it then.",
                )
            return
        with self.transaction():
            if version:
                for step in range(version, SCHEMA_VERSION):
                    MIGRATIONS[step](self.con)
                _bring_up(self.con)
            else:
                make_layout(self.con)
            make_views(self.con)
            self.con.execute("DELETE FROM meta.layout")
            self.con.execute("INSERT INTO meta.layout VALUES (?, ?)", [SCHEMA_VERSION, parts])


_DEPTHS = """SELECT DISTINCT coalesce(depth_from_mm, 0), depth_to_mm FROM soil_test
WHERE analyte = 'organic_matter' AND depth_to_mm IS NOT NULL"""
"""Layers that organic matter was measured in."""
_MET = {
    "target": (("lab", "soil_test"),),
    "green": (("station", "weather_day"), ("station", "weather_month")),
}
"""Fields of a register that name what only records name, and the kinds of these."""


def queried(con: Connection, sql: str, parameters: Mapping[str, object] | None = None) -> pl.DataFrame:
    """A query's result as a polars frame, in the order that the query gives it.

    DuckDB 1 plans ``con.sql`` three times, with parameters in 11 ms for 2.5; DuckDB 2 has no frames after ``execute``.
    """
    if hasattr(con, "pl"):
        return con.execute(sql, parameters or None).pl()
    return con.sql(sql, params=parameters or None).pl()


def as_last_said(by_day: pl.DataFrame, kind: Kind) -> pl.DataFrame:
    """What ``Store.current`` reads of such a register, from the rows of its days: its view need not be made twice."""
    rows = by_day.filter(pl.col("holds_until").is_null()).drop("holds_from", "holds_until")
    return rows.sort(list(dict.fromkeys((*kind.reading_order, *rows.columns))), maintain_order=True)


def _connect(path: Path, *, read_only: bool) -> Connection:
    try:
        con = duckdb.connect(
            str(path), read_only=read_only, config={} if read_only else {"storage_compatibility_version": "v1.4.0"}
        )
        con.execute("SET enable_progress_bar = false")  # it would stand among the results on standard output
        return con
    except duckdb.IOException as error:
        text = str(error)
        if any(words in text for words in _HELD):
            raise CannotDo(
                f"The store {path.name} is in use by another program{_holder(text)}.",
                "Close that program, or wait until it has finished, and try again. Nothing was changed.",
            ) from None
        raise _refusal(path, error, "cannot be opened") from None
    except duckdb.Error as error:
        raise _refusal(path, error, "cannot be opened") from None


_HELD = ("Could not set lock", "used by another process")
"""What DuckDB says of a file another process holds, on Linux and macOS, and on Windows ("block" is no lock)."""


_FULL = ("No space left", "not enough space", "Out of Memory", "could not write", "Could not write")
"""What DuckDB says where the disk or the memory is full; anything else speaks of the store itself."""


def _refusal(path: Path, error: duckdb.Error, what: str = "could not be read") -> CannotDo:
    """What a failed store comes to in a sentence: it is full, or it is damaged."""
    full = isinstance(error, duckdb.OutOfMemoryException) or any(words in str(error) for words in _FULL)
    hint = (
        "Nothing of this file was kept. Make room on the disk and load again."
        if full
        else "If it is damaged, restore it from a backup, or load the files into a new workspace."
    )
    return CannotDo(f"The store {path.name} {what}: {_first_line(error)}", hint)


def _holder(text: str) -> str:
    number = text.partition("PID ")[2].split(")")[0].strip()
    return f" (process {number})" if number.isdigit() else ""


def _first_line(error: BaseException) -> str:
    return str(error).splitlines()[0] if str(error) else type(error).__name__


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


def _missing(con: Connection) -> Iterator[tuple[str, str, list[tuple[str, str, str]], bool]]:
    """Tables and columns the store lacks: table, comment, columns, and whether the whole table is new."""
    have: dict[str, set[str]] = {}
    sql = "SELECT table_schema || '.' || table_name, column_name FROM information_schema.columns"
    for table, column in con.execute(sql).fetchall():
        have.setdefault(table, set()).add(column)
    for table, comment, columns in tables():
        names = have.get(table, set())
        lacking = [column for column in columns if column[0] not in names]
        if lacking:
            yield table, comment, lacking, not names


def _bring_up(con: Connection) -> None:
    """Add the tables and columns gained since the store was made; earlier rows hold NULL there. Comments are anew.

    What is made from the records loses the columns it no longer has: nothing is lost, for it can be made anew.
    """
    _make_schemas(con)
    for table, comment, columns, whole in list(_missing(con)):
        if whole:
            _make_table(con, table, comment, columns)
            continue
        for name, declared, _ in columns:
            con.execute(f'ALTER TABLE {table} ADD COLUMN "{name}" {declared.replace(" NOT NULL", "")}')
    for name, (_, declared_now) in DERIVED.items():
        have = con.execute(
            "SELECT column_name FROM duckdb_columns() WHERE schema_name = 'derived' AND table_name = ?", [name]
        )
        for (column,) in sorted({*have.fetchall()} - {(known,) for known, *_ in declared_now}):
            con.execute(f'ALTER TABLE derived.{name} DROP COLUMN "{column}"')
    for table, comment, columns in tables():
        _explain(con, table, comment, columns)


def _parts() -> str:
    """A mark that changes with any table, column, comment or view."""
    return sha256(repr([list(tables()), list(_views())]).encode()).hexdigest()


def make_views(con: Connection) -> None:
    """Make the views of the records in force, and the joined ones in pipeline/sql/."""
    for statement in _views():
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
