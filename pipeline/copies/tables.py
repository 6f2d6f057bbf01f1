"""Tables of a store as plain CSV and back: every value, and the order of the rows, comes back as it was.

UTF-8, commas, a line of headers. Text stands in quotes; a cell that is empty without quotes is NULL, so that it is told
from the empty text. Numbers stand at their shortest text that reads as the same number, decimals with all their places,
days as year-month-day, times in UTC. Of a cell of bytes stands their SHA-256; the bytes are a file of their own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count, groupby, islice
from pathlib import Path
from typing import Any

from pipeline.store.layout import Connection
from pipeline.store.sql_text import quoted

SCHEMAS = ("history", "kept", "meta")
"""Schemas of a store that are copied; ``kept`` held the records up to layout 2. ``derived`` is made anew."""
TYPES = re.compile(r"VARCHAR|BOOLEAN|INTEGER|BIGINT|HUGEINT|DOUBLE|DATE|TIMESTAMP|UUID|BLOB|DECIMAL\(\d+,\d+\)")
"""Types of columns that are written and read; no store of any layout has had another."""
LONGEST_LINE = 64_000_000
"""Bytes that a line of such a CSV may have; a cell of a user's file may hold a million characters."""
ROWS_A_FILE = 50_000
"""Rows of a table that stand in one CSV; then comes the next."""
QUOTED = ("VARCHAR", "BLOB")
"""Types whose cells stand in quotes; no other has a character in its text that a CSV needs them for."""
AT_ONCE, LINES_AT_ONCE, HASHES_AT_ONCE = 20, 50_000, 1_000
"""Rows with files of bytes that are read at once (a picture is some hundreds of kilobytes), rows of others, hashes."""


@dataclass(frozen=True)
class Bytes:
    """What is told of the bytes in a cell: their SHA-256, their number, and the first few of them."""

    sha256: str
    count: int
    start: bytes


Told = Mapping[str, Mapping[int, Bytes]]
"""What is told of the bytes in a table, by the column and the row they stand in."""


@dataclass(frozen=True)
class Column:
    """A column of a table: its name, its type in SQL, and whether it may be NULL."""

    name: str
    type: str
    nullable: bool

    @property
    def sql(self) -> str:
        """Its name in quotes, as SQL and CSV both write it."""
        return '"' + self.name.replace('"', '""') + '"'


@dataclass(frozen=True)
class Table:
    """A table of a store: its name with its schema, and its columns in their order."""

    name: str
    columns: tuple[Column, ...]

    @property
    def blobs(self) -> tuple[Column, ...]:
        """Its columns of bytes."""
        return tuple(column for column in self.columns if column.type == "BLOB")


def tables_of(con: Connection) -> list[Table]:
    """The tables that a store has, whatever its layout, by name; those that are made from the records left out."""
    rows = con.execute(
        "SELECT schema_name || '.' || table_name, column_name, data_type, is_nullable FROM duckdb_columns() "  # noqa: S608
        f"WHERE NOT internal AND schema_name IN ({', '.join(map(quoted, SCHEMAS))}) "
        "ORDER BY schema_name, table_name, column_index"
    ).fetchall()
    return [
        Table(name, tuple(Column(*parts) for _, *parts in columns))
        for name, columns in groupby(rows, key=lambda row: str(row[0]))
    ]


def write_table(
    con: Connection, table: Table, folder: Path, told: Told, where: str = "true"
) -> Iterator[tuple[Path, int]]:
    """Write the rows of a table for which this SQL holds, in the order they stand in, so many to a file.

    A table grows at its end, so that files before the last stay as they are and a later copy need not hold them again;
    any spreadsheet opens one. DuckDB itself writes none: a store that is read may be open in a way that keeps it from
    all other files.

    Args:
        con: the store's connection.
        table: the table.
        folder: where the files are written; nothing else is to use their names.
        told: of its columns of bytes, as :func:`told_of_bytes` gives it for the same rows.
        where: SQL of the table's own columns.

    Yields:
        Each file with the number of its rows, at least one.
    """
    for number, column in enumerate(table.blobs):
        _keep_hashes(con, number, told[column.name])
    head = ",".join(column.sql if column.type in QUOTED else column.name for column in table.columns) + "\n"
    lines = _lines(con, table, where)
    for number in count(1):
        some = list(islice(lines, ROWS_A_FILE))
        if number > 1 and not some:
            return
        path = folder / f"table-{number}.csv"
        with path.open("w", encoding="utf-8", newline="") as written:
            written.write(head)
            written.writelines(some)
        yield path, len(some)


def _lines(con: Connection, table: Table, where: str) -> Iterator[str]:
    """The lines of the CSV, so many rows read at once: a table of any length takes little memory."""
    ((last,),) = con.execute(f"SELECT max(rowid) FROM {table.name}").fetchall()  # noqa: S608 (names of the store's own)
    line = " || ',' || ".join(_as_text(table, column) for column in table.columns)
    for first in range(0, 0 if last is None else last + 1, LINES_AT_ONCE):
        some = f"rowid >= {first} AND rowid < {first + LINES_AT_ONCE} AND ({where})"
        rows = f"SELECT *, rowid AS its_place FROM {table.name} WHERE {some}"  # noqa: S608
        sql = f"SELECT {line} || chr(10) FROM ({rows}) AS t ORDER BY its_place"  # noqa: S608
        yield from (told for (told,) in con.execute(sql).fetchall())


def _as_text(table: Table, column: Column) -> str:
    """SQL of a column's value as the CSV holds it: text in quotes, NULL as nothing."""
    if column in table.blobs:
        kept = f"temp.hash_{table.blobs.index(column)}"
        return f"coalesce((SELECT '\"' || sha256 || '\"' FROM {kept} WHERE place = t.its_place), '')"  # noqa: S608
    if column.type in QUOTED:
        return f"coalesce('\"' || replace({column.sql}, '\"', '\"\"') || '\"', '')"
    return f"coalesce(CAST({column.sql} AS VARCHAR), '')"


def _keep_hashes(con: Connection, number: int, told: Mapping[int, Bytes]) -> None:
    """Keep hashes in a table beside the store's, which joins them to their rows."""
    con.execute(f"CREATE OR REPLACE TEMP TABLE hash_{number} (place BIGINT, sha256 VARCHAR)")
    rows = [f"({row}, {quoted(one.sha256)})" for row, one in told.items()]
    for first in range(0, len(rows), HASHES_AT_ONCE):
        some = ", ".join(rows[first : first + HASHES_AT_ONCE])
        con.execute(f"INSERT INTO hash_{number} VALUES {some}")  # noqa: S608 (numbers and hashes)


def told_of_bytes(con: Connection, table: Table, where: str = "true") -> Told:
    """What is told of the bytes in the rows of a table for which this SQL holds, by column and row.

    Few rows at once: else DuckDB holds two thousand of them in memory, each of which may be a whole file.
    """
    return {column.name: dict(_told_of(con, table, column, where)) for column in table.blobs}


def _told_of(con: Connection, table: Table, column: Column, where: str) -> Iterator[tuple[int, Bytes]]:
    sql = f"SELECT rowid FROM {table.name} WHERE {column.sql} IS NOT NULL AND ({where}) ORDER BY rowid"  # noqa: S608
    for some in _few(row for (row,) in con.execute(sql).fetchall()):
        told = f"rowid, sha256({column.sql}), octet_length({column.sql}), left(hex({column.sql}), 8)"
        sql = f"SELECT {told} FROM {table.name} WHERE rowid IN ({some}) ORDER BY rowid"  # noqa: S608
        for row, sha256, length, start in con.execute(sql).fetchall():
            yield row, Bytes(sha256, length, bytes.fromhex(start))


def blobs(con: Connection, table: Table, column: Column, rows: Iterable[int]) -> Iterator[bytes]:
    """The bytes of a column in these rows, a few at once; in the order of the table."""
    for some in _few(rows):
        sql = f"SELECT {column.sql} FROM {table.name} WHERE rowid IN ({some}) ORDER BY rowid"  # noqa: S608
        yield from (content for (content,) in con.execute(sql).fetchall())


def _few(rows: Iterable[int]) -> Iterator[str]:
    """Rows, a few at once, as a list of SQL."""
    every = sorted(rows)
    for first in range(0, len(every), AT_ONCE):
        yield ", ".join(map(str, every[first : first + AT_ONCE]))


def make_table(con: Connection, table: Table) -> None:
    """Make an empty table."""
    con.execute(f"CREATE SCHEMA IF NOT EXISTS {table.name.partition('.')[0]}")
    body = ", ".join(f"{one.sql} {one.type}{'' if one.nullable else ' NOT NULL'}" for one in table.columns)
    con.execute(f"CREATE TABLE {table.name} ({body})")


def read_table(con: Connection, table: Table, path: Path, content: Callable[[str], bytes]) -> None:
    """Add the rows of a CSV to a table, in their order.

    Args:
        con: the store's connection.
        table: the table, as it was when the CSV was written.
        path: the CSV.
        content: gives the bytes of a SHA-256.
    """
    names = ", ".join(f"{quoted(one.name)}: 'VARCHAR'" for one in table.columns)
    line = min(path.stat().st_size, LONGEST_LINE) + 1000
    rows = (
        f"read_csv({quoted(str(path))}, auto_detect=false, header=true, columns={{{names}}}, delim=',', quote='\"', "
        f"escape='\"', nullstr='', allow_quoted_nulls=false, strict_mode=true, parallel=false, "
        f"max_line_size={line}, buffer_size={line + 1})"
    )
    if table.blobs:
        _read_with_blobs(con, table, con.execute(f"FROM {rows}").fetchall(), content)
        return
    values = ", ".join(f"CAST({one.sql} AS {one.type})" for one in table.columns)
    con.execute(f"INSERT INTO {table.name} SELECT {values} FROM {rows}")  # noqa: S608 (names of the store's own)


def _read_with_blobs(
    con: Connection, table: Table, rows: Sequence[Sequence[Any]], content: Callable[[str], bytes]
) -> None:
    """Add rows as text, each hash of bytes in them replaced by the bytes."""
    import polars as pl

    at = [column in table.blobs for column in table.columns]
    schema = {one.name: pl.Binary if one in table.blobs else pl.String for one in table.columns}
    values = ", ".join(one.sql if one in table.blobs else f"CAST({one.sql} AS {one.type})" for one in table.columns)
    for first in range(0, len(rows), AT_ONCE):
        some = [
            tuple(
                content(cell) if of_bytes and cell is not None else cell for of_bytes, cell in zip(at, row, strict=True)
            )
            for row in rows[first : first + AT_ONCE]
        ]
        some_frame = pl.DataFrame(some, schema=schema, orient="row").to_arrow()  # noqa: F841 (named in the SQL)
        con.execute(f"INSERT INTO {table.name} SELECT {values} FROM some_frame")  # noqa: S608
