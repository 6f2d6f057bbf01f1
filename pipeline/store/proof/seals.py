"""What an entry of the chain covers: what a load brought and ended, its entry in the ledger, and what it was read from.

Nothing of a clock, a path or a machine is covered. What may name a person is covered under a salt of the load's own:
once that is destroyed nobody can try names against the hash, and the rest can be checked as before.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from pipeline.common.file_names import last_part
from pipeline.store.proof.hashes import column_hashes, rows_hash, salted
from schemas import KINDS, Kind
from schemas.kind import COUNTED_ONCE, ENDINGS

if TYPE_CHECKING:
    import polars as pl

    from duckdb import DuckDBPyConnection as Connection

LEDGER = ("kind", "profile", "rules_sha256", "version", "encoding", "rows", "loaded", "unchanged", *ENDINGS, "rejected",
          "ignored", "warnings")  # fmt: skip
"""Columns of ``meta.load`` that are covered as they are; of the file's name the last part is, without its folder."""
WRITTEN = "written"
SALT_BYTES = 16

_new_salt: list[Callable[[], str]] = [lambda: secrets.token_hex(SALT_BYTES)]


@contextmanager
def salts_of_a_demo() -> Iterator[None]:
    """Salts that anybody can work out, for invented people: the same demo makes the same store."""
    count = iter(range(10**9))
    former = _new_salt[0]
    _new_salt[0] = lambda: sha256(f"demo {next(count)}".encode()).hexdigest()[: 2 * SALT_BYTES]
    try:
        yield
    finally:
        _new_salt[0] = former


def new_salt() -> str:
    """A salt for a load, hexadecimal digits."""
    return _new_salt[0]()


def may_name(kind: Kind) -> frozenset[str]:
    """Columns of a kind that may name a person: free words, what is kept out of reports, and cells as written."""
    return frozenset(
        [WRITTEN, *(one.name for one in kind.stored if (one.type == "text" or one.private) and not one.key)]
    )


def rows_of_load(con: Connection, kind: Kind, load_id: int) -> pl.DataFrame:
    """The records a load brought, with their line and what the user wrote; grain: version of a record."""
    fields = ", ".join(f'"{one.name}"' for one in kind.stored)
    return _frame(con, f"SELECT line, {fields}, {WRITTEN} FROM history.{kind.name} WHERE load_id = {load_id:d}")  # noqa: S608


def seal_of_load(con: Connection, load_id: int, salt: str | None = None) -> tuple[dict[str, Any], str]:
    """What an entry about a load covers, and the salt it is covered under, "" where nothing in it may name a person.

    Args:
        con: the store.
        load_id: number of the load.
        salt: the salt it was covered under before; None for a new one where one is needed.
    """
    ledger = _ledger(con, load_id)
    kind = KINDS[ledger["kind"]]
    rows = rows_of_load(con, kind, load_id)
    private = may_name(kind)
    if salt is None:
        named = any(rows[name].null_count() < rows.height for name in private)
        salt = new_salt() if named else ""
    columns = column_hashes(rows, dict.fromkeys(private, salt))
    covers = {
        "load": load_id,
        "file": salted(salt, last_part(ledger["file"]).encode()),
        "ledger": {name: ledger[name] for name in LEDGER},
        "records": {"rows": rows.height, "columns": columns},
        "ended": rows_hash(_ended(con, kind, load_id)),
        "sources": _sources(con, load_id, salt),
    }
    return covers, salt


def state(con: Connection) -> dict[str, Any]:
    """What decisions stand, and which records are out of force by them: covered by every entry."""
    standing = "SELECT sha256 FROM meta.decision WHERE taken_back_at IS NULL ORDER BY sha256"
    marks = [mark for (mark,) in con.execute(standing).fetchall()]
    kinds = [name for (name,) in con.execute("SELECT DISTINCT kind FROM meta.decision ORDER BY kind").fetchall()]
    ended = {name: rows_hash(frame) for name in kinds if (frame := _counted_once(con, KINDS[name])).height}
    return {"decisions": marks, "counted_once": ended}


def _ledger(con: Connection, load_id: int) -> dict[str, Any]:
    names = ("file", *LEDGER)
    ((*row,),) = con.execute(f"SELECT {', '.join(names)} FROM meta.load WHERE load_id = {load_id:d}").fetchall()  # noqa: S608
    return dict(zip(names, row, strict=True))


def _ended(con: Connection, kind: Kind, load_id: int) -> pl.DataFrame:
    """The versions a load ended: where each came from, its key, and how it ended."""
    keys = "".join(f', "{name}"' for name in kind.key)
    sql = f"SELECT line, load_id, ended_as{keys} FROM history.{kind.name} WHERE ended_by = {load_id:d}"  # noqa: S608
    return _frame(con, sql)


def _counted_once(con: Connection, kind: Kind) -> pl.DataFrame:
    """The versions that decisions put out of force: where each came from and its key."""
    keys = "".join(f', k."{name}"' for name in kind.key)
    return _frame(
        con,
        f"SELECT k.line, k.load_id, d.sha256{keys} FROM history.{kind.name} AS k "  # noqa: S608
        f"JOIN meta.decision AS d ON d.decision = k.ended_by WHERE k.ended_as = '{COUNTED_ONCE}'",
    )


def _sources(con: Connection, load_id: int, salt: str) -> dict[str, str]:
    """One hash for each role, of the hashes of what was kept in it."""
    found: dict[str, list[str]] = {}
    sql = f"SELECT role, sha256 FROM meta.source WHERE load_id = {load_id:d} ORDER BY role, sha256"  # noqa: S608
    for role, mark in con.execute(sql).fetchall():
        found.setdefault(role, []).append(mark)
    return {role: salted(salt, "\n".join(marks).encode()) for role, marks in found.items()}


def _frame(con: Connection, sql: str) -> pl.DataFrame:
    """A query without parameters as a frame, on DuckDB 1 and 2 alike."""
    return con.execute(sql).pl() if hasattr(con, "pl") else con.sql(sql).pl()
