"""Records that stand in the store as the same bytes were read before, and that are other records as they are read now.

A constant of a profile, or a correction, may be part of what makes a record the same: with another date or another
hammer every row of the file is a record of its own, and the former ones would stay in force beside them. So it is where
a longer export of the source is loaded once the constant is mended: that is no proof, for two visits may have found the
same, and is warned about.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.faults import FaultKind
from pipeline.common.words import counted, listed
from pipeline.load.matched import Matched
from pipeline.store.layout import Connection
from schemas import Kind

if TYPE_CHECKING:
    from pipeline.profiles.profile import Profile

READ_OTHERWISE = FaultKind(
    "load.read_otherwise",
    "In force already, as the file was read before",
    "{value} of this very file {are} in force as {loads} read them, and would be other records now: both would count.",
    "Take back what was read before, then load the file again: {undo}. If both readings are true, give each its own "
    "profile, each with its own part under [match].",
)

CONSTANT_CHANGED = FaultKind(
    "load.constant_changed",
    "In force already, but for what the profile says of every row",
    "Of the {held} in force from {file} (load {load}) {value} here too and {differ} in nothing but {fields}, which "
    "profile {profile} says of every row: both count.",
    "If the profile was mended since, take back what was read before (undo {load}); this file stays loaded. "
    "If both are true (two visits found the same), nothing need be done.",
    severity="warning",
)
MOST_OF_IT = 0.5
"""Share of an earlier load's records from which on a file is taken to hold them: common practice, no source."""


def read_otherwise(
    con: Connection,
    kind: Kind,
    matched: Matched,
    known: Sequence[int],
    rivals: Sequence[str],
    beside: Sequence[int] = (),
) -> pl.DataFrame | None:
    """The fault of a file whose rows are in force as other records; None where none is. After `match` (match.py).

    A row counts that brings a new record now, while what it brought before stays as it is.

    Args:
        con: connection inside a transaction.
        kind: kind of record.
        matched: what was found of the file's records.
        known: loads of the very same bytes.
        rivals: other profiles of the workspace: what they read of the file is theirs.
        beside: records of the store (rowids) beside which somebody said that these stand.
    """
    if not known:
        return None
    paired = "AND NOT EXISTS (SELECT 1 FROM incoming AS n WHERE n.old = k.rowid)" if matched.met else ""
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


def constants_changed(
    con: Connection,
    kind: Kind,
    matched: Matched,
    profile: Profile | None,
    known: Sequence[int],
    told: Collection[str],
) -> dict[int, pl.DataFrame]:
    """Warnings of earlier loads, by load, whose records stand beside new ones that differ in the constants alone.

    After `match`; the constants are those of the file's profile. A load counts of which no less than ``MOST_OF_IT``
    stands in the file again, to the last field that the file tells.

    Args:
        con: connection inside a transaction.
        kind: kind of record.
        matched: what was found of the file's records.
        profile: the file's profile, None where it has none.
        known: loads of the very same bytes: what they brought is `read_otherwise`'s.
        told: fields that the file says something of.
    """
    said = _constants(profile)
    given = matched.fields
    free = [name for name in kind.key if name in said and name in given]
    if profile is None or not free or not (matched.met and matched.new):
        return {}
    fixed = [one.name for one in kind.stored if one.name in told and one.name in given and one.name not in said]
    same = " AND ".join(f'i."{name}" IS NOT DISTINCT FROM k."{name}"' for name in fixed)
    differing = ", ".join(f'bool_or(i."{name}" IS DISTINCT FROM k."{name}")' for name in free)
    rows = con.execute(
        "WITH stood AS ("  # noqa: S608 (names from KINDS)
        f"SELECT k.*, k.rowid AS old, l.file FROM history.{kind.name} AS k "
        "JOIN meta.load AS l ON l.load_id = k.load_id WHERE k.ended_by IS NULL AND l.profile = ? "
        "AND NOT list_contains(?, k.load_id)"
        "), counted AS (SELECT k.load_id, count(*) AS held FROM stood AS k GROUP BY k.load_id) "
        f"SELECT c.load_id, any_value(k.file), c.held, count(DISTINCT k.old), {differing} "
        f"FROM incoming AS i JOIN stood AS k ON {same} JOIN counted AS c ON c.load_id = k.load_id "
        "WHERE i.status = 'new' AND NOT EXISTS (SELECT 1 FROM incoming AS n WHERE n.old = k.old) "
        "AND NOT EXISTS (SELECT 1 FROM ending AS e WHERE e.old = k.old) GROUP BY c.load_id, c.held "
        "HAVING count(DISTINCT k.old) >= ? * c.held ORDER BY c.load_id",
        [profile.name, list(known), MOST_OF_IT],
    ).fetchall()
    return {
        load_id: CONSTANT_CHANGED.at(
            None, f"{count:,} {'stands' if count == 1 else 'stand'}", held=counted(held, "record"),
            differ="differs" if count == 1 else "differ", file=file, load=load_id, profile=profile.name,
            fields=listed([name for name, other in zip(free, differs, strict=True) if other]),
        )
        for load_id, file, held, count, *differs in rows
    }  # fmt: skip


def _constants(profile: Profile | None) -> set[str]:
    """Fields that a profile gives a value of its own, for every row or for every cell of a column."""
    if profile is None:
        return set()
    return {*profile.constants, *(name for entry in profile.long for name in entry.constants)}
