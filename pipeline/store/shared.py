"""A shared store: the same tables as in a store's file, as Parquet with a catalogue in PostgreSQL (DuckLake).

One process writes at a time: it holds its turn, a lock of PostgreSQL's that ends with its connection, so that one that
was killed holds up nobody. Nothing rests on the lock alone: what is written must follow on what was read, or it is
refused whole. Without that, two that load the same file both find it new, and its records stand twice; with DuckLake's
own retries and its rows kept in the catalogue, deletes of two writers were lost (measured, DuckDB 1.5.5).
"""

from __future__ import annotations

from contextlib import suppress
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import duckdb

from pipeline.common.refusal import CannotDo
from pipeline.store.layout import tables
from pipeline.store.opening import SEALED
from pipeline.store.sql_text import quoted
from pipeline.workspace.shared import Shared

if TYPE_CHECKING:
    import psycopg

    from pipeline.store.opening import Connection

ALIAS = "shared"
"""What its catalogue is called in DuckDB, by every process: its views name it."""
EXTENSIONS = ("postgres_scanner", "ducklake")
_WITHIN = 10**18
"""What DuckLake numbers rows from that a transaction has added and not committed."""
MOST_FILES = 40
"""Files of a table that are left as they are."""
_KEYS = (0x73776172, 0x74616C79)
"""Two numbers by which PostgreSQL knows the lock (its documentation, "Advisory Lock Functions")."""
_PATIENCE_S = 600
"""So long a turn is waited for: a load of many files gives its turn up between two of them."""


class Overtaken(CannotDo):
    """Another office wrote to the shared store since this one read it: nothing of this was kept."""


def overtaken(place: Shared) -> Overtaken:
    """What is said where somebody wrote to the store in spite of the lock."""
    return Overtaken(
        f"Another office wrote to the shared store {place.name} since it was read.",
        "Nothing was changed by this command; say it again.",
    )


class Turn:
    """The right to write to a shared store, from :meth:`take` to :meth:`pass_on` or :meth:`close`."""

    def __init__(self, place: Shared) -> None:
        """Wait for it.

        Raises:
            CannotDo: the database does not answer, or others wrote for longer than is waited.
        """
        self.place = place
        self._con: psycopg.Connection = place.connect()
        try:
            self.take()
        except BaseException:
            self.close()
            raise

    def take(self) -> None:
        """Wait until it is this process's turn; one that waited longer comes first."""
        import psycopg

        try:
            self._con.execute(f"SET lock_timeout = '{_PATIENCE_S}s'")
            self._con.execute("SELECT pg_advisory_lock(%s, %s)", _KEYS)
        except psycopg.errors.LockNotAvailable:
            raise CannotDo(
                f"The shared store {self.place.name} is in use by another office{self._holder()}.",
                "Wait until it has finished, and try again. Nothing was changed.",
            ) from None
        except psycopg.Error as error:
            raise self.place.refusal(error) from error

    def pass_on(self) -> None:
        """Let one go first that waits, and take the next turn.

        Raises:
            CannotDo: as of :meth:`take`.
        """
        import psycopg

        try:
            self._con.execute("SELECT pg_advisory_unlock(%s, %s)", _KEYS)
        except psycopg.Error as error:
            raise self.place.refusal(error) from error
        self.take()

    def close(self) -> None:
        """Give it up."""
        self._con.close()

    def _holder(self) -> str:
        sql = (
            "SELECT a.usename, a.client_addr FROM pg_locks AS l JOIN pg_stat_activity AS a ON a.pid = l.pid "
            "WHERE l.locktype = 'advisory' AND l.granted AND (l.classid, l.objid) = (%s, %s)"
        )
        found = self._con.execute(sql, _KEYS).fetchone()
        return f" ({found[0]} at {found[1] or 'the server'})" if found else ""


def connected(place: Shared, *, read_only: bool) -> Connection:
    """The shared store, open; to read it, as it was when it was opened, whatever is written meanwhile.

    To write, this process must have its :class:`Turn`.

    Raises:
        CannotDo: what it needs is not installed, or the database does not answer.
        duckdb.Error: it could not be read or made.
    """
    con = duckdb.connect(config={**SEALED})
    try:
        attach(con, place, read_only=read_only)
        con.execute(f"USE {ALIAS}")
    except BaseException:
        con.close()
        raise
    return con


def attach(con: Connection, place: Shared, *, read_only: bool, name: str = ALIAS) -> None:
    """Attach a shared store to a connection, and let that read its folder of files whatever else it may not read.

    Raises:
        CannotDo: what it needs is not installed, or the database does not answer.
        duckdb.Error: it could not be read or made.
    """
    for extension in EXTENSIONS:
        con.execute(f"LOAD {quoted(str(_file_of(extension)))}")
    con.execute("SET ducklake_max_retry_count = 0")
    folder = quoted(str(place.files.absolute()))
    how = ["DATA_INLINING_ROW_LIMIT 0", f"DATA_PATH {folder}", "OVERRIDE_DATA_PATH true"]
    if read_only:
        how += ["READ_ONLY", f"SNAPSHOT_VERSION {place.last_snapshot()}"]
    else:
        place.files.mkdir(parents=True, exist_ok=True)
    con.execute(f"ATTACH {quoted(str(place))} AS {name} ({', '.join(how)})")
    con.execute(f"SET allowed_directories = [{folder}]")


def attach_to_read(con: Connection, place: Path | Shared, name: str) -> None:
    """Attach a store of either kind beside another, to read it.

    Raises:
        CannotDo: as of :func:`attach`.
        duckdb.Error: it could not be read.
    """
    if isinstance(place, Shared):
        attach(con, place, read_only=True, name=name)
    else:
        con.execute(f"ATTACH {quoted(str(place.absolute()))} AS {name} (READ_ONLY)")


def _file_of(extension: str) -> Path:
    """File of an extension of DuckDB's, as its package brings it; DuckDB sees to it that its maker signed it.

    Raises:
        CannotDo: it is not installed, or is of another version.
    """
    with suppress(ModuleNotFoundError):
        folder = Path(str(files(f"duckdb_extension_{extension}"))) / "extensions" / f"v{duckdb.__version__}"
        found = folder / f"{extension}.duckdb_extension"
        if found.is_file():
            return found
    raise CannotDo(
        f"A shared store needs DuckDB's extension {extension} of version {duckdb.__version__}: it is not installed.",
        "Install what belongs together: pip install 'swardtally[shared]'",
    )


def tidy(con: Connection) -> None:
    """Have tables whose rows lie in many files have them in few.

    Each transaction leaves a file for each table it wrote to, and whoever reads opens them all. To be called by the one
    whose turn it is: files are written and none is taken away, for somebody may be reading it.
    """
    sql = f"SELECT table_name FROM ducklake_table_info('{ALIAS}') WHERE file_count > ?"  # noqa: S608 (a name of ours)
    many = {table for (table,) in con.execute(sql, [MOST_FILES]).fetchall()}
    for name, *_ in tables():
        schema, _, table = name.partition(".")
        if table in many:
            con.execute(f"CALL ducklake_merge_adjacent_files('{ALIAS}', '{table}', schema => '{schema}')")


def place_rows(con: Connection, *, since: int | None = None, every: bool = False) -> None:
    """Give rows a number of their own that have none.

    A row that is added and changed in one transaction keeps the number it had within it (DuckLake 1.0, DuckDB 1.5.5),
    which a row of another transaction has as well: whoever pairs rows by their numbers would take one for the other. To
    be called after each transaction by the one whose turn it is, before anything else is written.

    Args:
        con: the shared store.
        since: number of the commit after which rows may have been added; None where nobody knows.
        every: look through all rows; else where they are many, only through those of the last load.
    """
    newest = "(SELECT max(load_id) FROM meta.load)"
    lost = {
        table: f"rowid >= {_WITHIN}" + ("" if every or not _long(table) else f" AND load_id >= {newest}")
        for table in (_written_to(con, since) if since is not None else [name for name, *_ in tables()])
        if not table.startswith("derived.")
    }
    if not lost:
        return
    looks = " UNION ALL ".join(
        f"SELECT '{table}' AS t WHERE EXISTS (SELECT 1 FROM {table} WHERE {where})"  # noqa: S608 (names of ours)
        for table, where in lost.items()
    )
    found = [table for (table,) in con.execute(looks).fetchall()]
    if found:
        con.execute("BEGIN TRANSACTION")
        for table in found:
            con.execute(f"CREATE OR REPLACE TEMP TABLE unplaced AS FROM {table} WHERE {lost[table]}")
            con.execute(f"DELETE FROM {table} WHERE {lost[table]}")  # noqa: S608
            con.execute(f"INSERT INTO {table} FROM unplaced")
        con.execute("COMMIT")


def _written_to(con: Connection, since: int) -> list[str]:
    """Tables that rows were added to after this commit."""
    sql = (
        "SELECT DISTINCT t.table_name FROM (SELECT unnest(changes['tables_inserted_into']) AS id "  # noqa: S608 (names of ours)
        f"FROM ducklake_snapshots('{ALIAS}') WHERE snapshot_id > ?) AS c "
        f"JOIN ducklake_table_info('{ALIAS}') AS t ON t.table_id = CAST(c.id AS BIGINT)"
    )
    found = {name for (name,) in con.execute(sql, [since]).fetchall()}
    return [name for name, *_ in tables() if name.rpartition(".")[2] in found]


def _long(table: str) -> bool:
    return table.startswith("history.") or table == "meta.fault"


def snapshot(con: Connection) -> int:
    """Number of what was committed last, as the transaction sees it that is open."""
    ((number,),) = con.execute(f"FROM {ALIAS}.current_snapshot()").fetchall()
    return int(number)
