"""Which records are new, which the store holds already, and which take another's place."""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

import polars as pl
import pyarrow as pa

from pipeline.faults import FaultKind, together
from pipeline.store import Connection
from pipeline.validate import filled
from schemas import Kind

REPLACES = FaultKind(
    "load.replaces",
    "Takes the place of an earlier record",
    "Takes the place of what {value} said; the former values are kept.",
    "If it is a second job of the same kind on that day, give each its own reference and load both.",
    severity="note",
)
OTHER_FILE = FaultKind(
    "record.other_file",
    "Takes the place of what another file said",
    "{value} said something else of the same record; what {file} says took its place, the former values are kept.",
    "If both are true (a second job on that day), give each its own reference and load both files; if the former was "
    "right, take this load back (undo LOAD). What was changed: history --file {file}.",
    severity="warning",
)

ROW_GROUP = 122_880
"""Rows of a row group in DuckDB's file format (its documentation, "Storage")."""
_MONTHS = frozenset(name.casefold() for names in (calendar.month_name, calendar.month_abbr) for name in names)
_OF_AN_ISSUE = _MONTHS | {"sept", "rejected", "again", "copy", "final", "corrected", "new", "version", "v", "to"}
"""Words of a file's name that tell one issue of an export from another, not one source from another."""
_PLACES = {"line": pl.Int64, "file": pl.String, "old_line": pl.Int64, "profile": pl.String}


@dataclass(frozen=True)
class Matched:
    """How many records met which fate; ``replaced_lines`` says whose place the replacing ones take."""

    new: int
    unchanged: int = 0
    replaced: int = 0
    withdrawn: int = 0
    retired: int = 0
    replaced_lines: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=_PLACES))


@dataclass(frozen=True)
class Complete:
    """Days for which a file holds all there is: a record of its source that it lacks is retired."""

    first: date
    last: date
    profile: str


def match(
    con: Connection,
    kind: Kind,
    records: pl.DataFrame,
    blank: pl.DataFrame,
    complete: Complete | None = None,
    apart: Sequence[int] = (),
) -> Matched:
    """Find which records are new, which the store holds, and which take another's place.

    Makes the temporary view or table ``incoming`` (records with their ``fate``) and table ``ending`` (rows of the store
    that are replaced or withdrawn). A key may stand several times: equal records are paired off first, what is left is
    paired in order. Hashes are made here of the records that may meet, and not kept: most records never meet another.

    Args:
        con: connection inside a transaction.
        kind: kind of record.
        records: accepted records with ``line``, ``record`` and ``written``.
        blank: records whose result is blank: those of the store with their key are withdrawn.
        complete: days the file is complete for; None: a record it lacks stays in force.
        apart: loads whose records are not paired with these: rows handed back of a file stand beside its other rows.
    """
    records = _laid_out(kind, records)
    con.register("incoming_frame", _in_batches(records))
    con.execute("CREATE OR REPLACE TEMP TABLE ending (old BIGINT, way VARCHAR)")
    if not con.execute(f"SELECT 1 FROM kept.{kind.name} WHERE ended_by IS NULL LIMIT 1").fetchall():  # noqa: S608
        con.execute("CREATE OR REPLACE TEMP VIEW incoming AS SELECT f.*, 'new' AS fate FROM incoming_frame AS f")
        return Matched(new=records.height)
    _pair(con, kind, records.columns, apart)
    withdrawn = _withdraw(con, kind, blank)
    retired = _retire(con, kind, complete) if complete else 0
    fates = dict(con.execute("SELECT fate, count(*) FROM incoming GROUP BY fate").fetchall())
    lines = con.execute(
        "SELECT i.line, l.file, i.old_line, l.profile FROM incoming AS i JOIN meta.load AS l ON l.load_id = i.old_load "
        "WHERE i.fate = 'replaced' ORDER BY i.line"
    ).fetchall()
    places = pl.DataFrame(lines, schema=_PLACES, orient="row")
    return Matched(fates.get("new", 0), fates.get("unchanged", 0), fates.get("replaced", 0), withdrawn, retired, places)


def _laid_out(kind: Kind, records: pl.DataFrame) -> pl.DataFrame:
    """The records in the order they are stored in, without the fields in which none has a value.

    Facts lie sorted, so that reading one green's part is quick; sorting here is far cheaper than in the INSERT.
    """
    rows = records.select(*filled(kind, records), "line", "record", "written").rechunk()
    keys = records.select("line", *kind.order, pl.int_range(pl.len()).alias("place"))
    for name in ("line", *reversed(kind.order)):  # one after the other is twice as fast as by all at once
        keys = keys.sort(name, maintain_order=True)
    return rows[keys["place"]]


def _in_batches(records: pl.DataFrame) -> pa.Table:
    """The records as Arrow in pieces of a row group: a table of one piece is read by one thread alone."""
    table = records.to_arrow()
    return pa.Table.from_batches(table.to_batches(max_chunksize=ROW_GROUP), table.schema)


def _hashes(kind: Kind, names: Sequence[str]) -> str:
    """SQL of two hashes of records ``f``, of which these fields count: two records are equal where both are.

    One is over the natural key, the other over what the key does not hold already.
    """
    key = _hash(name for name in kind.key if name in names)
    rest = _hash(field.name for field in kind.stored if not field.key and field.name in names)
    return f"{key} AS key_hash, {rest} AS row_hash"


def _hash(names: Iterable[str]) -> str:
    """SQL of the md5 over these fields of ``f``.

    Each value stands behind its field's name and before a unit separator, which no cleaned text holds; a field that is
    null leaves no trace, so that a field none of the records has may be left out.
    """
    parts = ", ".join(f"'{name}=' || CAST(f.\"{name}\" AS VARCHAR)" for name in names) or "''"
    return f"CAST(md5(concat_ws(chr(31), {parts})) AS UUID)"


def _near(kind: Kind, table: str) -> str:
    """SQL of the records ``f`` in force that share the key's needed fields with those of a table, each for itself.

    That is quick to see in a large store, and leaves few to make hashes of.
    """
    needed = [f'"{name}"' for name in kind.key if name in kind.required]
    near = [f"f.{name} IN (SELECT n.{name} FROM {table} AS n)" for name in needed]  # noqa: S608 (names from KINDS)
    return " AND ".join([f"FROM kept.{kind.name} AS f WHERE f.ended_by IS NULL", *near])


def _pair(con: Connection, kind: Kind, names: Sequence[str], apart: Sequence[int]) -> None:
    """Pair the incoming records, which have these fields, with those standing in the store under the same keys."""
    hashes = _hashes(kind, names)
    con.execute(f"CREATE OR REPLACE TEMP TABLE hashed AS SELECT f.*, {hashes} FROM incoming_frame AS f")  # noqa: S608
    every = [field.name for field in kind.stored]
    con.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE standing AS
        SELECT s.*, row_number() OVER (PARTITION BY s.key_hash, s.row_hash ORDER BY s.load_id, s.line, s.old) AS nth
        FROM (
            SELECT f.rowid AS old, f.load_id, f.line, {_hashes(kind, every)} {_near(kind, "hashed")}
                AND NOT list_contains(?, f.load_id)
        ) AS s
        WHERE s.key_hash IN (SELECT h.key_hash FROM hashed AS h)
        """,  # noqa: S608
        [list(apart)],
    )
    con.execute(
        """
        CREATE OR REPLACE TEMP TABLE incoming AS
        WITH numbered AS (
            SELECT h.*, row_number() OVER (PARTITION BY h.key_hash, h.row_hash ORDER BY h.line, h.record) AS nth
            FROM hashed AS h
        ), paired AS (
            SELECT n.*, s.old AS same FROM numbered AS n
            LEFT JOIN standing AS s ON s.key_hash = n.key_hash AND s.row_hash = n.row_hash AND s.nth = n.nth
        ), rest_new AS (
            SELECT p.record, p.key_hash, row_number() OVER (PARTITION BY p.key_hash ORDER BY p.line, p.record) AS place
            FROM paired AS p WHERE p.same IS NULL
        ), rest_old AS (
            SELECT s.old, s.load_id, s.line, s.key_hash,
                row_number() OVER (PARTITION BY s.key_hash ORDER BY s.load_id, s.line, s.old) AS place
            FROM standing AS s WHERE NOT EXISTS (SELECT 1 FROM paired AS p WHERE p.same = s.old)
        ), fated AS (
            SELECT r.record, o.old, o.load_id AS old_load, o.line AS old_line
            FROM rest_new AS r JOIN rest_old AS o ON o.key_hash = r.key_hash AND o.place = r.place
        )
        SELECT p.* EXCLUDE (nth, same), coalesce(p.same, f.old) AS old, f.old_load, f.old_line,
            CASE WHEN p.same IS NOT NULL THEN 'unchanged' WHEN f.old IS NULL THEN 'new' ELSE 'replaced' END AS fate
        FROM paired AS p LEFT JOIN fated AS f ON f.record = p.record
        """
    )
    con.execute("INSERT INTO ending SELECT i.old, 'replaced' FROM incoming AS i WHERE i.fate = 'replaced'")


def _withdraw(con: Connection, kind: Kind, blank: pl.DataFrame) -> int:
    """Mark the store's records that a blank result takes back; how many."""
    con.register("blank_frame", blank.to_arrow())
    con.execute(
        f"INSERT INTO ending SELECT f.rowid, 'withdrawn' {_near(kind, 'blank_frame')} "  # noqa: S608
        f"AND {_hash(kind.key)} IN (SELECT {_hash(kind.key)} FROM blank_frame AS f)"
    )
    con.unregister("blank_frame")
    count: int = con.execute("SELECT count(*) FROM ending WHERE way = 'withdrawn'").fetchall()[0][0]
    return count


def _retire(con: Connection, kind: Kind, complete: Complete) -> int:
    """Mark what the same source said of the same greens (or stations) in those days, and says no more; how many.

    The same source is the same profile; files without a profile are one source.
    """
    place = "green" if "green" in kind.by_name else "station"
    con.execute(
        f"INSERT INTO ending SELECT k.rowid, 'retired' FROM kept.{kind.name} AS k "  # noqa: S608
        "JOIN meta.load AS l ON l.load_id = k.load_id "
        "WHERE k.ended_by IS NULL AND l.profile = ? AND k.date BETWEEN ? AND ? "
        f"AND k.{place} IN (SELECT i.{place} FROM incoming AS i) "
        "AND NOT EXISTS (SELECT 1 FROM incoming AS i WHERE i.old = k.rowid) "
        "AND NOT EXISTS (SELECT 1 FROM ending AS e WHERE e.old = k.rowid)",
        [complete.profile, complete.first, complete.last],
    )
    count: int = con.execute("SELECT count(*) FROM ending WHERE way = 'retired'").fetchall()[0][0]
    return count


def replaces(kind: Kind, lines: pl.DataFrame, file: str, profile: str) -> pl.DataFrame:
    """What is said of records that take another's place.

    A warning where the former is of another source; else, in a kind that repeats, a note: it may be a second one.

    Args:
        kind: kind of record.
        lines: ``replaced_lines`` of :class:`Matched`.
        file: file that replaces.
        profile: profile it was read with, "" where none.
    """
    where = pl.concat_str(pl.lit("line "), pl.col("old_line"), pl.lit(" of "), pl.col("file")).alias("where")
    faults = []
    for (old_file, old_profile), part in lines.group_by("file", "profile", maintain_order=True):
        at = (part["line"], part.select(where).to_series(), "")
        if not same_source(file, profile, str(old_file), str(old_profile)):
            faults.append(OTHER_FILE.frame(*at, file=file))
        elif kind.repeats:
            faults.append(REPLACES.frame(*at))
    return together(faults)


def same_source(file: str, profile: str, other: str, other_profile: str) -> bool:
    """Whether two files are issues of one export: read with the same profile, or named alike but for dates."""
    return (profile == other_profile != "") or _issue(file) == _issue(other)


def _issue(file: str) -> frozenset[str]:
    """Words of a file's name without what tells one issue from the next."""
    words = re.findall(r"[^\W\d_]+", file.replace("\\", "/").rsplit("/", 1)[-1].casefold().rpartition(".")[0])
    return frozenset(words) - _OF_AN_ISSUE


def write_records(con: Connection, kind: Kind, load_id: int) -> None:
    """Write what :func:`match` found: end the versions replaced or withdrawn, add the new ones."""
    con.execute(
        f"UPDATE kept.{kind.name} SET ended_by = ?, ended_as = e.way FROM ending AS e "  # noqa: S608
        f"WHERE kept.{kind.name}.rowid = e.old",
        [load_id],
    )
    given = {name for name, *_ in con.execute("SELECT * FROM incoming LIMIT 0").description or ()}
    names = ", ".join(f'"{field.name}"' for field in kind.stored if field.name in given)
    con.execute(
        f"INSERT INTO kept.{kind.name} ({names}, load_id, line, written) "  # noqa: S608
        f"SELECT {names}, ?, line, written FROM incoming WHERE fate <> 'unchanged'",
        [load_id],
    )


def drop_temporary(con: Connection) -> None:
    """Drop the temporary tables and views of :func:`match`."""
    for table in ("hashed", "standing", "ending"):
        con.execute(f"DROP TABLE IF EXISTS {table}")
    kinds = con.execute("SELECT table_type FROM information_schema.tables WHERE table_name = 'incoming'").fetchall()
    for (kind,) in kinds:
        con.execute(f"DROP {'VIEW' if 'VIEW' in kind else 'TABLE'} incoming")
    con.unregister("incoming_frame")
