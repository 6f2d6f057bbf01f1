"""Which records are new, which the store holds already, and which take another's place."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl
import pyarrow as pa

from pipeline.common.zeros import one_zero
from pipeline.load.matched import (
    Matched,
    Places,
    back_lines,
    fields_matched,
    later_loads,
    superseded_lines,
    withdrawn_at,
)
from pipeline.store.layout import Connection
from pipeline.validate.validate import filled
from schemas import Kind

ROW_GROUP = 122_880
"""Rows of a row group in DuckDB's file format (its documentation, "Storage")."""


@dataclass(frozen=True)
class Complete:
    """Days for which a file holds all there is: a record of its source that it lacks is closed.

    ``loads`` are those of its source (pipeline/load/source.py).
    """

    first: date
    last: date
    loads: tuple[int, ...]


def match(
    con: Connection,
    kind: Kind,
    records: pl.DataFrame,
    blank: pl.DataFrame,
    complete: Complete | None = None,
    apart: Sequence[int] = (),
    known: Sequence[int] = (),
    beside: Sequence[int] = (),
    given: Collection[str] | None = None,
) -> Matched:
    """Find which records are new, which the store holds, and which take another's place.

    A file says nothing new by being read again. Where the same bytes were loaded before, a record that was in force
    then and that another file has ended since stays as that file left it.

    Makes the temporary view or table ``incoming`` and the table ``ending`` (rows of the store that end, and the way).
    ``status`` of ``incoming`` is the match status: ``new``; ``unchanged`` (it stands in force); ``former`` (it stood,
    and a later file has changed it since); ``supersedes`` (it takes another's place). A key may stand several times:
    equal records are paired off first, what is left is paired in order. Hashes are made here of the records that may
    meet, and not kept: most records never meet another.

    Args:
        con: connection inside a transaction.
        kind: kind of record.
        records: accepted records with ``line``, ``record`` and ``written``.
        blank: records whose result is blank: those of the store with their key are withdrawn.
        complete: days the file is complete for; None: a record it lacks stays in force.
        apart: loads whose records are not paired with these: rejected rows of a file, mended, stand beside its others.
        known: loads of the very same bytes.
        beside: records of the store (rowids) that are not paired with these: somebody said that both were done.
        given: fields that the file says something of; None for all. What it has no column for it does not speak of: two
            records are equal where they are in what is given, and one that takes another's place keeps the rest of it
            (pipeline/load/kept.py).
    """
    records = _laid_out(kind, records)
    told = [field.name for field in kind.stored if given is None or field.name in given]
    con.register("incoming_frame", _in_batches(records))
    con.execute("CREATE OR REPLACE TEMP TABLE ending (old BIGINT, way VARCHAR)")
    if not con.execute(f"SELECT 1 FROM history.{kind.name} LIMIT 1").fetchall():  # noqa: S608
        con.execute("CREATE OR REPLACE TEMP VIEW incoming AS SELECT f.*, 'new' AS status FROM incoming_frame AS f")
        return Matched(new=records.height, fields=fields_matched(con))
    _pair(con, kind, records.columns, told, apart, known, beside)
    withdrawn, blank_former = _withdraw(con, kind, blank, known)
    closed, spared = _close(con, kind, complete, known) if complete else ((), ())
    statuses = dict(con.execute("SELECT status, count(*) FROM incoming GROUP BY status").fetchall())
    return Matched(
        new=statuses.get("new", 0),
        unchanged=statuses.get("unchanged", 0),
        former=statuses.get("former", 0),
        superseded=statuses.get("supersedes", 0),
        withdrawn=withdrawn,
        withdrawn_at=withdrawn_at(con, kind) if withdrawn else (),
        closed=len(closed),
        closed_at=closed,
        superseded_lines=superseded_lines(con, kind, told),
        back_lines=back_lines(con),
        blank_former=blank_former,
        spared=spared,
        later=later_loads(con),
        gone=tuple(con.execute("SELECT ended_by, count(*) FROM gone GROUP BY ALL ORDER BY ALL").fetchall()),
        fields=fields_matched(con),
    )


def _laid_out(kind: Kind, records: pl.DataFrame) -> pl.DataFrame:
    """The records in the order they are stored in, numbered so (``laid``), without the fields that none has a value in.

    Facts lie sorted, so that reading one green's part is quick; sorting here is far cheaper than in the INSERT.
    """
    rows = one_zero(records.select(*filled(kind, records), "line", "record", "written")).rechunk()
    keys = records.select("line", *kind.order, pl.int_range(pl.len()).alias("place"))
    for name in ("line", *reversed(kind.order)):  # one after the other is twice as fast as by all at once
        keys = keys.sort(name, maintain_order=True)
    return rows[keys["place"]].with_row_index("laid")


def _in_batches(records: pl.DataFrame) -> pa.Table:
    """The records as Arrow in pieces of a row group: a table of one piece is read by one thread alone."""
    table = records.to_arrow()
    return pa.Table.from_batches(table.to_batches(max_chunksize=ROW_GROUP), table.schema)


def _hashes(kind: Kind, names: Sequence[str]) -> str:
    """SQL of two hashes of records ``f``, of which these fields count: two records are equal where both are.

    One is over the natural key, the other over what the key does not hold already.
    """
    key = _hash(kind, (name for name in kind.key if name in names))
    rest = _hash(kind, (field.name for field in kind.stored if not field.key and field.name in names))
    return f"{key} AS key_hash, {rest} AS row_hash"


def _hash(kind: Kind, names: Iterable[str]) -> str:
    """SQL of the md5 over these fields of ``f``.

    Each value stands behind its field's name and before a unit separator, which no cleaned text holds; a field that is
    null leaves no trace, so that a field none of the records has may be left out. A store may hold -0.0 from before
    each zero was kept as 0.
    """
    parts = ", ".join(f"'{name}=' || CAST({_value(kind, name)} AS VARCHAR)" for name in names) or "''"
    return f"CAST(md5(concat_ws(chr(31), {parts})) AS UUID)"


def _value(kind: Kind, name: str) -> str:
    value = f'f."{name}"'
    return f"CASE WHEN {value} = 0 THEN 0 ELSE {value} END" if kind.by_name[name].store_type == "DOUBLE" else value


def _near(kind: Kind, table: str, *, in_force: bool = True) -> str:
    """SQL of the records ``f`` in force (or of the former versions) that share the key's needed fields with a table's.

    Each field for itself: that is quick to see in a large store, and leaves few to make hashes of.
    """
    ended = "NULL" if in_force else "NOT NULL"
    needed = [f'"{name}"' for name in kind.key if name in kind.required]
    near = [f"f.{name} IN (SELECT n.{name} FROM {table} AS n)" for name in needed]  # noqa: S608 (names from KINDS)
    return " AND ".join([f"FROM history.{kind.name} AS f WHERE f.ended_by IS {ended}", *near])


def _pair(
    con: Connection,
    kind: Kind,
    names: Sequence[str],
    told: Sequence[str],
    apart: Sequence[int],
    known: Sequence[int],
    beside: Sequence[int],
) -> None:
    """Pair the incoming records, which have these fields, with those standing in the store under the same keys.

    Compared is what their file tells, and the whole key.
    """
    every = list(dict.fromkeys([*kind.key, *told]))
    hashes = _hashes(kind, [name for name in every if name in names])
    con.execute(f"CREATE OR REPLACE TEMP TABLE hashed AS SELECT f.*, {hashes} FROM incoming_frame AS f")  # noqa: S608
    con.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE standing AS
        SELECT s.*, row_number() OVER (PARTITION BY s.key_hash, s.row_hash ORDER BY s.load_id, s.line, s.old) AS nth
        FROM (
            SELECT f.rowid AS old, f.load_id, f.line, {_hashes(kind, every)} {_near(kind, "hashed")}
                AND NOT list_contains(?, f.load_id) AND NOT list_contains(?, f.rowid)
        ) AS s
        WHERE s.key_hash IN (SELECT h.key_hash FROM hashed AS h)
        """,  # noqa: S608
        [list(apart), list(beside)],
    )
    _find_former(con, kind, every, apart, known)
    past = _PAST if con.execute("SELECT 1 FROM former WHERE lapsed LIMIT 1").fetchall() else _NO_PAST
    con.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE incoming AS
        WITH numbered AS (
            SELECT h.*, row_number() OVER (PARTITION BY h.key_hash, h.row_hash ORDER BY h.line, h.record) AS nth
            FROM hashed AS h
        ), paired AS (
            SELECT n.*, s.old AS same FROM numbered AS n
            LEFT JOIN standing AS s ON s.key_hash = n.key_hash AND s.row_hash = n.row_hash AND s.nth = n.nth
        ), {past}, rest_new AS (
            SELECT p.record, p.key_hash, row_number() OVER (PARTITION BY p.key_hash ORDER BY p.line, p.record) AS place
            FROM paired AS p WHERE p.same IS NULL AND NOT EXISTS (SELECT 1 FROM past AS a WHERE a.record = p.record)
        ), rest_old AS (
            SELECT s.old, s.load_id, s.line, s.key_hash,
                row_number() OVER (PARTITION BY s.key_hash ORDER BY s.load_id, s.line, s.old) AS place
            FROM standing AS s WHERE NOT EXISTS (SELECT 1 FROM paired AS p WHERE p.same = s.old)
        ), paired_off AS (
            SELECT r.record, o.old, o.load_id AS old_load, o.line AS old_line
            FROM rest_new AS r JOIN rest_old AS o ON o.key_hash = r.key_hash AND o.place = r.place
        )
        SELECT p.* EXCLUDE (nth, same), coalesce(p.same, f.old) AS old, f.old_load, f.old_line, a.later,
            CASE
                WHEN p.same IS NOT NULL THEN 'unchanged'
                WHEN a.record IS NOT NULL THEN 'former'
                WHEN f.old IS NULL THEN 'new'
                ELSE 'supersedes'
            END AS status
        FROM paired AS p LEFT JOIN paired_off AS f ON f.record = p.record LEFT JOIN past AS a ON a.record = p.record
        """  # noqa: S608 (no word of a user's in it)
    )
    con.execute("INSERT INTO ending SELECT i.old, 'superseded' FROM incoming AS i WHERE i.status = 'supersedes'")


_NO_PAST = "past AS (SELECT CAST(NULL AS BIGINT) AS record, CAST(NULL AS BIGINT) AS later WHERE false)"
_PAST = """
    rest AS (
        SELECT p.record, p.key_hash, p.row_hash, p.line,
            row_number() OVER (PARTITION BY p.key_hash, p.row_hash ORDER BY p.line, p.record) AS nth
        FROM paired AS p WHERE p.same IS NULL
    ), lapsed AS (
        SELECT f.*, row_number() OVER (PARTITION BY f.key_hash, f.row_hash ORDER BY f.load_id, f.line, f.old) AS nth
        FROM former AS f WHERE f.lapsed
    ), alike AS (
        SELECT r.record, l.old, l.ended_by AS later FROM rest AS r
        JOIN lapsed AS l ON l.key_hash = r.key_hash AND l.row_hash = r.row_hash AND l.nth = r.nth
    ), otherwise AS (
        SELECT r.record, r.key_hash, row_number() OVER (PARTITION BY r.key_hash ORDER BY r.line, r.record) AS place
        FROM rest AS r WHERE NOT EXISTS (SELECT 1 FROM alike AS a WHERE a.record = r.record)
    ), own AS (
        SELECT l.key_hash, l.ended_by,
            row_number() OVER (PARTITION BY l.key_hash ORDER BY l.load_id, l.line, l.old) AS place
        FROM lapsed AS l WHERE l.own AND NOT EXISTS (SELECT 1 FROM alike AS a WHERE a.old = l.old)
    ), past AS (
        SELECT a.record, a.later FROM alike AS a
        UNION ALL
        SELECT r.record, o.ended_by FROM otherwise AS r JOIN own AS o ON o.key_hash = r.key_hash AND o.place = r.place
    )"""
"""Incoming records that a later file changed since their own was loaded (``later`` is its load).

First those that say what a former version says; then those that their file, read by other rules now, says otherwise.
"""


def _find_former(con: Connection, kind: Kind, every: Sequence[str], apart: Sequence[int], known: Sequence[int]) -> None:
    """Make the temporary table ``former``: ended versions under the keys of the incoming records.

    ``lapsed`` are those that were in force when the very same bytes had been loaded, and that another file has ended
    since; ``own`` of them those that the file itself had brought. What the file ended itself, read by other rules, is
    not lapsed: then it is the rules that changed, and they are to be obeyed.
    """
    con.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE former AS
        WITH found AS (
            SELECT f.rowid AS old, f.load_id, f.line, f.ended_by, {_hashes(kind, every)}
            {_near(kind, "hashed", in_force=False)} AND NOT list_contains(?, f.load_id)
        )
        SELECT s.*, l.lapsed, l.lapsed AND list_contains(?, s.load_id) AS own FROM found AS s
        JOIN (
            SELECT t.old, NOT list_contains(?, t.ended_by) AND EXISTS (
                SELECT 1 FROM (SELECT unnest(?) AS load_id) AS k WHERE t.load_id <= k.load_id AND k.load_id < t.ended_by
            ) AS lapsed FROM found AS t
        ) AS l ON l.old = s.old
        WHERE s.key_hash IN (SELECT h.key_hash FROM hashed AS h)
        """,  # noqa: S608 (names from KINDS)
        [list(apart), list(known), list(known), list(known)],
    )


def _came_later(table: str) -> str:
    """SQL of whether a version came after the file was first loaded, from another file; two parameters, both ``known``.

    False where the file was not loaded before.
    """
    return f"coalesce({table}.load_id > list_min(?), false) AND NOT list_contains(?, {table}.load_id)"


def _withdraw(con: Connection, kind: Kind, blank: pl.DataFrame, known: Sequence[int]) -> tuple[int, int]:
    """Mark the store's records that a blank result takes back; how many, and how many came later and stay."""
    con.execute("CREATE OR REPLACE TEMP TABLE newer (old BIGINT, load_id BIGINT, stays BOOLEAN)")
    con.execute("CREATE OR REPLACE TEMP TABLE gone (old BIGINT, ended_by BIGINT)")
    if not blank.height:
        return 0, 0
    con.register("blank_frame", blank.to_arrow())
    key = _hash(kind, kind.key)
    con.execute(
        f"INSERT INTO newer SELECT f.rowid, f.load_id, {_came_later('f')} "  # noqa: S608
        f"{_near(kind, 'blank_frame')} AND {key} IN (SELECT {key} FROM blank_frame AS f)",
        [list(known), list(known)],
    )
    con.execute("INSERT INTO ending SELECT n.old, 'withdrawn' FROM newer AS n WHERE NOT n.stays")
    con.execute("DELETE FROM newer WHERE NOT stays")
    con.execute(
        f"INSERT INTO gone SELECT f.rowid, f.ended_by "  # noqa: S608
        f"{_near(kind, 'blank_frame', in_force=False)} AND f.ended_as IN ('withdrawn', 'closed') "
        f"AND {key} IN (SELECT {key} FROM blank_frame AS f)"
    )
    con.unregister("blank_frame")
    return _count(con, "ending WHERE way = 'withdrawn'"), _count(con, "newer")


def _close(con: Connection, kind: Kind, complete: Complete, known: Sequence[int]) -> tuple[Places, Places]:
    """Mark what the same source said of the same greens (or stations) in those days, and says no more.

    Returns:
        Where those stand that are closed, and those that came after the file was first loaded and so stay.
    """
    place = "green" if "green" in kind.by_name else "station"
    within = "k.date >= ? AND " + ("coalesce(k.date_to, k.date)" if kind.by_period else "k.date") + " <= ?"
    con.execute(
        f"INSERT INTO gone SELECT k.rowid, k.ended_by FROM history.{kind.name} AS k "  # noqa: S608
        "JOIN meta.load AS l ON l.load_id = k.load_id WHERE k.ended_as IN ('withdrawn', 'closed') "
        "AND list_contains(?, l.load_id) "
        f"AND {within} AND k.{place} IN (SELECT i.{place} FROM incoming AS i)",
        [list(complete.loads), complete.first, complete.last],
    )
    con.execute(
        f"INSERT INTO ending SELECT k.rowid, CASE WHEN {_came_later('k')} THEN 'spared' ELSE 'closed' END "  # noqa: S608
        f"FROM history.{kind.name} AS k JOIN meta.load AS l ON l.load_id = k.load_id "
        f"WHERE k.ended_by IS NULL AND list_contains(?, l.load_id) AND {within} "
        f"AND k.{place} IN (SELECT i.{place} FROM incoming AS i) "
        "AND NOT EXISTS (SELECT 1 FROM incoming AS i WHERE i.old = k.rowid) "
        "AND NOT EXISTS (SELECT 1 FROM ending AS e WHERE e.old = k.rowid)",
        [list(known), list(known), list(complete.loads), complete.first, complete.last],
    )
    closed, spared = (_places(con, kind, way) for way in ("closed", "spared"))
    con.execute("DELETE FROM ending WHERE way = 'spared'")
    return closed, spared


def _places(con: Connection, kind: Kind, way: str) -> Places:
    """File and line of the records that end in this way."""
    sql = (
        f"SELECT l.file, k.line FROM ending AS e JOIN history.{kind.name} AS k ON k.rowid = e.old "  # noqa: S608
        "JOIN meta.load AS l ON l.load_id = k.load_id WHERE e.way = ? ORDER BY l.file, k.line, k.rowid"
    )
    return tuple(con.execute(sql, [way]).fetchall())


def _count(con: Connection, what: str) -> int:
    count: int = con.execute(f"SELECT count(*) FROM {what}").fetchall()[0][0]  # noqa: S608 (no word of a user's in it)
    return count


def write_records(con: Connection, kind: Kind, load_id: int, matched: Matched, held: Sequence[str]) -> None:
    """Write what :func:`match` found: end the versions superseded, withdrawn or closed, add the new ones.

    ``held`` are the fields of the temporary table ``kept`` (kept.py); () where there is none.
    """
    if matched.ends:
        con.execute(
            f"UPDATE history.{kind.name} SET ended_by = ?, ended_as = e.way FROM ending AS e "  # noqa: S608
            f"WHERE history.{kind.name}.rowid = e.old",
            [load_id],
        )
    given = [field.name for field in kind.stored if field.name in matched.fields]
    names = ", ".join(f'"{name}"' for name in (*given, *held))
    values = ", ".join([f'i."{name}"' for name in given] + [f'k."{name}"' for name in held])
    written, join = (
        ("coalesce(k.written, i.written)", "LEFT JOIN kept AS k ON k.record = i.record") if held else ("i.written", "")
    )
    order = "ORDER BY i.laid" if matched.met else ""  # rows that met none are read as they were laid out
    con.execute(
        f"INSERT INTO history.{kind.name} ({names}, load_id, line, written) "  # noqa: S608
        f"SELECT {values}, ?, i.line, {written} FROM incoming AS i {join} "
        f"WHERE i.status IN ('new', 'supersedes') {order}",
        [load_id],
    )


def drop_temporary(con: Connection, matched: Matched) -> None:
    """Drop the temporary tables and views that :func:`match` made."""
    for table in ("hashed", "standing", "former", "newer", "gone", "ending", "kept"):
        con.execute(f"DROP TABLE IF EXISTS {table}")
    con.execute(f"DROP {'TABLE' if matched.met else 'VIEW'} incoming")
    con.unregister("incoming_frame")
