"""The store as it stood at the end of a day: what had been loaded and decided by then, in the versions of then.

It lies in memory over the file, which is only read, and has the same tables and views, so that whatever reads a store
reads this one. What was taken back since is gone from the file: it is named (``gone``), not made up.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path

import duckdb

from pipeline.common.refusal import CannotDo
from pipeline.common.words import long_date
from pipeline.store.clock import ENTRIES
from pipeline.store.decisions import Decision, follow
from pipeline.store.layout import make_views, tables
from pipeline.store.opening import SEALED, leave_alone
from pipeline.store.shared import attach_to_read
from pipeline.store.store import Store
from pipeline.workspace.shared import Shared
from schemas import KINDS, Kind

_FILE = "whole"
"""What the file is called in memory."""
_THEN = "(SELECT number FROM numbers)"
"""SQL of the numbers of loads and decisions of then."""
_NUMBERS = {"history": "load_id", "meta.load": "load_id", "meta.fault": "load_id", "meta.rests_on": "load_id"}
"""Column that says which load a row is of, by schema or table."""


class Known(Store):
    """The store as it stood at the end of a day (UTC, as loads are dated); None: as it is."""

    def __init__(self, path: Path | Shared, day: date | None, decisions: Sequence[Decision] = ()) -> None:
        """Open it.

        Args:
            path: the store.
            day: the day; None for what is in it now.
            decisions: those of the workspace: records are taken for one by those of them that were made by then.

        Raises:
            CannotDo: it cannot be read, or nothing was in it yet.
        """
        self._day, self._end, self._decisions = day, _end(day) if day else None, decisions
        self._changed: set[str] = set()
        self.gone: tuple[str, ...] = ()
        super().__init__(path, read_only=True)

    def _check_layout(self, *, read_only: bool) -> None:
        super()._check_layout(read_only=read_only)
        self.con.close()
        self.con = duckdb.connect(config=SEALED)
        self.con.execute("SET enable_progress_bar = false")
        attach_to_read(self.con, self.path, _FILE)
        leave_alone(self.con)
        self.con.execute(
            # the latest time up to a number: where a clock was set back, what came later still came later
            "CREATE TABLE numbers AS SELECT number, max(came) OVER (ORDER BY number) AS came "  # noqa: S608 (names of ours)
            f"FROM ({ENTRIES.format(of=f'{_FILE}.')})"
        )
        if self._day:
            self.con.execute("DELETE FROM numbers WHERE came >= ?", [self._end])
            if not self.held_anything(self._day):
                self._refuse(self._day)
        self._lay_over(self._decisions)

    def held_anything(self, day: date) -> bool:
        """Whether anything that counts here was in the store at the end of a day."""
        return bool(self.rows("SELECT 1 FROM numbers WHERE came < ? LIMIT 1", [_end(day)]))

    def _refuse(self, day: date) -> None:
        first = self.rows(f"SELECT CAST(min(loaded_at) AS DATE) FROM {_FILE}.meta.load")[0][0]  # noqa: S608
        why = f"the first load came on {long_date(first)}" if first else "nothing has been loaded"
        raise CannotDo(
            f"Nothing was in the store at the end of {long_date(day)}: {why}.", "swardtally history lists the loads."
        )

    def _lay_over(self, decisions: Sequence[Decision]) -> None:
        """Make the tables and views; what decisions end is ended anew, as they were followed then."""
        if self._end:
            sql = f"SELECT DISTINCT kind FROM {_FILE}.meta.decision WHERE decided = 'one' AND decided_at < ?"  # noqa: S608
            kinds = (f"history.{kind}" for (kind,) in self.rows(sql, [self._end]))
            self._changed = {"meta.decision", "meta.fault", *kinds}
        for schema in ("history", "meta", "derived"):
            self.con.execute(f"CREATE SCHEMA {schema}")
        for name, _, columns in tables():
            names = {column for column, *_ in columns}
            self.con.execute(f"CREATE {self._table_or_view(name)} {name} AS {self._known(name, names)}")
        make_views(self.con)
        if self._end:
            stand = self.rows("SELECT sha256, decision, about FROM meta.decision WHERE taken_back_at IS NULL")
            known = {mark for mark, *_ in stand}
            follow(self, [one for one in decisions if one.mark in known])
            self.gone = (*self._taken_back(), *_no_more(stand, {one.mark for one in decisions}))

    def _known(self, table: str, columns: set[str]) -> str:
        """SQL of the rows of a table that were known, as they were."""
        schema = table.partition(".")[0]
        where = ["false"] if schema == "derived" else []
        if not self._end:
            return _select(table, "", where)
        end = f"TIMESTAMP '{self._end}'"
        if number := _NUMBERS.get(table) or _NUMBERS.get(schema):
            where.append(f"{number} IN {_THEN}")
        where += [f"{name} < {end}" for name in ("undone_at", "decided_at") if name in columns]
        late = [f"CASE WHEN {name} IN {_THEN} THEN {name} END AS {name}"
                for name in ("ended_by", "settled_by") if name in columns]  # fmt: skip
        if "ended_as" in columns:
            late.append(f"CASE WHEN ended_by IN {_THEN} THEN ended_as END AS ended_as")
        if "taken_back_at" in columns:
            late.append(f"CASE WHEN taken_back_at < {end} THEN taken_back_at END AS taken_back_at")
        return _select(table, f" REPLACE ({', '.join(late)})" if late else "", where)

    def _taken_back(self) -> list[str]:
        sql = (
            f"SELECT load_id, file, CAST(undone_at AS DATE) FROM {_FILE}.meta.undone "  # noqa: S608 (names of ours)
            "WHERE loaded_at < ? AND undone_at >= ? ORDER BY load_id"
        )
        rows = self.rows(sql, [self._end, self._end])
        return [f"load {number} ({file}), taken back on {long_date(day)}" for number, file, day in rows]

    def cut(self, day: date) -> None:
        """Leave out what is dated after a day: records, and rows of registers that hold from a later one.

        A record of a month or year that holds the day stays, for it may be of a day before.
        """
        for kind in KINDS.values():
            if kind.dated or kind.by_day:
                name = f"history.{kind.name}"
                self.con.execute(f"ALTER {self._table_or_view(name)} {name} RENAME TO every_{kind.name}")
                rows = f"SELECT * FROM history.every_{kind.name} {_by_then(kind, day)}"  # noqa: S608 (names from KINDS)
                self.con.execute(f"CREATE VIEW {name} AS {rows}")

    def _table_or_view(self, name: str) -> str:
        """How it lies in memory: what decisions change as a table of its own, all else as a view of the file."""
        return "TABLE" if name in self._changed else "VIEW"


def _select(table: str, replaced: str, where: Sequence[str]) -> str:
    tail = f" WHERE {' AND '.join(where)}" if where else ""
    return f"SELECT *{replaced} FROM {_FILE}.{table}{tail}"  # noqa: S608 (names of ours)


def _by_then(kind: Kind, day: date) -> str:
    """SQL that leaves out of a kind's rows what is dated after a day.

    The first row of a register holds for the days before it as well.
    """
    if kind.dated:
        return f"WHERE date <= DATE '{day}'"
    first = f'row_number() OVER (PARTITION BY "{kind.name}", ended_by IS NULL ORDER BY valid_from NULLS FIRST) = 1'
    return f"QUALIFY coalesce(valid_from <= DATE '{day}', true) OR {first}"


def _end(day: date) -> datetime:
    return datetime.combine(day, time()) + timedelta(days=1)


def _no_more(stand: Sequence[tuple[str, int, str]], marks: set[str]) -> list[str]:
    return [f"decision {number} (on {about}), taken back since" for mark, number, about in stand if mark not in marks]


def later(store: Known, day: date, greens: Sequence[str]) -> tuple[int, int, int]:
    """Of the records of some greens: how many came after a day, of how many in all, and how many it held have ended.

    What ended was withdrawn, closed, or taken for one with another; a newer version of a record came after the day.
    """
    own = "list_contains($greens, k.green)"
    at = "k.station IN (SELECT g.station FROM green_by_day AS g WHERE list_contains($greens, g.green))"
    rows = " UNION ALL ".join(
        f"SELECT k.load_id, k.ended_by, k.ended_as FROM history.{kind.name} AS k WHERE {own if kind.of_green else at}"  # noqa: S608
        for kind in KINDS.values()
        if kind.attached and kind.dated
    )
    sql = (
        f"SELECT count(*) FILTER (k.ended_by IS NULL AND l.came >= $end), count(*) FILTER (k.ended_by IS NULL), "  # noqa: S608
        "count(*) FILTER (l.came < $end AND e.came >= $end AND k.ended_as <> 'superseded') "
        f"FROM ({rows}) AS k JOIN numbers AS l ON l.number = k.load_id LEFT JOIN numbers AS e ON e.number = k.ended_by"
    )
    found = store.frame(sql, greens=list(greens), end=_end(day))
    came, every, ended = found.row(0)
    return came, every, ended
