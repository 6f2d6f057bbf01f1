"""The chain: one entry for each load, each one taken back, each change of decisions; a head after each.

An entry's leaf is the hash of what it covers (seals.py), its head that of the head before and the leaf. Whoever holds a
head, as every document prints one, can tell whether anything before it was altered since.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from pipeline.store.proof.covered import Decided, Forgotten, Loaded, Undone, read
from pipeline.store.proof.hashes import digits, leaf_hash, next_head
from pipeline.store.proof.seals import Seals, fresh_salt, may_name, salt_of_state, seal_of_load, state
from pipeline.store.sql_text import quoted
from schemas import Kind

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

CHAIN = {
    "chain": (
        "One entry of the chain of hashes over loads, loads taken back and decisions (grain: entry).",
        (
            ("entry", "BIGINT NOT NULL", "number of the entry, from 1 without a gap"),
            (
                "what",
                "VARCHAR NOT NULL",
                "load; undone; decided; taken over: a load from before there was a chain; forgotten: a person",
            ),
            ("number", "BIGINT", "number of the load; NULL of decisions and persons"),
            ("covers", "VARCHAR NOT NULL", "what is covered, as JSON: counts, and hashes of records and originals"),
            ("salt", "VARCHAR NOT NULL", "salt of the hashes of what may name a person; '' where there is none"),
            ("leaf", "VARCHAR NOT NULL", "SHA-256 of a zero byte and what is covered"),
            ("head", "VARCHAR NOT NULL", "SHA-256 of a one byte, the head before and the leaf; the first is its leaf"),
        ),
    ),
}
"""Table of schema ``meta``."""
LOAD, UNDONE, DECIDED, TAKEN_OVER, FORGOTTEN = "load", "undone", "decided", "taken over", "forgotten"
SEALING = frozenset({LOAD, TAKEN_OVER})
"""Entries that say what a load brought; the latest about a load holds."""
_FORMS: dict[str, type[Decided]] = {
    LOAD: Loaded,
    TAKEN_OVER: Loaded,
    UNDONE: Undone,
    DECIDED: Decided,
    FORGOTTEN: Forgotten,
}
_ENTRIES = (
    "SELECT coalesce(entry, 0), coalesce(what, ''), number, coalesce(covers, ''), coalesce(salt, ''), "
    "coalesce(leaf, ''), coalesce(head, '') FROM meta.chain"
)
"""The entries; what is missing of one, as nothing but tampering makes it, is empty."""

NOTHING_DECIDED = {"decisions": "", "counted_once": {}}
"""State of a store in which no decision stands."""


@dataclass(frozen=True)
class Entry:
    """One entry as it stands in the store; hashes as hexadecimal digits."""

    entry: int
    what: str
    number: int | None
    covers: str
    salt: str
    leaf: str
    head: str

    @cached_property
    def told(self) -> dict[str, Any]:
        """What it covers; empty where that is not what an entry of its sort covers."""
        return read(_FORMS[self.what], self.covers, self.number) if self.what in _FORMS else {}

    @property
    def decides(self) -> bool:
        """Whether it covers a decision."""
        return bool(self.told.get("state", NOTHING_DECIDED).get("decisions"))

    def without_names(self, kind: Kind, later: Mapping[str, Any]) -> dict[str, Any]:
        """What it covers, with what may name a person as a later entry covers it."""
        private, told = may_name(kind), self.told
        columns = {name: mark for name, mark in told["records"]["columns"].items() if name not in private}
        records = {**told["records"], "columns": columns | dict(later["columns"])}
        return {**told, "file": later["file"], "sources": later["sources"], "records": records}


def entries(con: Connection) -> list[Entry]:
    """Every entry in order."""
    return [Entry(*row) for row in con.execute(f"{_ENTRIES} ORDER BY entry, head").fetchall()]


def _last(con: Connection) -> Entry | None:
    found = con.execute(f"{_ENTRIES} ORDER BY entry DESC LIMIT 1").fetchall()
    return Entry(*found[0]) if found else None


def add_load(con: Connection, load_id: int, what: str = LOAD) -> None:
    """Enter what a load did, once all of it is written; inside its transaction."""
    covers, salt = seal_of_load(con, load_id)
    _add(con, what, load_id, covers, salt)


def add_undone(con: Connection, load_id: int) -> None:
    """Enter that a load was taken back."""
    _add(con, UNDONE, load_id, {"undone": load_id}, salt_of_state(con, load_id))


def add_decided(con: Connection) -> None:
    """Enter that other decisions stand, where they do."""
    last = _last(con)
    former = last.told.get("state", NOTHING_DECIDED) if last else NOTHING_DECIDED
    if former != state(con, last.salt if last else ""):
        _add(con, DECIDED, None, {}, salt_of_state(con, last.entry + 1 if last else 1))


def add_forgotten(con: Connection, loads: Collection[int], *, decided: bool) -> None:
    """Enter that a person was forgotten: what may name a person is covered anew, and the former salts are destroyed.

    Args:
        con: the store.
        loads: loads of which anything was changed.
        decided: whether a decision was: then no entry that covers decisions keeps its salt.
    """
    chain = entries(con)
    with_salt = [one for one in chain if one.number in loads or (decided and one.decides)]
    numbers = {one.number for one in with_salt if one.what in SEALING and one.number is not None}
    held = {load_id for (load_id,) in con.execute("SELECT load_id FROM meta.load").fetchall()}
    salt = fresh_salt(len(chain) + 1)
    told = {str(seal.load_id): seal.personal for seal in Seals(con, dict.fromkeys(sorted(numbers & held), salt)).all()}
    places = ", ".join(str(one.entry) for one in with_salt)
    if places:
        con.execute(f"UPDATE meta.chain SET salt = '' WHERE entry IN ({places})")  # noqa: S608 (numbers)
    _add(con, FORGOTTEN, None, {"forgotten": told}, salt)


def take_over(con: Connection) -> None:
    """Enter every load that has no entry, of a store that was made before there was a chain."""
    sql = (
        "SELECT l.load_id FROM meta.load AS l WHERE l.load_id NOT IN "  # noqa: S608 (words of ours)
        f"(SELECT c.number FROM meta.chain AS c WHERE c.what IN ('{LOAD}', '{TAKEN_OVER}')) ORDER BY l.load_id"
    )
    for (load_id,) in con.execute(sql).fetchall():
        add_load(con, load_id, TAKEN_OVER)


def as_covered(covers: dict[str, Any]) -> bytes:
    """What is covered as the bytes that the leaf is the hash of: JSON, names in order, nothing between."""
    return json.dumps(covers, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def _add(con: Connection, what: str, number: int | None, covers: dict[str, Any], salt: str) -> None:
    data = as_covered({**covers, "state": state(con, salt)})
    last = _last(con)
    entry, former = (last.entry, digits(last.head)) if last else (0, b"")
    leaf = leaf_hash(data)
    row = (entry + 1, number if number is not None else "NULL")
    texts = ", ".join(map(quoted, (what, data.decode(), salt, leaf.hex(), next_head(former, leaf).hex())))
    con.execute(
        "INSERT INTO meta.chain (entry, number, what, covers, salt, leaf, head) "  # noqa: S608 (quoted)
        f"VALUES ({row[0]}, {row[1]}, {texts})"
    )
