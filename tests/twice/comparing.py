"""What differs between two workspaces that were made from the same files."""

from __future__ import annotations

from pathlib import Path

from pipeline.store.store import Store

STORE = "store.duckdb"
TIMES = ("loaded_at", "undone_at")
"""Columns that tell when something was done: the one thing that two makings may differ in."""
TABLES = (
    "SELECT table_schema || '.' || table_name FROM information_schema.tables WHERE table_schema IN ('history', 'meta')"
)


def differences(one: Path, other: Path) -> list[str]:
    """A line for each file that differs or stands in one folder only, and for each table of the stores; none if equal.

    Files are compared byte by byte, hidden ones too; the store's tables row by row, without times.
    """
    names = sorted(_files(one) | _files(other))
    found = [name for name in names if name != STORE and _bytes(one / name) != _bytes(other / name)]
    return [f"{name}: {_how(one / name, other / name)}" for name in found] + _tables(one / STORE, other / STORE)


def compared(folder: Path) -> tuple[int, int]:
    """Files and rows of the store that a comparison of the folder looks at."""
    with Store(folder / STORE, read_only=True) as store:
        rows = sum(store.rows(f"SELECT count(*) FROM {name}")[0][0] for (name,) in store.rows(TABLES))
    return len(_files(folder) - {STORE}), rows


def _files(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def _bytes(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None


def _how(one: Path, other: Path) -> str:
    if not (one.is_file() and other.is_file()):
        return f"only in {(one if one.is_file() else other).parent}"
    a, b = one.read_bytes(), other.read_bytes()
    at = next((n for n, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    return f"{len(a):,} and {len(b):,} bytes, the first that differs is number {at:,}"


def _tables(one: Path, other: Path) -> list[str]:
    with Store(one, read_only=True) as left, Store(other, read_only=True) as right:
        names = sorted({name for store in (left, right) for (name,) in store.rows(TABLES)})
        return [
            f"{STORE}: {name}: {len(a):,} and {len(b):,} rows, {len(set(a) ^ set(b)):,} of them in one store only"
            for name in names
            if (a := _rows(left, name)) != (b := _rows(right, name))
        ]


def _rows(store: Store, table: str) -> list[str]:
    """The rows of a table as text, sorted, without times."""
    return sorted(repr(row) for row in store.frame(f"SELECT * FROM {table}").drop(TIMES, strict=False).iter_rows())
