"""The records of a store read: all of them, those of some greens, or a part of these."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import polars as pl

from pipeline.indicators.base import periods
from pipeline.indicators.base.part import Part
from pipeline.indicators.base.records import Records
from pipeline.store.doubles import as_faults
from pipeline.store.planned import planned_rows
from pipeline.store.sql_text import among
from pipeline.store.store import Store, as_last_said
from schemas import KINDS, Kind

NO_PLANS = pl.DataFrame(schema={"green": pl.String})
"""In the place of planned works that were not read."""


def read_records(
    store: Store,
    greens: Sequence[str] | None = None,
    more: Sequence[str] = (),
    part: Part | None = None,
    *,
    plans: bool = True,
) -> Records:
    """Every record in force in the store; of some greens and their stations alone, where these are named.

    Registers, loads and what was met while loading are whole; jobs that may be one are asked about of the same greens.

    Args:
        store: open.
        greens: greens; None: all.
        more: greens whose jobs that may be one are asked about as well, for :func:`records_of`.
        part: what of their records is read; None: all.
        plans: whether planned works are read: no figure rests on them.
    """
    loads, by_day = store.frame("SELECT * FROM meta.load"), store.registers_by_day()
    asked = None if greens is None else [*greens, *more]
    return Records(
        **_records(store, greens, _registers(store, by_day, whole=greens is None and part is None), part),
        planned=planned_rows(store, greens) if plans else NO_PLANS,
        faults=_faults(store, asked) if part is None else _of_jobs(_faults(store, asked, part.doubles_since), loads),
        loads=loads,
        rejects=store.frame("SELECT name, place, file FROM meta.rejects"),
        by_day=by_day,
        file_days=store.frame(file_days_sql()),
        of_greens=None if greens is None else tuple(greens),
    )


def _of_jobs(faults: pl.DataFrame, loads: pl.DataFrame) -> pl.DataFrame:
    """Faults without the rejected rows of other kinds than jobs: whether these came in since, no job tells."""
    jobs = loads.filter(pl.col("kind") == "job")["load_id"].to_list()
    return faults.filter((pl.col("severity") != "error") | pl.col("load_id").is_in(jobs))


def records_of(store: Store, greens: Sequence[str], whole: Records) -> Records:
    """Records of some greens and their stations alone; faults, loads and registers as in ``whole``, and no plans.

    Jobs that may be one are asked about of the greens that ``whole`` was read with.
    """
    registers = {name: whole.frames[name] for name, kind in KINDS.items() if not _own(kind)}
    return replace(whole, **_records(store, greens, registers), planned=NO_PLANS, of_greens=tuple(greens))


def _own(kind: Kind) -> bool:
    """Whether the records of a kind are a green's or a station's."""
    return kind.of_green or kind.dated


def _registers(store: Store, by_day: Mapping[str, pl.DataFrame], *, whole: bool) -> dict[str, pl.DataFrame]:
    """What is of no green and no day, by kind; of what is to come none, unless the whole is asked for."""
    return {
        name: as_last_said(by_day[name], kind) if name in by_day else _of_no_green(store, kind, whole=whole)
        for name, kind in KINDS.items()
        if not _own(kind)
    }


def _of_no_green(store: Store, kind: Kind, *, whole: bool) -> pl.DataFrame:
    none = "" if whole or not kind.ahead else " WHERE false"
    return store.frame(f'SELECT * FROM "{kind.name}"{none}', by=kind.reading_order)  # noqa: S608 (a name from KINDS)


def _records(
    store: Store, greens: Sequence[str] | None, registers: Mapping[str, pl.DataFrame], part: Part | None = None
) -> dict[str, Any]:
    """Fields of :class:`Records` that hold records: of some greens and their stations where these are named."""

    def own(kind: Kind, table: str) -> pl.DataFrame:
        if part is not None:
            return _in_part(store, kind, table, part)
        return _in_force(store, kind, greens) if table == kind.name else _of(store, "*", table, kind, greens)

    frames = {name: own(kind, name) if _own(kind) else registers[name] for name, kind in KINDS.items()}
    put_on = own(KINDS["job"], "application")
    by_period = {kind.name: frames[kind.name] for kind in KINDS.values() if kind.by_period} | {"application": put_on}
    return {
        "frames": {name: periods.of_a_day(frame) for name, frame in frames.items()},
        "applications": periods.of_a_day(put_on),
        "periods": {name: periods.of_a_period(frame) for name, frame in by_period.items()},
    }


def file_days_sql() -> str:
    """SQL of the first and last day of what is in force of each file that rows were rejected of (grain: file)."""
    every = " UNION ALL ".join(f'SELECT file, date FROM "{kind.name}"' for kind in KINDS.values() if kind.dated)  # noqa: S608
    rejected = "SELECT l.file FROM meta.fault AS f JOIN meta.load AS l ON l.load_id = f.load_id WHERE f.severity = "
    return (
        f"SELECT file, min(date) AS first, max(date) AS last FROM ({every}) "  # noqa: S608 (names from KINDS)
        f"WHERE file IN ({rejected}'error') GROUP BY file"
    )


def _faults(store: Store, greens: Sequence[str] | None, since: date | None = None) -> pl.DataFrame:
    """What was met while loading, and the jobs that may be one: those follow from the records, whatever was loaded."""
    met = store.frame("SELECT f.*, l.file FROM meta.fault AS f JOIN meta.load AS l ON l.load_id = f.load_id")
    return pl.concat([met, as_faults(store, greens, since).cast({"value": pl.String})], how="diagonal").select(
        met.columns
    )


def _in_part(store: Store, kind: Kind, table: str, part: Part) -> pl.DataFrame:
    """Records of a kind of which only a part is asked for; none of a kind that is not."""
    if table in part.sql:
        return store.frame(part.sql[table], by=kind.reading_order, **part.values)
    return store.frame(f'SELECT * FROM "{table}" WHERE false', by=kind.reading_order)  # noqa: S608 (a name from KINDS)


def _in_force(store: Store, kind: Kind, greens: Sequence[str] | None) -> pl.DataFrame:
    """Records of a kind with the fields that figures are made from; pictures are read one by one, where shown.

    Of greens that are named, none of what is to come: no figure asks for it, and it would go with each lot of greens.
    """
    if kind.ahead and greens is not None:
        return store.frame(f'SELECT * FROM "{kind.name}" WHERE false')  # noqa: S608 (a name from KINDS)
    if not (kind.figured or kind.pictured):
        return _of(store, "*", kind.name, kind, greens)
    names = kind.figured or [field.name for field in kind.stored if field.type != "image"]
    return _of(store, ", ".join(f'"{name}"' for name in (*names, "file", "line", "load_id")), kind.name, kind, greens)


def _of(store: Store, columns: str, table: str, kind: Kind, greens: Sequence[str] | None) -> pl.DataFrame:
    """Rows of a table of records of a kind, of some greens and their stations where these are named."""
    sql = f'SELECT {columns} FROM "{table}"'  # noqa: S608 (names from KINDS)
    if greens is None or not _own(kind):
        return store.frame(sql, by=kind.reading_order)
    theirs = among("green", greens, "greens")
    if not kind.of_green:
        where = f"station IN (SELECT station FROM green_by_day WHERE {theirs})"  # noqa: S608 (SQL of ours)
    else:
        where = theirs if kind.by_name["green"].required else f"green IS NULL OR {theirs}"
    return store.frame(f"{sql} WHERE {where}", by=kind.reading_order, greens=list(greens))
