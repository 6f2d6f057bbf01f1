"""What a workspace holds at a moment: its store table by table, its files by content; when things happened left out."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from pipeline.common.whole_files import LEFT
from pipeline.publish.render_cache import LIST_FILE
from pipeline.store.figure_log import LOG

STORE = "store.duckdb"
OF_STORE = (STORE, f"{STORE}.wal", f"{STORE}.tmp")
"""The store's own files: looked at by what is in them, not by their bytes."""
FIGURES = ("derived.", *(f"meta.{name}" for name in LOG))
"""Tables that a refresh of the figures writes, in a transaction of its own after that of the records."""

DRAWN = {("chain", name) for name in ("covers", "salt", "leaf", "head")}
"""Columns that hash when a load was made, or something drawn."""


@dataclass(frozen=True)
class State:
    """A workspace at a moment.

    Attributes:
        records: table → mark of its rows, of all that hold any but figures.
        figures: the same of the tables of figures.
        files: path in the workspace → mark of its content; but for the list of documents that need not be made again.
        left: files that are not finished.
        fault: why the store could not be opened; "" where it could.
    """

    records: dict[str, str]
    figures: dict[str, str]
    files: dict[str, str]
    left: tuple[str, ...] = ()
    fault: str = ""


def state_of(workspace: Path) -> State:
    """What a workspace holds; to be called in a process of its own, for DuckDB starts threads."""
    files, left = {}, []
    for path in sorted(workspace.rglob("*")) if workspace.is_dir() else ():
        name = path.relative_to(workspace).as_posix()
        if not path.is_file() or name.startswith(OF_STORE) or path.name == LIST_FILE:
            continue
        if LEFT.fullmatch(path.name):
            left.append(name)
        else:
            files[name] = hashlib.sha256(path.read_bytes()).hexdigest()[:16]
    try:
        tables = _tables(workspace / STORE)
    except Exception as error:
        return State({}, {}, files, tuple(left), f"{type(error).__name__}: {error}")
    if set(tables) == {"meta.layout"}:  # an empty store is as good as none
        tables = {}
    figures = {name: mark for name, mark in tables.items() if name.startswith(FIGURES)}
    return State({name: mark for name, mark in tables.items() if name not in figures}, figures, files, tuple(left))


def _tables(path: Path) -> dict[str, str]:
    """Mark of every table that holds rows; days and hours at which something was done are no part of it."""
    if not path.exists():
        return {}
    from pipeline.store.store import _connect

    with _connect(path, read_only=True) as con:
        columns: dict[str, list[str]] = {}
        for schema, table, column, kind in con.execute(
            "SELECT schema_name, table_name, column_name, data_type FROM duckdb_columns() "
            "WHERE NOT internal AND (schema_name, table_name) IN (SELECT (schema_name, table_name) "
            "FROM duckdb_tables()) "
            "ORDER BY ALL"
        ).fetchall():
            columns.setdefault(f"{schema}.{table}", [])
            if not kind.startswith("TIMESTAMP") and (table, column) not in DRAWN:
                columns[f"{schema}.{table}"].append(column)
        if not columns:
            return {}
        each = []
        for name, held in columns.items():
            fields = ", ".join(f'"{one}"' for one in held) or "1"
            each.append(f"SELECT '{name}', count(*), CAST(sum(CAST(hash({fields}) AS HUGEINT)) AS VARCHAR) FROM {name}")
        return {
            name: f"{count}:{mark}" for name, count, mark in con.execute(" UNION ALL ".join(each)).fetchall() if count
        }


def apart(state: dict[str, str], other: dict[str, str]) -> list[str]:
    """What two parts of a state differ in."""
    return sorted(name for name in {*state, *other} if state.get(name) != other.get(name))
