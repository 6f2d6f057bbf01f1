"""Registers whose rows hold from a day on: views of what held when, and of what the last row says.

A row without ``valid_from`` holds from the start, one with it from that day until the next. What a later row leaves
blank is as the row before has it, unless the row gives anew what it rests on (``Field.rests_on``): a new analysis is a
whole one, and the price of a pack is not that of a pack of another size. The first row of a name holds for the days
before it as well: loading asks about one that has a day all the same (``register.no_first``, validate/rules).
"""

from __future__ import annotations

from collections.abc import Iterator

from schemas import KINDS, Kind
from schemas.field import Field

BY_DAY = tuple(kind.name for kind in KINDS.values() if kind.by_day)
"""Kinds of which several rows may be about one thing."""


def view_name(kind: str) -> str:
    """View of the rows of a kind with the days that each holds for: ``holds_from`` to before ``holds_until``."""
    return f"{kind}_by_day"


def alone(kind: Kind) -> str:
    """SQL of what the view of what held when shows of things that have but one row: most registers hold no others.

    Far quicker than the view, which looks back in a window for each field.
    """
    fields = ", ".join(f'k."{one.name}"' for one in kind.stored)
    return (
        f"SELECT {fields}, k.load_id, l.file, k.line, k.written, CAST(NULL AS DATE) AS holds_from, "  # noqa: S608 (names from KINDS)
        f"CAST(NULL AS DATE) AS holds_until FROM history.{kind.name} AS k "
        "JOIN meta.load AS l ON l.load_id = k.load_id WHERE k.ended_by IS NULL"
    )


def by_day_views(kind: Kind) -> Iterator[str]:
    """Statements that make the view of what held when, and the kind's own of what the last row says."""
    thing = kind.name  # a register's rows are named by the field that is called as the kind
    fields = ", ".join(_carried(one) for one in kind.stored)
    yield (
        f'CREATE OR REPLACE VIEW "{view_name(thing)}" AS SELECT {fields}, k.load_id, l.file, k.line, k.written, '  # noqa: S608 (names from KINDS)
        "CASE WHEN row_number() OVER held > 1 THEN k.valid_from END AS holds_from, "
        "lead(k.valid_from) OVER held AS holds_until "
        f"FROM history.{thing} AS k JOIN meta.load AS l ON l.load_id = k.load_id WHERE k.ended_by IS NULL "
        f'WINDOW held AS (PARTITION BY k."{thing}" ORDER BY k.valid_from NULLS FIRST), '
        f'so_far AS (PARTITION BY k."{thing}" ORDER BY k.valid_from NULLS FIRST '
        "ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW)"
    )
    yield f"COMMENT ON VIEW \"{view_name(thing)}\" IS '{kind.title} as they held, each row with its days.'"
    yield (
        f'CREATE OR REPLACE VIEW "{thing}" AS SELECT * EXCLUDE (holds_from, holds_until) '  # noqa: S608 (names from KINDS)
        f'FROM "{view_name(thing)}" WHERE holds_until IS NULL'
    )
    words = f"{kind.title} in force, one row each, as the last says; what held when is in {view_name(thing)}."
    yield f"COMMENT ON VIEW \"{thing}\" IS '{words}'"


def _carried(field: Field) -> str:
    """SQL of a field as it held: of the last row that gives it, or something that it rests on."""
    name = f'k."{field.name}"'
    if field.key or field.required:
        return name
    given = " OR ".join(f'k."{one}" IS NOT NULL' for one in dict.fromkeys((field.name, *field.rests_on)))
    boxed = f"CASE WHEN {given} THEN struct_pack(held := {name}) END"
    return f"struct_extract(last_value({boxed} IGNORE NULLS) OVER so_far, 'held') AS \"{field.name}\""
