"""A file's new records and former ones that differ in part of their key: how they are compared, and what is asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.common.faults import FaultKind
from pipeline.load.in_words import shown
from pipeline.store.layout import Connection
from schemas import Kind

KEY_CHANGED = FaultKind(
    "record.key_changed",
    "Stands beside what the file said before, but for one field",
    "{value} said the same, but for {what}. {gone}, and both count.",
    "If it was corrected: decide one, and what this row says counts; if both are true: decide two; if the former was "
    "right: take this load back (undo LOAD). status has the commands.",
    severity="warning",
)
_TOGETHER = {"date": ("date", "date_to"), "depth_from_mm": ("depth_from_mm", "depth_to_mm")}
"""Fields that say one thing between them: a month and its last day, a layer and its ends."""
_WORDS = {"depth_from_mm": "depth in mm"}


@dataclass(frozen=True)
class Fields:
    """What a file's records (``n``) and former ones (``k``) are compared by, as SQL."""

    kind: Kind
    given: frozenset[str]
    told: frozenset[str]

    @property
    def keys(self) -> list[tuple[str, ...]]:
        """The key, each of its fields with those that belong to it."""
        names = {name for name in self.kind.by_name if self.kind.by_name[name].stored}
        taken = {other for group in _TOGETHER.values() for other in group[1:]}
        return [tuple(n for n in _TOGETHER.get(one, (one,)) if n in names) for one in self.kind.key if one not in taken]

    def _new(self, name: str) -> str:
        return f'n."{name}"' if name in self.given else "NULL"

    def same(self, names: Sequence[str]) -> str:
        """Whether both say the same of these fields."""
        return " AND ".join(f'{self._new(name)} IS NOT DISTINCT FROM k."{name}"' for name in names) or "true"

    @property
    def rest_same(self) -> str:
        """Whether both say the same of what is no part of the key; notes may differ, names in a register not."""
        keys = {name for group in self.keys for name in group}
        aside = {"image"} if self.kind.register else {"image", "text"}
        names = [one.name for one in self.kind.stored if one.type not in aside]
        return self.same([name for name in names if name in self.told and name not in keys])

    def all_but(self, group: tuple[str, ...]) -> str:
        """Whether they differ in these fields of the key, and in nothing else."""
        others = [name for one in self.keys if one != group for name in one]
        return f"{self.same(others)} AND NOT ({self.same(group)}) AND {self.rest_same}"

    @property
    def one_differs(self) -> str:
        """Whether they differ in one part of the key, and in nothing else."""
        differing = " + ".join(f"CAST(NOT ({self.same(group)}) AS INTEGER)" for group in self.keys)
        return f"({differing}) = 1 AND {self.rest_same}"

    def pair(self, group: tuple[str, ...] | None = None) -> str:
        """The columns of a pair that differs in these fields, or in the one in which it does."""
        what: dict[str, list[str]] = {"field": [], "former": [], "now": []}
        for one in [group] if group else self.keys:
            when = "WHEN true" if group else f"WHEN NOT ({self.same(one)})"
            former, now = [f'k."{name}"' for name in one], [self._new(name) for name in one]
            what["field"].append(f"{when} THEN '{_WORDS.get(one[0], one[0])}'")
            what["former"].append(f"{when} THEN {shown(former)}")
            what["now"].append(f"{when} THEN {shown(now)}")
        told = ", ".join(f"CASE {' '.join(cases)} END AS {name}" for name, cases in what.items())
        return f"n.record, n.line, k.old, k.load_id AS load, k.line AS was, k.of_file AS file, {told}"


def behind(con: Connection, kind: Kind, loads: Sequence[int]) -> int:
    """Make the temporary table ``behind``: what these loads brought, is in force, and not in the file; how many.

    Without what has been asked about already.
    """
    con.execute(
        "CREATE OR REPLACE TEMP TABLE behind AS "  # noqa: S608 (a name from KINDS)
        f"SELECT k.*, k.rowid AS old, l.file AS of_file FROM history.{kind.name} AS k "
        "JOIN meta.load AS l ON l.load_id = k.load_id WHERE k.ended_by IS NULL AND list_contains($loads, k.load_id) "
        "AND NOT EXISTS (SELECT 1 FROM incoming AS i WHERE i.old = k.rowid) "
        "AND NOT EXISTS (SELECT 1 FROM ending AS e WHERE e.old = k.rowid) "
        "AND NOT EXISTS (SELECT 1 FROM meta.fault AS f WHERE f.code = $code "
        "AND f.value = concat('line ', k.line, ' of ', l.file, ' (load ', k.load_id, ')'))",
        {"loads": list(loads), "code": KEY_CHANGED.code},
    )
    return count(con, "SELECT count(*) FROM behind")


def count(con: Connection, sql: str) -> int:
    """The one number that a query gives."""
    count: int = con.execute(sql).fetchall()[0][0]
    return count


def once(pairs: pl.DataFrame) -> pl.DataFrame:
    """The pairs in which neither record stands in one before."""
    return pairs.unique("old", keep="first", maintain_order=True).unique("record", keep="first", maintain_order=True)
