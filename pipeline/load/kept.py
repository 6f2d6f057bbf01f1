"""What a file has no column for: a record that takes another's place keeps it, and it is said.

A column that is missing says nothing; a blank cell says that there is nothing. So is it of every kind. Of one that
repeats (jobs) the record whose place is taken is told as match.py pairs them: equal ones first, by what the file tells,
then in order.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import counted, listed
from pipeline.load.matched import Matched
from pipeline.standardise.frame import Standard
from pipeline.store.layout import Connection
from pipeline.store.sql_text import number_as_told
from pipeline.validate.validate import filled
from schemas import Kind

if TYPE_CHECKING:
    from pipeline.profiles.profile import Profile

KEPT = FaultKind(
    "load.kept",
    "Columns that the file lacks leave their fields as they were",
    "The file has no column for {value}: what the store held of {records} stays.",
    "Nothing need be done. To empty a field, load the column with its cells left blank.",
    severity="note",
)
NOT_KEPT = FaultKind(
    "load.not_kept",
    "Former value let go, since what it rests on changed",
    "The file has no column for {field}; the {value} that stood is not kept, since {changed} changed.",
    "Load the row again with a column {field}, if it is known.",
    severity="warning",
)
EMPTIED = FaultKind(
    "register.emptied",
    "Blank cell empties a field of a register",
    "{column} is blank here and was {value}: the field is empty now, for every season the row holds in.",
    "Fill the cell in, or leave the column out of the file, and load it again; nothing need be done if it is right.",
    severity="warning",
)


def told_by(kind: Kind, standard: Standard, profile: Profile | None, records: pl.DataFrame) -> frozenset[str]:
    """Fields that a file says something of: by a column, a constant of its profile, or what is made of them."""
    told = set(standard.columns)
    if profile:
        told |= set(profile.constants)
        for entry in profile.long:
            told |= {entry.into or kind.value_field, *entry.constants}
        told |= {"marks"} if profile.values.flags else set()
    told |= {name for field in kind.fields if field.name in told for name in field.fills}
    return frozenset(told) | frozenset(filled(kind, records))


def lacking(kind: Kind, told: Collection[str]) -> list[str]:
    """Fields of which a file says nothing: a record that takes another's place keeps them."""
    return [field.name for field in kind.stored if field.name not in told and not field.key]


def keep_rest(con: Connection, kind: Kind, told: Collection[str], matched: Matched) -> pl.DataFrame:
    """What is said of the fields that records keep, let go or empty, after ``match``.

    Makes the temporary table ``kept``, where a record takes another's place and its file lacks a field: for each such
    record the fields its file does not tell, as they are to be stored.
    """
    if not matched.superseded:
        return no_faults()
    lacks, given = lacking(kind, told), matched.fields
    emptied = _emptied(con, kind, [f.name for f in kind.stored if f.name in told and not f.key], given)
    if not lacks:
        return emptied
    changed = {name: [one for one in kind.rests_on(name) if one in told] for name in lacks}
    fields = ", ".join(
        f'CASE WHEN {_changed(changed[name], given)} THEN NULL ELSE h."{name}" END AS "{name}"' for name in lacks
    )
    shorthands = [f.name for f in kind.fields if f.fills and not set(f.fills) & set(told)]
    gone = ", ".join(f'"{name}": null' for name in kind.by_name if name not in {*lacks, *shorthands})
    cells = f"json_merge_patch(json_merge_patch(h.written, '{{{gone}}}'), coalesce(i.written, '{{}}'))"
    con.execute(
        f"CREATE OR REPLACE TEMP TABLE kept AS SELECT i.record, i.line, {fields}, "  # noqa: S608 (names from KINDS)
        f"CASE WHEN h.written IS NULL THEN i.written ELSE nullif(CAST({cells} AS VARCHAR), '{{}}') END AS written "
        f"FROM incoming AS i JOIN history.{kind.name} AS h ON h.rowid = i.old WHERE i.status = 'supersedes'"
    )
    return concat([_kept(con, kind, lacks), _let_go(con, kind, changed, given), emptied])


def _changed(names: list[str], given: Collection[str]) -> str:
    """SQL of whether one of these fields of ``i`` says something else than ``h``."""
    tests = [f'{_new(name, given)} IS DISTINCT FROM h."{name}"' for name in names]
    return " OR ".join(tests) or "false"


def _new(name: str, given: Collection[str]) -> str:
    return f'i."{name}"' if name in given else "NULL"


def _kept(con: Connection, kind: Kind, lacks: list[str]) -> pl.DataFrame:
    counts = ", ".join(f'count("{name}")' for name in lacks)
    some = " OR ".join(f'"{name}" IS NOT NULL' for name in lacks)
    sql = f"SELECT count(*) FILTER ({some}), {counts} FROM kept"  # noqa: S608 (names from KINDS)
    records, *of_fields = con.execute(sql).fetchall()[0]
    names = [name for name, count in zip(lacks, of_fields, strict=True) if count]
    if not names:
        return no_faults()
    return KEPT.at(None, listed(names), records=counted(records, kind.name.replace("_", " ")))


def _let_go(con: Connection, kind: Kind, changed: dict[str, list[str]], given: Collection[str]) -> pl.DataFrame:
    faults = []
    for name, others in changed.items():
        if not others:
            continue
        moved = ", ".join(f"CASE WHEN {_changed([one], given)} THEN '{one}' END" for one in others)
        was = number_as_told(f'h."{name}"', kind.by_name[name])
        rows = con.execute(
            f"SELECT i.line, CAST({was} AS VARCHAR), concat_ws(chr(31), {moved}) "  # noqa: S608 (names from KINDS)
            f"FROM incoming AS i JOIN history.{kind.name} AS h ON h.rowid = i.old WHERE i.status = 'supersedes' "
            f'AND h."{name}" IS NOT NULL AND ({_changed(others, given)}) ORDER BY ALL'
        ).fetchall()
        faults += [
            NOT_KEPT.at(line, value, "", field=name, changed=listed(what.split(chr(31)))) for line, value, what in rows
        ]
    return concat(faults) if faults else no_faults()


def _emptied(con: Connection, kind: Kind, told: list[str], given: Collection[str]) -> pl.DataFrame:
    """Warnings of the fields of a register that a blank cell empties."""
    faults = []
    for name in told if kind.register else ():
        was = number_as_told(f'h."{name}"', kind.by_name[name])
        rows = con.execute(
            f"SELECT i.line, CAST({was} AS VARCHAR) FROM incoming AS i "  # noqa: S608 (names from KINDS)
            f"JOIN history.{kind.name} AS h ON h.rowid = i.old WHERE i.status = 'supersedes' "
            f'AND h."{name}" IS NOT NULL AND {_new(name, given)} IS NULL ORDER BY ALL'
        ).fetchall()
        faults += [EMPTIED.at(line, value, name) for line, value in rows]
    return concat(faults) if faults else no_faults()
