"""Whether tables and views of a store are those that this version makes: figures are read through the views.

A view that says ten times the mass, a table in its place or a function named as one of DuckDB's changes every figure,
while the records and their hashes are as they were.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import duckdb

from pipeline.store.layout import make_layout, make_views

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

_COLUMNS = (
    "SELECT c.schema_name, c.table_name, c.column_name, c.data_type, nullif(c.column_default, 'NULL') "
    "FROM duckdb_columns() AS c JOIN duckdb_tables() AS t USING (table_oid, database_name) "
    "WHERE c.database_name = current_database() ORDER BY ALL"
)
_VIEWS = (
    "SELECT schema_name, view_name, sql FROM duckdb_views() "
    "WHERE NOT internal AND database_name = current_database() ORDER BY ALL"
)
_ADDED = (
    "SELECT DISTINCT 'function', function_name FROM duckdb_functions() "
    "WHERE NOT internal AND database_name = current_database() "
    "UNION SELECT DISTINCT 'type', type_name FROM duckdb_types() "
    "WHERE NOT internal AND database_name = current_database() ORDER BY ALL"
)


def altered_layout(con: Connection) -> Iterator[str]:
    """What of the layout is otherwise than loading makes it, a sentence each.

    Tables and views that somebody added under names of their own are left alone: nothing here reads them. A function or
    a type of any name is told, for one that is named as DuckDB's own takes its place.
    """
    with duckdb.connect() as fresh:
        make_layout(fresh)
        make_views(fresh)
        fresh.execute("SET enable_external_access = false")
        yield from _of_tables(con, fresh)
        yield from _of_views(con, fresh)
    for what, name in con.execute(_ADDED).fetchall():
        yield f"The store holds a {what} of its own, {name}, which loading does not make."


def _of_tables(con: Connection, fresh: Connection) -> Iterator[str]:
    held, made = (
        {(schema, table, column): rest for schema, table, column, *rest in one.execute(_COLUMNS).fetchall()}
        for one in (con, fresh)
    )
    tables = {(schema, table) for schema, table, _ in held}
    gone = sorted({(schema, table) for schema, table, _ in made} - tables)
    for schema, table in gone:
        yield f"{schema}.{table} is no table of the store any more."
    for schema, table, column in sorted(made):
        wanted, found = made[schema, table, column], held.get((schema, table, column))
        if found != wanted and (schema, table) in tables:
            yield f"The column {column} of {schema}.{table} is not as it was made: {_told(found)}, for {_told(wanted)}."


def _told(column: list[str | None] | None) -> str:
    if column is None:
        return "it is gone"
    declared, default = column
    return f"{declared}{f', worked out as {default}' if default else ''}"


def _of_views(con: Connection, fresh: Connection) -> Iterator[str]:
    held, made = ({(schema, view): sql for schema, view, sql in one.execute(_VIEWS).fetchall()} for one in (con, fresh))
    for schema, view in sorted(made):
        found = held.get((schema, view))
        if found != made[schema, view] and (
            found is None or _made_of(fresh, schema, view, found) != made[schema, view]
        ):
            yield f"The view {view} is not as it was made: what is read through it is not what was loaded."


def _made_of(fresh: Connection, schema: str, view: str, sql: str) -> str | None:
    """The text of a view as this version of DuckDB writes it; None where it makes none."""
    try:
        fresh.execute(sql.replace("CREATE VIEW", "CREATE OR REPLACE VIEW", 1))
    except duckdb.Error:
        return None
    return {(one, name): text for one, name, text in fresh.execute(_VIEWS).fetchall()}.get((schema, view))
