"""What matching found: how many records have which status, which took another's place, and what others hold too."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

import polars as pl

from pipeline.load.in_words import differences, record_in_words, shown
from pipeline.store.layout import Connection
from schemas import Kind

_PLACES = {"line": pl.Int64, "file": pl.String, "old_line": pl.Int64, "profile": pl.String}
_TAKEN = {**_PLACES, "about": pl.String, "changed": pl.String, "former_days": pl.String, "days": pl.String}
_BACK = {"line": pl.Int64, "said": pl.String, "ended": pl.String}
Places = tuple[tuple[str, int], ...]
"""Files, each with a line."""


@dataclass(frozen=True)
class Matched:
    """How many records have which match status.

    Attributes:
        new: records the store did not hold.
        unchanged: records it holds in force.
        former: records it holds as former versions: the file was loaded before, and a later one changed them.
        superseded: records of the store whose place others take.
        withdrawn: records of the store that a blank result takes back.
        withdrawn_at: file and line of each of them, what it is, and the value taken back.
        closed: records of the store that a complete file lacks.
        closed_at: file and line of each of them.
        superseded_lines: incoming lines that take another's place, and whose; what the record is, what it says
            otherwise, and the days of both where these differ.
        back_lines: records equal to one that was in force once: where that stood, and the file that ended it.
        blank_former: blank results of a file loaded before, for whose record a later file has a value.
        spared: file and line of records a complete file lacks, but that came after it was first loaded.
        later: loads, and their files, that changed or added what the file, loaded before, says otherwise.
        gone: earlier loads that had taken back or closed what this file would have, and how many records each.
        fields: columns of ``incoming``; without ``old`` where the store held none of the kind.
    """

    new: int
    unchanged: int = 0
    former: int = 0
    superseded: int = 0
    withdrawn: int = 0
    withdrawn_at: tuple[tuple[str, int, str, str], ...] = ()
    closed: int = 0
    closed_at: Places = ()
    superseded_lines: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=_TAKEN))
    back_lines: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=_BACK))
    blank_former: int = 0
    spared: Places = ()
    later: tuple[tuple[int, str], ...] = ()
    gone: tuple[tuple[int, int], ...] = ()
    fields: frozenset[str] = frozenset()

    @property
    def ends(self) -> bool:
        """Whether records of the store end by this."""
        return bool(self.superseded or self.withdrawn or self.closed)

    @property
    def met(self) -> bool:
        """Whether the store held records of the kind: only then can one be more than new."""
        return "old" in self.fields


def superseded_lines(con: Connection, kind: Kind, told: Collection[str]) -> pl.DataFrame:
    """``superseded_lines`` of :class:`Matched`; ``told`` are the fields that the file says something of."""
    given = fields_matched(con)
    fields = [field for field in kind.stored if field.name in told and not field.key]
    days = ["NULL", "NULL"]
    if kind.by_period and "date_to" in told:
        ends = ['h."date_to"', 'i."date_to"' if "date_to" in given else "NULL"]
        differ = f"{ends[0]} IS DISTINCT FROM {ends[1]}"
        days = [
            f"CASE WHEN {differ} THEN {shown([f'{side}.date', end])} END" for side, end in zip("hi", ends, strict=True)
        ]
    sql = (
        f"SELECT i.line, l.file, i.old_line, l.profile, {record_in_words(kind, 'i', given)}, "  # noqa: S608 (names from KINDS)
        f"{differences(fields, 'h', 'i', given)}, {', '.join(days)} "
        f"FROM incoming AS i JOIN history.{kind.name} AS h ON h.rowid = i.old "
        "JOIN meta.load AS l ON l.load_id = i.old_load WHERE i.status = 'supersedes' "
        "ORDER BY i.line, l.file, i.old_line"
    )
    return _lines(con, sql, _TAKEN)


_BACK_LINES = """
    SELECT
        i.line,
        concat('line ', f.line, ' of ', l.file, ' (load ', l.load_id, ')') AS said,
        concat(e.file, ' (load ', e.load_id, ')') AS ended
    FROM incoming AS i
    JOIN former AS f ON f.key_hash = i.key_hash AND f.row_hash = i.row_hash
    JOIN meta.load AS l ON l.load_id = f.load_id JOIN meta.load AS e ON e.load_id = f.ended_by
    WHERE i.status IN ('new', 'supersedes')
    QUALIFY row_number() OVER (PARTITION BY i.record ORDER BY f.load_id DESC, f.line DESC, f.old DESC) = 1
    ORDER BY i.line, i.record
"""
_LATER = """
    SELECT l.load_id, l.file FROM meta.load AS l
    WHERE l.load_id IN (SELECT i.later FROM incoming AS i UNION ALL SELECT n.load_id FROM newer AS n)
    ORDER BY l.load_id
"""


def withdrawn_at(con: Connection, kind: Kind) -> tuple[tuple[str, int, str, str], ...]:
    """``withdrawn_at`` of :class:`Matched`."""
    value = shown([f'k."{kind.value_field}"']) if kind.value_field else "''"
    sql = (
        f"SELECT l.file, k.line, {record_in_words(kind, 'k', list(kind.by_name))}, {value} "  # noqa: S608
        f"FROM ending AS e JOIN history.{kind.name} AS k ON k.rowid = e.old "
        "JOIN meta.load AS l ON l.load_id = k.load_id WHERE e.way = 'withdrawn' ORDER BY l.file, k.line, k.rowid"
    )
    return tuple(con.execute(sql).fetchall())


def back_lines(con: Connection) -> pl.DataFrame:
    """``back_lines`` of :class:`Matched`."""
    return _lines(con, _BACK_LINES, _BACK)


def later_loads(con: Connection) -> tuple[tuple[int, str], ...]:
    """``later`` of :class:`Matched`."""
    return tuple(con.execute(_LATER).fetchall())


def fields_matched(con: Connection) -> frozenset[str]:
    """Columns of ``incoming``, after :func:`match`; without ``old`` where the store held none of the kind."""
    return frozenset(name for name, *_ in con.execute("SELECT * FROM incoming LIMIT 0").description or ())


def held_by_others(con: Connection, kind: Kind, file: str) -> pl.DataFrame:
    """Incoming lines whose very record another file brought, and where it stands there; after :func:`match`."""
    sql = (
        f"SELECT i.line, l.file, k.line AS old_line, l.profile FROM incoming AS i "  # noqa: S608 (a name from KINDS)
        f"JOIN history.{kind.name} AS k ON k.rowid = i.old JOIN meta.load AS l ON l.load_id = k.load_id "
        "WHERE i.status = 'unchanged' AND l.file <> ? ORDER BY i.line, l.file, k.line"
    )
    return _lines(con, sql, _PLACES, file)


def met_again(con: Connection, kind: Kind) -> list[tuple[int, int]]:
    """Earlier loads whose records in force the file holds too, and how many; after :func:`match`."""
    sql = (
        f"SELECT k.load_id, count(*) FROM incoming AS i JOIN history.{kind.name} AS k ON k.rowid = i.old "  # noqa: S608 (a name from KINDS)
        "WHERE i.status = 'unchanged' GROUP BY k.load_id ORDER BY k.load_id"
    )
    return [(load_id, count) for load_id, count in con.execute(sql).fetchall()]


def _lines(con: Connection, sql: str, schema: dict[str, type[pl.DataType]], *given: object) -> pl.DataFrame:
    return pl.DataFrame(con.execute(sql, list(given)).fetchall(), schema=schema, orient="row")
