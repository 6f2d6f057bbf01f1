"""Which records are new, which the store holds already, and which take another's place."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.faults import FaultKind, no_faults
from pipeline.store import Connection
from schemas import Kind

REPLACES = FaultKind(
    "load.replaces",
    "Takes the place of an earlier record",
    "Takes the place of what {value} said; the former values are kept.",
    "If it is a second job of the same kind on that day, give each its own reference and load both.",
    severity="note",
)


@dataclass(frozen=True)
class Matched:
    """How many records met which fate; ``replaced_lines`` says whose place the replacing ones take."""

    new: int
    unchanged: int
    replaced: int
    withdrawn: int
    replaced_lines: pl.DataFrame


def _hash(names: tuple[str, ...], table: str) -> str:
    """SQL of the md5 over these columns; null and "" differ, and no value can run into its neighbour."""
    parts = ", ".join(f"coalesce(replace(CAST({table}.\"{name}\" AS VARCHAR), '|', '||'), '|-')" for name in names)
    return f"md5(concat_ws(' | ', {parts}))"


def match(con: Connection, kind: Kind, records: pl.DataFrame, blank: pl.DataFrame) -> Matched:
    """Find which records are new, which the store holds, and which take another's place.

    Makes temporary tables ``incoming`` (records with ``fate`` and ``old``, the rowid they end) and ``taken_back``.
    A key may stand several times: equal records are paired off first, what is left is paired in order.
    """
    every = tuple(field.name for field in kind.stored)
    con.register("incoming_frame", records.to_arrow())
    con.execute(
        f"CREATE OR REPLACE TEMP TABLE hashed AS SELECT f.*, {_hash(kind.key, 'f')} AS key_hash, "  # noqa: S608
        f"{_hash(every, 'f')} AS row_hash FROM incoming_frame AS f"
    )
    con.unregister("incoming_frame")
    con.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE standing AS
        SELECT k.rowid AS old, k.load_id, k.line, k.key_hash, k.row_hash,
            row_number() OVER (PARTITION BY k.key_hash, k.row_hash ORDER BY k.load_id, k.line, k.rowid) AS nth
        FROM kept.{kind.name} AS k
        WHERE k.ended_by IS NULL AND k.key_hash IN (SELECT h.key_hash FROM hashed AS h)
        """  # noqa: S608
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
            FROM standing AS s WHERE s.old NOT IN (SELECT p.same FROM paired AS p WHERE p.same IS NOT NULL)
        ), fated AS (
            SELECT r.record, o.old, o.load_id AS old_load, o.line AS old_line
            FROM rest_new AS r LEFT JOIN rest_old AS o ON o.key_hash = r.key_hash AND o.place = r.place
        )
        SELECT p.* EXCLUDE (nth, same), f.old, f.old_load, f.old_line,
            CASE WHEN p.same IS NOT NULL THEN 'unchanged' WHEN f.old IS NULL THEN 'new' ELSE 'replaced' END AS fate
        FROM paired AS p LEFT JOIN fated AS f ON f.record = p.record
        """
    )
    con.register("blank_frame", blank.to_arrow())
    con.execute(
        f"CREATE OR REPLACE TEMP TABLE taken_back AS SELECT DISTINCT k.rowid AS old FROM kept.{kind.name} AS k "  # noqa: S608
        f"JOIN (SELECT {_hash(kind.key, 'f')} AS key_hash FROM blank_frame AS f) AS b ON b.key_hash = k.key_hash "
        "WHERE k.ended_by IS NULL"
    )
    con.unregister("blank_frame")
    fates = dict(con.execute("SELECT fate, count(*) FROM incoming GROUP BY fate").fetchall())
    withdrawn = con.execute("SELECT count(*) FROM taken_back").fetchall()[0][0]
    lines = con.execute(
        "SELECT i.line, l.file, i.old_line FROM incoming AS i JOIN meta.load AS l ON l.load_id = i.old_load "
        "WHERE i.fate = 'replaced' ORDER BY i.line"
    ).fetchall()
    frame = pl.DataFrame(lines, schema={"line": pl.Int64, "file": pl.String, "old_line": pl.Int64}, orient="row")
    return Matched(fates.get("new", 0), fates.get("unchanged", 0), fates.get("replaced", 0), withdrawn, frame)


def replaces(kind: Kind, lines: pl.DataFrame) -> pl.DataFrame:
    """A note for each record of a repeating kind that takes another's place: it may be a second one instead."""
    if not kind.repeats or not lines.height:
        return no_faults()
    where = lines.select(
        pl.concat_str(pl.lit("line "), pl.col("old_line"), pl.lit(" of "), pl.col("file")).alias("where")
    ).to_series()
    return REPLACES.frame(lines["line"], where, "")


def write_records(con: Connection, kind: Kind, load_id: int) -> None:
    """Write what :func:`match` found: end the versions replaced or withdrawn, add the new ones."""
    con.execute(
        f"UPDATE kept.{kind.name} SET ended_by = ?, ended_as = 'replaced' "  # noqa: S608
        "WHERE rowid IN (SELECT i.old FROM incoming AS i WHERE i.fate = 'replaced')",
        [load_id],
    )
    con.execute(
        f"UPDATE kept.{kind.name} SET ended_by = ?, ended_as = 'withdrawn' "  # noqa: S608
        "WHERE rowid IN (SELECT t.old FROM taken_back AS t)",
        [load_id],
    )
    names = ", ".join(f'"{field.name}"' for field in kind.stored)
    order = ", ".join(f'"{name}"' for name in kind.order)
    con.execute(
        f"INSERT INTO kept.{kind.name} ({names}, load_id, line, written, key_hash, row_hash) "  # noqa: S608
        f"SELECT {names}, ?, line, written, key_hash, row_hash FROM incoming WHERE fate <> 'unchanged' "
        f"ORDER BY {order}, line, record",
        [load_id],
    )


def drop_temporary(con: Connection) -> None:
    """Drop the temporary tables of :func:`match`."""
    for table in ("hashed", "standing", "incoming", "taken_back"):
        con.execute(f"DROP TABLE IF EXISTS {table}")
