"""Every row of one store into another, in the order in which they stand, and whether they came over as they were."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.store.layout import Connection, tables

FORMER = "former"
"""What the store is called that is attached beside the one that takes its rows over."""


def take_over(con: Connection) -> None:
    """Fill every table with the rows that the attached store has in it."""
    for table, _, columns in tables():
        names = ", ".join(f'"{name}"' for name, *_ in columns)
        con.execute(f"DELETE FROM {table}")  # noqa: S608 (names of ours)
        con.execute(f"INSERT INTO {table} ({names}) SELECT {names} FROM {FORMER}.{table} ORDER BY rowid")  # noqa: S608


def taken_over(con: Connection) -> Iterator[tuple[str, int, bool]]:
    """Each table, its number of rows in the attached store, and whether it holds the same rows in the same order."""
    for table, _, columns in tables():
        here, there = (_mark(con, name, columns) for name in (table, f"{FORMER}.{table}"))
        yield table, there[0], here == there


def _mark(con: Connection, table: str, columns: Sequence[tuple[str, str, str]]) -> tuple[int, int, int]:
    """Number of a table's rows, and two sums of the two halves of the MD5 of each with its place; of no row, zeros."""
    cells = ", ".join(f"coalesce('=' || {_as_text(name, kind)}, '')" for name, kind, _ in columns)
    text = f"concat_ws(chr(31), row_number() OVER (ORDER BY rowid), {cells})"
    sums = ", ".join(f"coalesce(sum(md5_number_{half}(t)), 0)" for half in ("lower", "upper"))
    ((count, low, high),) = con.execute(f"SELECT count(*), {sums} FROM (SELECT {text} AS t FROM {table})").fetchall()  # noqa: S608
    return int(count), int(low), int(high)


def _as_text(name: str, kind: str) -> str:
    return f'sha256("{name}")' if kind.startswith("BLOB") else f'CAST("{name}" AS VARCHAR)'
