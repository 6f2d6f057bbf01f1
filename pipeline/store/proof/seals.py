"""What an entry of the chain covers: what a load brought and ended, its entry in the ledger, and what it was read from.

Nothing of a clock, a path or a machine is covered. What may name a person is covered under a salt of the load's own:
once that is destroyed nobody can try names against the hash, and the rest can be checked as before.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
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
UNCOVERED = "when"
"""Role of a source that is a matter of the day of loading, and so is not covered."""
SALT_BYTES = 16
RECORDS_AT_ONCE = 500_000

_salts: list[Callable[[int], str]] = [lambda _: secrets.token_hex(SALT_BYTES)]


@contextmanager
def salts_of_a_demo() -> Iterator[None]:
    """Salts that anybody can work out, for invented people: the same demo makes the same store."""
    _salts.append(lambda load_id: sha256(f"demo {load_id}".encode()).hexdigest()[: 2 * SALT_BYTES])
    try:
        yield
    finally:
        _salts.pop()


def fresh_salt(number: int) -> str:
    """A salt for the entry of a load, or of that number, hexadecimal digits."""
    return _salts[-1](number)


def may_name(kind: Kind) -> frozenset[str]:
    """Columns of a kind that may name a person: free words, what is kept out of reports, and cells as written."""
    return frozenset([WRITTEN, *(one.name for one in kind.stored if one.type == "text" or one.private)])


def _named_by(kind: Kind, table: str) -> str:
    """The columns of a kind's key that name nobody, as SQL that follows other columns."""
    private = may_name(kind)
    return "".join(f', {table}."{name}"' for name in kind.key if name not in private)


def seal_of_load(con: Connection, load_id: int) -> tuple[dict[str, Any], str]:
    """What an entry about a load covers, and the salt it is covered under, "" where nothing in it may name a person."""
    ((found),) = Seals(con, {load_id: None}).all()
    return found.covers, found.salt


@dataclass(frozen=True)
class Seal:
    """What the store holds of a load, as an entry covers it.

    Attributes:
        load_id: number of the load.
        covers: what is covered but for the state of decisions.
        salt: under which it is.
    """

    load_id: int
    covers: dict[str, Any]
    salt: str

    @property
    def personal(self) -> dict[str, Any]:
        """The part of it that may name a person."""
        private = may_name(KINDS[self.covers["ledger"]["kind"]])
        columns = {name: mark for name, mark in self.covers["records"]["columns"].items() if name in private}
        return {"file": self.covers["file"], "sources": self.covers["sources"], "columns": columns}


@dataclass(frozen=True)
class Seals:
    """What the store holds of loads now, read kind by kind in shares that fit into memory.

    Attributes:
        con: the store.
        salts: by load, the salt it was covered under; None for a new one where one is needed.
    """

    con: Connection
    salts: Mapping[int, str | None]

    def all(self) -> Iterator[Seal]:
        """The seal of each load that has an entry in the ledger and a kind that is known."""
        ledger = {row["load_id"]: row for row in self._ledger() if row["kind"] in KINDS}
        for name, loads in _shares(ledger.values()):
            kind = KINDS[name]
            brought, ended = self._brought(kind, loads), self._ended(kind, loads)
            for load_id in loads:
                yield self._seal(ledger[load_id], kind, brought[load_id], ended[load_id])

    def _seal(self, ledger: dict[str, Any], kind: Kind, rows: pl.DataFrame, ended: pl.DataFrame) -> Seal:
        load_id = ledger["load_id"]
        private, salt = may_name(kind), self.salts[load_id]
        if salt is None:
            named = any(rows[name].null_count() < rows.height for name in private.intersection(rows.columns))
            salt = fresh_salt(load_id) if named else salt_of_state(self.con, load_id)
        covers = {
            "load": load_id,
            "file": salted(salt, last_part(ledger["file"]).encode()),
            "ledger": {name: ledger[name] for name in LEDGER},
            "records": {"rows": rows.height, "columns": column_hashes(rows, dict.fromkeys(private, salt))},
            "ended": rows_hash(ended),
            "sources": self._sources(load_id, salt),
        }
        return Seal(load_id, covers, salt)

    def _ledger(self) -> list[dict[str, Any]]:
        return _frame(
            self.con,
            f"SELECT load_id, file, {', '.join(LEDGER)} FROM meta.load WHERE load_id IN ({_listed(self.salts)}) "  # noqa: S608
            "ORDER BY load_id",
        ).to_dicts()

    def _brought(self, kind: Kind, loads: Sequence[int]) -> dict[int, pl.DataFrame]:
        """The records each load brought, with their line and what the user wrote; grain: version of a record.

        Without the columns in which none of them has a value: they are most, and are not covered.
        """
        names = [*(one.name for one in kind.stored), WRITTEN]
        brought = f"FROM history.{kind.name} WHERE load_id IN ({_listed(loads)})"
        counts = ", ".join(f'count("{name}")' for name in names)
        (filled,) = self.con.execute(f"SELECT {counts} {brought}").fetchall()
        fields = "".join(f', "{name}"' for name, count in zip(names, filled, strict=True) if count)
        return self._parted(f"SELECT load_id AS of, line{fields} {brought}", loads)

    def _ended(self, kind: Kind, loads: Sequence[int]) -> dict[int, pl.DataFrame]:
        """The versions each load ended: where each came from, its key, and how it ended."""
        return self._parted(
            f"SELECT k.ended_by AS of, k.line, k.load_id, k.ended_as{_named_by(kind, 'k')} "  # noqa: S608
            f"FROM history.{kind.name} AS k WHERE k.ended_by IN ({_listed(loads)})",
            loads,
        )

    def _parted(self, sql: str, loads: Sequence[int]) -> dict[int, pl.DataFrame]:
        rows = _frame(self.con, sql)
        if len(loads) == 1:
            return {loads[0]: rows.drop("of")}
        parts = {int(key[0]): part for key, part in rows.partition_by("of", as_dict=True, include_key=False).items()}
        return {load_id: parts.get(load_id, rows.clear().drop("of")) for load_id in loads}

    def _sources(self, load_id: int, salt: str) -> dict[str, str]:
        """One hash for each role that is covered, of the hashes of what was kept in it."""
        return {role: salted(salt, "\n".join(marks).encode()) for role, marks in self._kept.get(load_id, {}).items()}

    @cached_property
    def _kept(self) -> dict[int, dict[str, list[str]]]:
        """By load and role, the hashes of what was kept."""
        found: dict[int, dict[str, list[str]]] = {}
        sql = (
            f"SELECT load_id, role, sha256 FROM meta.source WHERE load_id IN ({_listed(self.salts)}) "  # noqa: S608
            f"AND role <> '{UNCOVERED}' ORDER BY load_id, role, sha256"
        )
        for load_id, role, mark in self.con.execute(sql).fetchall():
            found.setdefault(load_id, {}).setdefault(role, []).append(mark)
        return found


def state(con: Connection, salt: str) -> dict[str, Any]:
    """What decisions stand, and which records are out of force by them: covered by every entry, under its salt."""
    marks = _standing(con)
    told = {name for (name,) in con.execute("SELECT DISTINCT kind FROM meta.decision ORDER BY kind").fetchall()}
    kinds = sorted(told & KINDS.keys())
    ended = {name: rows_hash(frame) for name in kinds if (frame := _counted_once(con, KINDS[name])).height}
    once = {name: salted(salt, mark.encode()) for name, mark in ended.items()}
    return {"decisions": salted(salt, "\n".join(marks).encode()) if marks else "", "counted_once": once}


def salt_of_state(con: Connection, number: int) -> str:
    """A salt for an entry that covers no load, "" while no decision stands: a decision names who made it."""
    return fresh_salt(number) if _standing(con) else ""


def _standing(con: Connection) -> list[str]:
    """Hashes of the decisions that stand."""
    sql = "SELECT coalesce(sha256, '') AS mark FROM meta.decision WHERE taken_back_at IS NULL ORDER BY mark"
    return [mark for (mark,) in con.execute(sql).fetchall()]


def _counted_once(con: Connection, kind: Kind) -> pl.DataFrame:
    """The versions that decisions put out of force: where each came from and its key."""
    return _frame(
        con,
        f"SELECT k.line, k.load_id, d.sha256{_named_by(kind, 'k')} FROM history.{kind.name} AS k "  # noqa: S608
        f"JOIN meta.decision AS d ON d.decision = k.ended_by WHERE k.ended_as = '{COUNTED_ONCE}'",
    )


def _shares(ledger: Iterable[dict[str, Any]]) -> Iterator[tuple[str, list[int]]]:
    """Loads of one kind, so many at a time that their records are read at once."""
    by_kind: dict[str, list[dict[str, Any]]] = {}
    for row in ledger:
        by_kind.setdefault(row["kind"], []).append(row)
    for name, rows in by_kind.items():
        share: list[int] = []
        records = 0
        for row in rows:
            if share and records + row["rows"] > RECORDS_AT_ONCE:
                yield name, share
                share, records = [], 0
            share.append(row["load_id"])
            records += row["rows"]
        yield name, share


def _listed(numbers: Iterable[int]) -> str:
    return ", ".join(f"{int(number):d}" for number in numbers) or "NULL"


def _frame(con: Connection, sql: str) -> pl.DataFrame:
    """A query without parameters as a frame, on DuckDB 1 and 2 alike."""
    return con.execute(sql).pl() if hasattr(con, "pl") else con.sql(sql).pl()
