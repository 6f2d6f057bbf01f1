"""What the store holds against what its chain says: what was altered by another way than loading, and where."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pipeline.common.marks import mark_of_part
from pipeline.common.words import listed
from pipeline.store.proof.chain import FORGOTTEN, SEALING, UNDONE, Entry, entries
from pipeline.store.proof.hashes import leaf_hash, next_head
from pipeline.store.proof.originals import Altered, kept_bytes
from pipeline.store.proof.seals import LEDGER as LEDGER_COLUMNS
from pipeline.store.proof.seals import Seal, Seals, state
from pipeline.store.sql_text import quoted
from schemas import KINDS
from schemas.kind import COUNTED_ONCE, ENDINGS

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

CHAIN, LAYOUT, LEDGER, RECORDS, ORIGINAL, FIGURE = "chain", "layout", "ledger", "records", "original", "figure"
"""What can be altered."""


@dataclass(frozen=True)
class Alteration:
    """One thing that is not as loading left it.

    Attributes:
        what: chain, layout, ledger, records, original or figure.
        load_id: load it is of, None of the chain, the layout, decisions and figures.
        message: what it is, in a sentence.
    """

    what: str
    load_id: int | None
    message: str


def alterations(con: Connection, *, originals: bool = True) -> list[Alteration]:
    """Everything in the store that is not what the chain says, in order of loads.

    Args:
        con: the store.
        originals: whether the kept bytes of files are looked at too.
    """
    chain = entries(con)
    sealed = {one.number: one for one in chain if one.what in SEALING and one.number is not None}
    files = dict(con.execute("SELECT load_id, file FROM meta.load ORDER BY load_id").fetchall())
    found = [*_chain(chain), *_ledger(chain, sealed, files), *_undone(con, chain, sealed), *_files(con), *_strays(con)]
    later = redacted(chain)
    legible = {number for number in files if number in sealed and sealed[number].told}
    seals = Seals(con, {number: later.get(number, sealed[number]).salt for number in sorted(legible)})
    for seal in seals.all():
        told = sealed[seal.load_id].told
        if seal.load_id in later:
            kind = KINDS[seal.covers["ledger"]["kind"]]
            told = sealed[seal.load_id].without_names(kind, later[seal.load_id].told["forgotten"][str(seal.load_id)])
        found += _of_load(seal, told, files[seal.load_id])
    found += _kinds(con)
    if originals:
        found += _originals(con, files)
    if chain and chain[-1].told.get("state") != state(con, chain[-1].salt):
        said = "The decisions in force, or the records they leave out, are not those of the last entry of the chain."
        found.append(Alteration(LEDGER, None, said))
    return sorted(found, key=lambda one: (one.load_id is None, one.load_id or 0))


def redacted(chain: Iterable[Entry]) -> dict[int, Entry]:
    """Loads from which a person's name was taken, each with the last entry that says so."""
    return {int(number): one for one in chain if one.what == FORGOTTEN for number in one.told.get("forgotten", {})}


def _chain(chain: Iterable[Entry]) -> Iterator[Alteration]:
    """Entries whose hashes do not follow from what they say and from the entry before, or that cannot be read."""
    head = b""
    for place, one in enumerate(chain, 1):
        leaf = leaf_hash(one.covers.encode())
        head = next_head(head, leaf)
        if (one.entry, one.leaf, one.head) != (place, leaf.hex(), head.hex()):
            said = f"Entry {one.entry} of the chain does not follow from the one before it."
            yield Alteration(CHAIN, one.number, said)
            break
    for one in chain:
        if not one.told:
            said = f"What entry {one.entry} of the chain covers is not what such an entry can cover."
            yield Alteration(CHAIN, one.number, said)


def _ledger(chain: list[Entry], sealed: Mapping[int, Entry], files: Mapping[int, str]) -> Iterator[Alteration]:
    """Loads without an entry, and entries whose load is neither there nor taken back."""
    undone = {one.number for one in chain if one.what == UNDONE}
    for number, file in files.items():
        if number not in sealed:
            yield Alteration(LEDGER, number, f"Load {number} ({file}) stands in the ledger, and not in the chain.")
        elif number in undone:
            yield Alteration(LEDGER, number, f"Load {number} ({file}) was taken back, and is in the ledger again.")
    for number in sorted(sealed.keys() - files.keys() - undone):
        yield Alteration(LEDGER, number, f"Load {number} is gone from the ledger, and was not taken back.")


def _undone(con: Connection, chain: Iterable[Entry], sealed: Mapping[int, Entry]) -> Iterator[Alteration]:
    """Loads taken back that the list of them leaves out, or of which it says what they were not."""
    columns = ", ".join(LEDGER_COLUMNS)
    rows = con.execute(f"SELECT load_id, {columns} FROM meta.undone ORDER BY load_id").fetchall()  # noqa: S608
    listed_now = {number: dict(zip(LEDGER_COLUMNS, row, strict=True)) for number, *row in rows}
    for number in sorted({one.number for one in chain if one.what == UNDONE and one.number is not None}):
        told = sealed[number].told.get("ledger") if number in sealed else None
        if number not in listed_now:
            yield Alteration(LEDGER, number, f"Load {number} was taken back, and the list of such loads lacks it.")
        elif told is not None and told != listed_now[number]:
            said = f"Load {number} was taken back, and the list of such loads says of it what was not so."
            yield Alteration(LEDGER, number, said)


def _files(con: Connection) -> Iterator[Alteration]:
    """Loads whose file is known by another hash than that of the bytes that were kept of it."""
    sql = (
        "SELECT l.load_id, l.file, l.sha256, s.sha256 FROM meta.load AS l JOIN meta.source AS s "
        "ON s.load_id = l.load_id AND s.role = 'file' ORDER BY ALL"
    )
    for number, file, mark, kept in con.execute(sql).fetchall():
        part = file.rpartition(" [")[2].removesuffix("]")
        if mark not in (kept, mark_of_part(kept, part)):
            said = f"Load {number} ({file}): the ledger knows its file by another hash than its bytes have."
            yield Alteration(LEDGER, number, said)


def _strays(con: Connection) -> Iterator[Alteration]:
    """Records of a load, or ended by one, that is in no ledger; and what no load and no decision can have done."""
    ways = ", ".join(map(quoted, ENDINGS))
    for kind in KINDS.values():
        own = f"IS DISTINCT FROM {quoted(kind.name)}"
        sql = (
            f"SELECT count(*) FILTER (WHERE CASE WHEN h.ended_by IS NULL THEN h.ended_as IS NOT NULL "  # noqa: S608
            f"WHEN d.decision IS NULL THEN l.kind {own} OR coalesce(h.ended_as NOT IN ({ways}), true) "
            f"ELSE d.kind {own} OR h.ended_as IS DISTINCT FROM {quoted(COUNTED_ONCE)} END), "
            f"count(*) FILTER (WHERE b.kind {own}) FROM history.{kind.name} AS h "
            "LEFT JOIN meta.decision AS d ON d.decision = h.ended_by "
            "LEFT JOIN meta.load AS l ON l.load_id = h.ended_by LEFT JOIN meta.load AS b ON b.load_id = h.load_id"
        )
        ((ended, brought),) = con.execute(sql).fetchall()
        if ended:
            said = f"{ended} {kind.title} are out of force in a way in which no load and no decision puts them."
            yield Alteration(RECORDS, None, said)
        if brought:
            said = f"{brought} {kind.title} are of loads that brought none."
            yield Alteration(RECORDS, None, said)
        for column, said in (("load_id", "are of"), ("ended_by", "were ended by")):
            sql = (
                f"SELECT h.{column}, count(*) FROM history.{kind.name} AS h WHERE h.{column} IS NOT NULL "  # noqa: S608
                f"AND h.{column} NOT IN (SELECT l.load_id FROM meta.load AS l) "
                f"AND h.{column} NOT IN (SELECT d.decision FROM meta.decision AS d) GROUP BY 1 ORDER BY 1"
            )
            for number, count in con.execute(sql).fetchall():
                text = f"{count} {kind.title} {said} load {number}, which the ledger does not hold."
                yield Alteration(RECORDS, number, text)


def _kinds(con: Connection) -> Iterator[Alteration]:
    """Loads of a kind that does not exist, whose records cannot be looked at."""
    for number, kind in con.execute("SELECT load_id, kind FROM meta.load ORDER BY load_id").fetchall():
        if kind not in KINDS:
            yield Alteration(LEDGER, number, f"Load {number} is said to be of kind “{kind}”, which there is not.")


def _of_load(seal: Seal, told: Mapping[str, Any], file: str) -> Iterator[Alteration]:
    """What the store holds of a load that its entry says otherwise."""
    now, load = seal.covers, f"Load {seal.load_id} ({file})"
    if told.get("file") != now["file"]:
        yield Alteration(LEDGER, seal.load_id, f"{load}: the file had another name when it was loaded.")
    ledger = told.get("ledger", {})
    for name in [name for name in now["ledger"] if ledger.get(name) != now["ledger"][name]]:
        said = f"{load}: the ledger says {name} {now['ledger'][name]}, and said {ledger.get(name)} when it was loaded."
        yield Alteration(LEDGER, seal.load_id, said)
    records = told.get("records", {})
    if records.get("rows") != now["records"]["rows"]:
        said = f"{load}: it brought {records.get('rows')} records, and {now['records']['rows']} are there."
        yield Alteration(RECORDS, seal.load_id, said)
    else:
        former, here = records.get("columns", {}), now["records"]["columns"]
        if names := [name for name in sorted({*former, *here}) if former.get(name) != here.get(name)]:
            said = f"{load}: what its records say under {listed(names)} is not what was loaded."
            yield Alteration(RECORDS, seal.load_id, said)
    if told.get("ended") != now["ended"]:
        yield Alteration(RECORDS, seal.load_id, f"{load}: the records it put out of force are not those any more.")
    sources = told.get("sources", {})
    for role in [one for one in sorted({*sources, *now["sources"]}) if sources.get(one) != now["sources"].get(one)]:
        yield Alteration(ORIGINAL, seal.load_id, f"{load}: the list of what it was read from ({role}) was changed.")


def _originals(con: Connection, files: Mapping[int, str]) -> Iterator[Alteration]:
    """Loads of which something kept is gone or is not what its hash says."""
    marks: dict[str, list[tuple[int, str]]] = {}
    for number, role, mark in con.execute("SELECT load_id, role, sha256 FROM meta.source ORDER BY ALL").fetchall():
        if number in files:
            marks.setdefault(mark, []).append((number, role))
    for mark, users in marks.items():
        try:
            kept_bytes(con, mark)
        except Altered:
            number, role = users[0]
            what = "the kept original" if role == "file" else f"what was kept of its {role}"
            yield Alteration(ORIGINAL, number, f"Load {number} ({files[number]}): {what} is not what was loaded.")
