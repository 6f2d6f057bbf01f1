"""A store written anew: what was deleted or changed in it stands in no block of the file any more."""

from __future__ import annotations

import os
from pathlib import Path

from pipeline.store.layout import tables
from pipeline.store.sql_text import quoted
from pipeline.store.store import Store

ENDING = ".anew"


def written_anew(path: Path) -> None:
    """Put a copy of a store, table by table and row by row in their order, in its place; all of it or nothing.

    Raises:
        CannotDo: it cannot be read or written; the former file stands.
    """
    fresh = path.with_name(f".{path.name}{ENDING}")
    fresh.unlink(missing_ok=True)
    try:
        with Store(fresh) as store:
            store.con.execute(f"ATTACH {quoted(str(path))} AS former (READ_ONLY)")
            with store.transaction() as con:
                for table, _, columns in tables():
                    names = ", ".join(f'"{name}"' for name, *_ in columns)
                    con.execute(f"DELETE FROM {table}")  # noqa: S608 (names of ours)
                    con.execute(f"INSERT INTO {table} ({names}) SELECT {names} FROM former.{table} ORDER BY rowid")  # noqa: S608
            store.con.execute("DETACH former")
            store.con.execute("CHECKPOINT")
        with fresh.open("rb") as made:
            os.fsync(made.fileno())
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
