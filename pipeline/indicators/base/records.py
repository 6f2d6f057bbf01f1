"""The records indicators are made from: all of them, and those of one green."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence, Sized
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

import polars as pl

from pipeline.common.closest import as_known
from pipeline.indicators.base import periods
from pipeline.indicators.base.by_green import BY_DAY, ByGreen, by_green, shared
from pipeline.indicators.base.by_kind import ByKind
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.part import Part
from pipeline.indicators.base.rejected import rejected_rows
from pipeline.store.doubles import as_faults
from pipeline.store.planned import planned_rows
from pipeline.store.register import aliases_of
from pipeline.store.sql_text import among
from pipeline.store.store import Store, as_last_said
from pipeline.workspace.settings import Season, Workspace
from schemas import AHEAD, KINDS, Kind

Made = TypeVar("Made")
QUESTION_NO_VALUE = (
    "amount.unknown", "bytes.encodings_mixed", "construction.twice", "construction.unknown", "load.closed",
    "load.goes_back", "load.not_closed", "load.one_call", "load.superseded_copy", "read.header_only",
    "record.said_twice", "reference.material", "text.spellings", "text.too_long",
)  # fmt: skip
"""Warnings that question no value of their line: figures that rest on it carry no mark."""


@dataclass(frozen=True)
class Records(ByKind):
    """Every record in force, read once.

    Attributes:
        frames: records by kind with ``file``, ``line`` and ``load_id``, in the order of the kind; no pictures. Of a
            kind that may be known to the month or year only, those of a day.
        applications: jobs that put something on, resolved to mass or volume (view ``application``); those of a day.
        periods: the others, by kind, and ``application``.
        faults: faults met while loading, and likely doubles, with their file.
        loads: every load.
        rejects: files of rejected rows, and whose rows they hold.
        file_days: first and last day of what files with rejected rows brought.
        by_day: what registers said on which days (``Store.registers_by_day``); among ``frames`` each thing stands once,
            as its last row says.
        planned: planned works in force, each of one green (``pipeline.store.planned``); no figure rests on them.
        look: as what they are looked at; none of a later day is among them.
        of_greens: the greens they were read of; None for all.
        last_days: of each green the last day that its records or its station's speak of, where they were read in part
            and this of all of them (``pipeline.store.last_day``); None: it is told by the records here.
    """

    frames: Mapping[str, pl.DataFrame]
    applications: pl.DataFrame
    periods: Mapping[str, pl.DataFrame]
    faults: pl.DataFrame
    loads: pl.DataFrame
    rejects: pl.DataFrame
    file_days: pl.DataFrame
    by_day: Mapping[str, pl.DataFrame]
    planned: pl.DataFrame
    look: Look = ORDINARY
    of_greens: tuple[str, ...] | None = None
    last_days: Mapping[str, date] | None = None

    @property
    def clubs(self) -> pl.DataFrame:
        """Register of clubs."""
        return self.frames["club"]

    @property
    def greens(self) -> pl.DataFrame:
        """Register of greens, one row each, as its last row says."""
        return self.frames["green"]

    def greens_named(self, names: Iterable[str]) -> list[str]:
        """Codes of the greens of these names, in any case: codes, or aliases of the register.

        Raises:
            WrongUsage: one is none of the register's.
        """
        return as_known("green", names, set(self.greens["green"]), aliases_of(self.greens))

    @cached_property
    def last_day(self) -> date | None:
        """Latest day any record speaks of that a figure may rest on; None where there is none."""
        kinds = [kind.name for kind in KINDS.values() if kind.of_green and kind.attached]
        days: list[object] = [self.frames[name]["date"].max() for name in kinds if self.frames[name].height]
        days += [self.last_of_periods(self.periods[name]) for name in kinds if name in self.periods]
        return max((day for day in days if isinstance(day, date)), default=None)

    def last_of_periods(self, rows: pl.DataFrame) -> object:
        """The latest day that records of a period speak of: the last of one that was over when it was loaded."""
        loads = self.loads.select("load_id", pl.col("loaded_at").dt.date().alias("loaded"))
        known = rows.select("load_id", "date", "date_to").join(loads, on="load_id", how="left", maintain_order="left")
        over = pl.col("date_to") <= pl.col("loaded")
        return known.select(pl.when(over).then("date_to").otherwise("date").max()).item()

    @cached_property
    def warnings(self) -> pl.DataFrame:
        """Warnings that stand, each at the file, load and line of the record it is about.

        A warning follows its record, whatever else is loaded under the file's name since, until a load sees the record
        again or somebody confirms its cell (``settled_by``, written by pipeline/load/ledger.py).
        """
        own = self.faults.filter(
            (pl.col("severity") == "warning") & pl.col("settled_by").is_null() & pl.col("line").is_not_null()
        )
        held = own.with_columns(load_id="of_load", line="of_line").drop("file").drop_nulls("load_id")
        held = held.join(self.loads.select("load_id", "file"), on="load_id", how="left", maintain_order="left")
        return pl.concat([own, held.select(own.columns)])

    @cached_property
    def open_warnings(self) -> pl.DataFrame:
        """Those of the warnings that question a value: ``load_id``, ``line``, ``file``, ``code``, ``message``.

        Those on files and names, and those that only tell that something is missing, question none.
        """
        asking = self.warnings.filter(~pl.col("code").is_in(QUESTION_NO_VALUE))
        columns = ("load_id", "line", "file", "code", "message")
        return asking.select(columns).unique().sort("file", "line", "load_id", "code", "message", maintain_order=True)

    @cached_property
    def rejected(self) -> pl.DataFrame:
        """Rows of greens that were rejected and are still outside the store (pipeline/indicators/base/rejected.py)."""
        every = {name: pl.concat([self.frames[name], rows]) for name, rows in self.periods.items() if name in KINDS}
        days = {file: (first, last) for file, first, last in self.file_days.iter_rows()}
        frames = {**self.frames, **every, **self.by_day}
        found = rejected_rows(frames, days, self.faults, self.loads, self.rejects, self.of_greens)
        if self.look.as_of is None:
            return found
        return found.filter((pl.col("first") <= self.look.as_of) | pl.any_horizontal(pl.col("first", "last").is_null()))

    def by_green(self, name: str) -> ByGreen:
        """What of one sort is about each green, in order of date, file and line, made when it is first looked at.

        Args:
            name: a kind, ``application``, either with " of a period" (jobs with their share of the green), ``rejected``
                (no row of what is to come), ``planned``, or ``held``, what the register said of greens by day.
        """
        if name not in self._by_green:
            self._by_green[name] = self._parted(name)
        return self._by_green[name]

    @cached_property
    def _by_green(self) -> dict[str, ByGreen]:
        return {}

    def _parted(self, name: str) -> ByGreen:
        match name:
            case "held":
                return by_green(self.by_day["green"], "holds_from")
            case "planned":
                return by_green(self.planned)
            case "rejected":
                return by_green(self.rejected.filter(~pl.col("kind").is_in(AHEAD)))
        kind = name.removesuffix(" of a period")
        of_a_day = self.applications if kind == "application" else self.frames[kind]
        parted = by_green(of_a_day if kind == name else self.periods[kind], *BY_DAY)
        return shared(parted, self.by_green("held").rows) if kind in ("job", "application") else parted

    def of_green(self, green: str, kind: str) -> pl.DataFrame:
        """The green's records of a kind (or its ``application``), in order of date, file and line.

        Of a kind whose records may be about no green (a dressing's sieve analysis), these too, in the kind's order.
        """
        if kind in KINDS and not KINDS[kind].by_name["green"].required:
            return self.frames[kind].filter(pl.col("green").is_null() | (pl.col("green") == green))
        return self.by_green(kind).of(green)

    def periods_of(self, green: str) -> dict[str, pl.DataFrame]:
        """The green's records of a month or year, by kind and ``application``, in order of date, file and line."""
        return {name: self.by_green(f"{name} of a period").of(green) for name in self.periods}

    @cached_property
    def _of_stations(self) -> dict[str, dict[tuple[Any, ...], pl.DataFrame]]:
        kinds = [kind.name for kind in KINDS.values() if kind.dated and not kind.of_green]
        return {
            name: self.frames[name].sort("date", maintain_order=True).partition_by("station", as_dict=True)
            for name in kinds
        }

    def of_station(self, station: str | None, kind: str) -> pl.DataFrame:
        """The station's records of a kind in order of days; none where no station is named."""
        rows = self._of_stations[kind].get((station,)) if station is not None else None
        return self.frames[kind].clear() if rows is None else rows

    @cached_property
    def warned(self) -> dict[tuple[int, int], list[tuple[str, str]]]:
        """Load and line of everything under an open warning → the warnings, each with its code and message."""
        found: dict[tuple[int, int], list[tuple[str, str]]] = {}
        for load_id, line, code, message in self.open_warnings.select("load_id", "line", "code", "message").iter_rows():
            found.setdefault((load_id, line), []).append((code, message))
        return found

    @cached_property
    def _club_rows(self) -> dict[str, dict[str, Any]]:
        return {row["club"]: row for row in self.clubs.iter_rows(named=True)}

    def club(self, code: str) -> dict[str, Any]:
        """A club's register row."""
        return self._club_rows[code]

    def once(self, made: Callable[[Records], Made]) -> Made:
        """What a function makes of all of them, made once for all who ask."""
        if made not in self._once:
            self._once[made] = made(self)
        return self._once[made]  # type: ignore[no-any-return]

    @cached_property
    def _once(self) -> dict[Callable[[Records], Any], Any]:
        return {}

    @cached_property
    def looked_at(self) -> dict[str, Any]:
        """What is about the green looked at last: its seasons share it (pipeline/indicators/base/green_records.py)."""
        return {}


def evidence(rows: pl.DataFrame, kind: str) -> tuple[Evidence, ...]:
    """The lines of the users' files behind these rows."""
    places = sorted(set(zip(rows["file"], rows["line"], rows["load_id"], strict=True)))
    return tuple(Evidence(file, line, kind, load_id) for file, line, load_id in places)


def lacking(every: Sized | int, known: Sized | int, what: str) -> str:
    """How many rows are not among the known ones, and what of it: "2 of 9 jobs give no cost"; "" where all are."""
    count, of_them = (rows if isinstance(rows, int) else len(rows) for rows in (every, known))
    return f"{count - of_them} of {count} {what}" if count > of_them else ""


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


def part_of(records: Records, greens: Sequence[str]) -> Records:
    """Records of some of the greens they were read of, and of their stations, alone."""
    theirs = pl.col("green").is_null() | pl.col("green").is_in(greens)
    stations = records.by_day["green"].filter(theirs)["station"].to_list()
    of_stations = pl.col("station").is_in(stations)

    def part(kind: Kind) -> pl.DataFrame:
        frame = records.frames[kind.name]
        return frame.filter(theirs) if kind.of_green else frame.filter(of_stations) if kind.dated else frame

    return replace(
        records,
        frames={name: part(kind) for name, kind in KINDS.items()},
        applications=records.applications.filter(theirs),
        periods={name: frame.filter(theirs) for name, frame in records.periods.items()},
        planned=records.planned.filter(theirs),
        of_greens=tuple(greens),
    )


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


def latest_season(records: Records, workspace: Workspace) -> Season | None:
    """The season that most of the last year's records fall in; None where the store holds no dated record."""
    return None if records.last_day is None else workspace.season_in_hand(records.last_day)
