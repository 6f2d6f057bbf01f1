"""Records that stand in the store as the same bytes were read before, and that are other records as they are read now.

A constant of a profile, or a correction, may be part of what makes a record the same: with another date or another
hammer every row of the file is a record of its own, and the former ones would stay in force beside them.
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.common.faults import FaultKind
from pipeline.common.words import counted, listed
from pipeline.store.store import Connection
from schemas import Kind

READ_OTHERWISE = FaultKind(
    "load.read_otherwise",
    "In force already, as the file was read before",
    "{value} of this very file {are} in force as {loads} read them, and would be other records now: both would count.",
    "Take back what was read before, then load the file again: {undo}. If both readings are true, give each its own "
    "profile, each with its own part under [match].",
)


def read_otherwise(
    con: Connection, kind: Kind, known: Sequence[int], rivals: Sequence[str], beside: Sequence[int] = ()
) -> pl.DataFrame | None:
    """The fault of a file whose rows are in force as other records; None where none is. After `match` (match.py).

    A row counts that brings a new record now, while what it brought before stays as it is.

    Args:
        con: connection inside a transaction.
        kind: kind of record.
        known: loads of the very same bytes.
        rivals: other profiles of the workspace: what they read of the file is theirs.
        beside: records of the store (rowids) beside which somebody said that these stand.
    """
    if not known:
        return None
    met = con.execute("SELECT 1 FROM duckdb_columns() WHERE table_name = 'incoming' AND column_name = 'old'").fetchall()
    paired = "AND NOT EXISTS (SELECT 1 FROM incoming AS n WHERE n.old = k.rowid)" if met else ""
    rows = con.execute(
        f"SELECT k.load_id, count(DISTINCT k.line) FROM history.{kind.name} AS k "  # noqa: S608 (a name from KINDS)
        "JOIN meta.load AS l ON l.load_id = k.load_id "
        "WHERE k.ended_by IS NULL AND list_contains(?, k.load_id) AND NOT list_contains(?, l.profile) "
        "AND NOT list_contains(?, k.rowid) "
        "AND k.line IN (SELECT i.line FROM incoming AS i WHERE i.status = 'new') "
        f"AND NOT EXISTS (SELECT 1 FROM ending AS e WHERE e.old = k.rowid) {paired} "
        "GROUP BY k.load_id ORDER BY k.load_id DESC",
        [list(known), list(rivals), list(beside)],
    ).fetchall()
    if not rows:
        return None
    count = sum(lines for _, lines in rows)
    loads = listed([f"load {load_id}" for load_id, _ in rows])
    undo = listed([f"swardtally undo {load_id}" for load_id, _ in rows])
    are = "is" if count == 1 else "are"
    return READ_OTHERWISE.at(None, counted(count, "row"), loads=loads, undo=undo, are=are)
