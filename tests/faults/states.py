"""What a workspace holds at a moment: its store table by table, its files by content; when things happened left out."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.common.whole_files import LEFT
from pipeline.copies.folder import ABOUT, MANIFESTS, OBJECTS
from pipeline.copies.manifest import NAME
from pipeline.publish.render_cache import LIST_FILE
from pipeline.store.checkpoint import log_of, whole_of
from pipeline.store.figure_log import LOG

STORE = "store.duckdb"
OF_RUN = "tmp/"
"""Folder of a case for temporary files: what is left there is the system's to clear."""
UNFINISHED = re.compile(r"\.unfinished-.*|\..*\.restoring(\.lock)?")
"""Folders that hold what is being copied."""
COPIED = ".duckdb"
"""Ending of a copied store; the workspace's own is told by its tables anyway."""
OF_STORE = (STORE, f"{STORE}.wal", f"{STORE}.tmp", f"{STORE}.whole")
"""The store's own files: looked at by what is in them, not by their bytes."""
FIGURES = ("derived.", *(f"meta.{name}" for name in LOG))
"""Tables that a refresh of the figures writes, in a transaction of its own after that of the records."""

MOST = 12
"""Differences of two states that are named."""
DRAWN = {("chain", name) for name in ("covers", "salt", "leaf", "head")}
"""Columns that hash when a load was made, or something drawn."""


@dataclass(frozen=True)
class State:
    """A workspace at a moment.

    Attributes:
        records: table → mark of its rows, of all that hold any but figures.
        figures: the same of the tables of figures.
        files: path in the case → mark of its content; but for the list of documents that need not be made again. A
            backup is what its manifest names.
        left: files that are not finished.
        fault: why the store could not be opened; "" where it could.
    """

    records: dict[str, str]
    figures: dict[str, str]
    files: dict[str, str]
    left: tuple[str, ...] = ()
    fault: str = ""


def state_of(case: Path, workspace: str, tables_of: Callable[[Path], dict[str, dict[str, str]]]) -> State:
    """What a case and a workspace in it hold; ``tables_of`` is :func:`read_store`, in a process of its own."""
    files, left = {}, []
    for path in _files(case):
        name = path.relative_to(case).as_posix()
        if name.startswith(OF_RUN) or path.name == LIST_FILE or _of_store(path):
            continue
        if LEFT.fullmatch(path.name) or any(UNFINISHED.fullmatch(part) for part in path.relative_to(case).parts):
            left.append(name)
        elif not (case / path.relative_to(case).parts[0] / ABOUT).exists():
            # of a copied store what it holds: DuckDB writes other bytes each time
            content = (
                json.dumps(tables_of(path), sort_keys=True).encode() if path.suffix == COPIED else path.read_bytes()
            )
            files[name] = _mark(content)
    try:
        for about in case.glob(f"*/{ABOUT}"):
            files.update(_backups(about.parent))
    except (OSError, ValueError, AssertionError) as error:
        return State({}, {}, files, tuple(left), f"{type(error).__name__}: {error}")
    told = tables_of(case / workspace / STORE)
    if "fault" in told:
        return State({}, {}, files, tuple(left), *told["fault"])
    tables = told["tables"]
    if set(tables) == {"meta.layout"}:  # an empty store is as good as none
        tables = {}
    figures = {name: mark for name, mark in tables.items() if name.startswith(FIGURES)}
    return State({name: mark for name, mark in tables.items() if name not in figures}, figures, files, tuple(left))


def mark_of(store: Path) -> str:
    """Mark of the bytes of a store, the log and the whole copy beside it."""
    found = hashlib.sha256()
    for path in (store, log_of(store), whole_of(store)):
        found.update(path.read_bytes() if path.exists() else b"none")
    return found.hexdigest()


def read_store(path: Path) -> dict[str, dict[str, str]]:
    """The ``tables`` of a store, or the ``fault`` for which it does not open; DuckDB starts threads for it."""
    try:
        return {"tables": _tables(path)}
    except Exception as error:
        return {"fault": {f"{type(error).__name__}: {error}": ""}}


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*")) if path.is_file())


def _of_store(path: Path) -> bool:
    return path.name.startswith(OF_STORE)


def _mark(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]


def _backups(folder: Path) -> dict[str, str]:
    """Mark of each backup of a folder: of the bytes that it is to have, each looked at.

    Raises:
        AssertionError: bytes are not there, or others.
    """
    held = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in _files(folder / OBJECTS)}
    for name, sha256 in held.items():
        assert name.startswith(sha256), f"an object of the backup holds other bytes than its name says: {name}"
    found = {}
    for path in (one for one in _files(folder / MANIFESTS) if NAME.fullmatch(one.name)):
        told = json.loads(path.read_bytes())
        for one in told["files"]:
            assert one["sha256"] in set(held.values()), f"{path.name} names {one['path']}, which is not there"
        del told["made_at"]
        found[f"backup {told['number']}"] = _mark(json.dumps(told, sort_keys=True).encode())
    return found


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
    found = sorted(name for name in {*state, *other} if state.get(name) != other.get(name))
    return found if len(found) <= MOST else [*found[:MOST], f"and {len(found) - MOST} more"]
