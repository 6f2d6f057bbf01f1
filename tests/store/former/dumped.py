"""A store as SQL text that every version of DuckDB runs: how the samples of former layouts were written.

    python -m tests.store.former.dumped STORE.duckdb tests/store/former/layout8.sql.gz

Tables with their rows in order, then views; comments of tables and columns are left out. The samples of layouts 1 and 3
to 7 were made by the command line of the last version that wrote that layout, of the files in files/ and more/: clubs,
greens, lab_february, lab_february_corrected, log_march, log_march_complete (complete for March), log_april, taken back,
crew, greens_2026, lab_february again, materials, costs_may, crew_may, counts_june, speeds_june; of layouts 5 and later
the decisions in decisions/ after them. Layout 2 is of files/ alone.
"""

from __future__ import annotations

import gzip
import sys
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import duckdb


def statements(con: duckdb.DuckDBPyConnection) -> Iterator[str]:
    """The statements that make a store again, each without its semicolon."""
    sql = "SELECT DISTINCT schema_name FROM duckdb_tables() WHERE NOT internal ORDER BY ALL"
    for (schema,) in con.execute(sql).fetchall():
        yield f"CREATE SCHEMA {schema}"
    sql = "SELECT schema_name, table_name FROM duckdb_tables() WHERE NOT internal ORDER BY ALL"
    for schema, table in con.execute(sql).fetchall():
        yield from _table(con, schema, table)


def views(con: duckdb.DuckDBPyConnection, made: duckdb.DuckDBPyConnection) -> Iterator[str]:
    """The statements that make its views, those that others rest on first, found by making them in another database."""
    left = [
        sql.rstrip("; \n") for (sql,) in con.execute("SELECT sql FROM duckdb_views() WHERE NOT internal").fetchall()
    ]
    while left:
        before = len(left)
        for one in sorted(left):
            try:
                made.execute(one)
            except duckdb.CatalogException:
                continue
            left.remove(one)
            yield one
        assert len(left) < before, f"views that cannot be made: {left}"


def _table(con: duckdb.DuckDBPyConnection, schema: str, table: str) -> Iterator[str]:
    sql = (
        "SELECT column_name, data_type, is_nullable FROM duckdb_columns() WHERE schema_name = ? AND table_name = ? "
        "ORDER BY column_index"
    )
    columns = con.execute(sql, [schema, table]).fetchall()
    body = ", ".join(f'"{name}" {kind}{"" if nullable else " NOT NULL"}' for name, kind, nullable in columns)
    yield f'CREATE TABLE {schema}."{table}" ({body})'
    rows = con.execute(f'SELECT * FROM {schema}."{table}" ORDER BY rowid').fetchall()
    for row in rows:
        told = [(name, value) for (name, *_), value in zip(columns, row, strict=True) if value is not None]
        names = ", ".join(f'"{name}"' for name, _ in told)
        yield f'INSERT INTO {schema}."{table}" ({names}) VALUES ({", ".join(_value(value) for _, value in told)})'


def _value(value: object) -> str:
    if isinstance(value, bool | int | float | Decimal):
        return repr(value) if isinstance(value, float) else str(value)
    if isinstance(value, bytes):
        return "'" + "".join(f"\\x{byte:02X}" for byte in value) + "'::BLOB"
    assert isinstance(value, str | date | datetime) or type(value).__name__ == "UUID", type(value)
    return "'" + str(value).replace("'", "''") + "'"


def dump(store: Path, target: Path) -> None:
    """Write a store as gzipped SQL, without the time at which that was done."""
    with duckdb.connect(str(store), read_only=True) as con, duckdb.connect() as made:
        told = [*statements(con)]
        made.execute(";\n".join(told))
        text = ";\n".join([*told, *views(con, made)]) + ";\n"
    target.write_bytes(gzip.compress(text.encode(), mtime=0))


if __name__ == "__main__":
    dump(Path(sys.argv[1]), Path(sys.argv[2]))
