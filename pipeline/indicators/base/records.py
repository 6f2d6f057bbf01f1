"""The records indicators are made from: all of them, and those of one green."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

import polars as pl

from pipeline.indicators.base import periods
from pipeline.indicators.base.by_kind import ByKind
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.base.rejected import rejected_rows
from pipeline.indicators.base.shares import ONE_DAYS_WORK, over_full, with_share
from pipeline.store.doubles import as_faults
from pipeline.store.store import Store
from pipeline.workspace.method_options import MethodOptions
from pipeline.workspace.settings import Season, Settings, Workspace
from schemas import KINDS, Kind

QUESTION_NO_VALUE = (
    "amount.unknown", "bytes.encodings_mixed", "construction.twice", "construction.unknown", "load.closed",
    "load.goes_back", "load.not_closed", "load.one_call", "load.superseded_copy", "read.header_only",
    "record.said_twice", "reference.material", "text.spellings", "text.too_long",
)  # fmt: skip
"""Warnings that question no value of their line: figures that rest on it carry no mark."""


JOB_OF_LINE = ["load_id", "line", "operation", "material"]
"""What tells a job from the others of its line."""
LATE_LOG_DAYS = 30
"""A log that begins longer than this after the season does tells no whole season: common practice, no source."""


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
        by_day: what registers said on which days (``Store.registers_by_day``); among ``frames`` each thing stands once,
            as its last row says.
    """

    frames: Mapping[str, pl.DataFrame]
    applications: pl.DataFrame
    periods: Mapping[str, pl.DataFrame]
    faults: pl.DataFrame
    loads: pl.DataFrame
    rejects: pl.DataFrame
    by_day: Mapping[str, pl.DataFrame]

    @property
    def clubs(self) -> pl.DataFrame:
        """Register of clubs."""
        return self.frames["club"]

    @property
    def greens(self) -> pl.DataFrame:
        """Register of greens, one row each, as its last row says."""
        return self.frames["green"]

    @cached_property
    def last_day(self) -> date | None:
        """Latest day any record speaks of that a figure may rest on; None where there is none."""
        kinds = [kind.name for kind in KINDS.values() if kind.of_green and kind.attached]
        days: list[object] = [self.frames[name]["date"].max() for name in kinds if self.frames[name].height]
        days += [self._last_of_periods(self.periods[name]) for name in kinds if name in self.periods]
        return max((day for day in days if isinstance(day, date)), default=None)

    def _last_of_periods(self, rows: pl.DataFrame) -> object:
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
        return rejected_rows({**self.frames, **every, **self.by_day}, self.faults, self.loads, self.rejects)

    @cached_property
    def _parts(self) -> dict[str, dict[tuple[Any, ...], pl.DataFrame]]:
        frames = {kind.name: self.frames[kind.name] for kind in KINDS.values() if kind.of_green}
        frames["application"] = self.applications
        frames |= {f"{name} of a period": rows for name, rows in self.periods.items()}
        return {name: frame.partition_by("green", as_dict=True) for name, frame in frames.items()}

    def of_green(self, green: str, kind: str) -> pl.DataFrame:
        """The green's records of a kind (or its ``application``), in order of date, file and line.

        Of a kind whose records may be about no green (a dressing's sieve analysis), these too, in the kind's order.
        """
        if kind in KINDS and not KINDS[kind].by_name["green"].required:
            return self.frames[kind].filter(pl.col("green").is_null() | (pl.col("green") == green))
        part = self._parts[kind].get((green,))
        if part is None:
            part = next(iter(self._parts[kind].values()), self._empty(kind)).clear()
        return part.sort("date", "file", "line", maintain_order=True)

    def _empty(self, kind: str) -> pl.DataFrame:
        name = kind.removesuffix(" of a period")
        return (self.applications if name == "application" else self.frames[name]).clear()

    def periods_of(self, green: str) -> dict[str, pl.DataFrame]:
        """The green's records of a month or year, by kind and ``application``, in order of date, file and line."""
        return {name: self.of_green(green, f"{name} of a period") for name in self.periods}

    def of_station(self, station: str | None, kind: str) -> pl.DataFrame:
        """The station's records of a kind in order of days; none where no station is named."""
        rows = self.frames[kind].filter(pl.col("station") == pl.lit(station, dtype=pl.String))
        return rows.sort("date", maintain_order=True)


@dataclass(frozen=True)
class GreenRecords(ByKind):
    """The records of one green, and the season looked at.

    Attributes:
        green: the green's register row, as it held on ``as_of``.
        club: its club's register row.
        season: the season.
        as_of: last day counted: the season's end, or the last day any record in the store speaks of.
        last_day: the last day any record in the store speaks of, whatever the season.
        frames: by kind, all years: what is about the green, with ``over_m2`` and ``share`` of jobs
            (pipeline/indicators/base/shares.py), and what is about no green; days of its weather station; registers.
        applications: what was put on, all seasons, with the same.
        periods: records of a month or year (jobs, soil tests, ``application``), which are in none of the others.
        settings: the workspace's settings.
        open_warnings: of the whole store (``Records.open_warnings``); figures know theirs by load and line.
        rejected: rows of the green that are outside the store, of all seasons (``Records.rejected``).
        by_day: what the registers said on which days: of greens this one's rows, of materials all.
    """

    green: dict[str, Any]
    club: dict[str, Any]
    season: Season
    as_of: date
    last_day: date
    frames: Mapping[str, pl.DataFrame]
    applications: pl.DataFrame
    periods: Mapping[str, pl.DataFrame]
    settings: Settings
    open_warnings: pl.DataFrame
    rejected: pl.DataFrame
    by_day: Mapping[str, pl.DataFrame]

    def green_on(self, day: date) -> dict[str, Any]:
        """The green's register row as it held on a day."""
        return _held_on(self.by_day["green"], day)

    @property
    def areas(self) -> list[tuple[date | None, float | None]]:
        """The green's areas one after the other, m², each with its first day; None from the start, or if unknown."""
        rows = self.by_day["green"].select("holds_from", "area_m2")
        changed = pl.col("area_m2").ne_missing(pl.col("area_m2").shift()) | (pl.int_range(pl.len()) == 0)
        return list(rows.filter(changed).iter_rows())

    def of(self, kind: str) -> pl.DataFrame:
        """The records of a kind up to ``as_of``, with ``file``, ``line`` and ``load_id``; also those of a period."""
        rows = self.frames[kind]
        if kind in self.periods:
            rows = pl.concat([rows, self.periods[kind]]).sort("date", "file", "line", maintain_order=True)
        return rows.filter((periods.LAST if kind in self.periods else pl.col("date")) <= self.as_of)

    def having(self, **frames: pl.DataFrame) -> GreenRecords:
        """The same with other records of these kinds."""
        return replace(self, frames={**self.frames, **frames})

    def asked(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Those of these records that stand under an open warning."""
        return rows.join(self.open_warnings, on=["load_id", "line"], how="semi", maintain_order="left")

    def asked_about(self, rows: pl.DataFrame, *codes: str) -> int:
        """How many of these records stand under an open warning, or under one of these codes."""
        asked = self.open_warnings.filter(pl.col("code").is_in(codes)) if codes else self.open_warnings
        return rows.join(asked, on=["load_id", "line"], how="semi", maintain_order="left").height

    @cached_property
    def asked_lines(self) -> frozenset[tuple[int, int]]:
        """Load and line of everything under an open warning."""
        return frozenset(self.open_warnings.select("load_id", "line").iter_rows())

    @cached_property
    def parts_over(self) -> frozenset[tuple[int, int]]:
        """Load and line of parts, logged in several files, that come to more than the green.

        Of parts in one file loading warns.
        """
        over = over_full(self.jobs).filter(pl.col("file").n_unique().over(ONE_DAYS_WORK) > 1)
        return frozenset(over.select("load_id", "line").iter_rows())

    def in_season(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The rows of the season up to ``as_of``."""
        return frame.filter(pl.col("date").is_between(self.season.start, self.as_of))

    @cached_property
    def whole(self) -> dict[str, pl.DataFrame]:
        """Records of a period that lie wholly in the season up to ``as_of``, under one row of each register.

        Of soil tests those that stand in order among the others, of all seasons.
        """
        jobs = self.periods["job"].filter(periods.within(self.periods["job"], self.season, self.as_of))
        jobs = jobs.filter(periods.one_row_holds(self.by_day, jobs))
        put_on = self.periods["application"].join(
            jobs, on=JOB_OF_LINE, how="semi", nulls_equal=True, maintain_order="left"
        )
        tests = periods.placed(self.soil, self.periods["soil_test"], self.as_of)
        return {"job": jobs, "application": put_on, "soil_test": tests}

    @cached_property
    def counting(self) -> GreenRecords:
        """The same with ``whole`` among the records: for figures that are the same whichever day those were of."""
        if not any(rows.height for rows in self.whole.values()):
            return self
        order = ("date", "file", "line")
        every = {
            name: pl.concat([self.applications if name == "application" else self.frames[name], rows]).sort(
                order, maintain_order=True
            )
            for name, rows in self.whole.items()
        }
        left = {
            name: rows.join(self.whole[name], on=JOB_OF_LINE if name != "soil_test" else list(rows.columns), how="anti",
                            nulls_equal=True, maintain_order="left")
            for name, rows in self.periods.items()
        }  # fmt: skip
        counted = self.having(job=every["job"], soil_test=every["soil_test"])
        return replace(counted, applications=every["application"], periods=left)

    def may_be_of(self, first: date, last: date) -> pl.DataFrame:
        """Jobs of a period that may be of these days."""
        return self.periods["job"].filter((pl.col("date") <= last) & (pl.col("date_to") >= first))

    @cached_property
    def rejected_here(self) -> pl.DataFrame:
        """Rows in no figure that may be of this season up to ``as_of``: rejected ones, and jobs of a period.

        A rejected row whose day nothing tells may be of any; a job that lies wholly in the season is in its totals.
        """
        until = self.season.end if self.as_of >= self.last_day else self.as_of
        whenever = pl.col("first").is_null() | pl.col("last").is_null()
        here = self.rejected.filter(whenever | ((pl.col("first") <= until) & (pl.col("last") >= self.season.start)))
        out = self.may_be_of(self.season.start, until)
        out = out.join(self.whole["job"], on=JOB_OF_LINE, how="anti", nulls_equal=True, maintain_order="left")
        return pl.concat([here, periods.as_outside(out, self.materials)])

    @cached_property
    def undated(self) -> pl.DataFrame:
        """Jobs of the season's totals that figures which need the day leave out, in the form of rejected rows."""
        return periods.as_outside(self.whole["job"], self.materials)

    @property
    def log_begins(self) -> date | None:
        """The green's first job on record, where it lies late in this season; None where the log was kept before.

        Of a job of a period it is the last day: by then the log had begun.
        Of a green laid within the season nothing could be logged before.
        """
        first = self.first_logged
        laid = self.green["laid_by"] or self.green["laid_on"] or self.season.start
        if first is None or first > self.as_of:
            return None
        return first if (first - max(self.season.start, laid)).days > LATE_LOG_DAYS else None

    @property
    def first_logged(self) -> date | None:
        """Day by which the green's first job was done, of those on record."""
        days = [self.jobs["date"].min(), self.periods["job"]["date_to"].min()]
        return min((day for day in days if isinstance(day, date)), default=None)

    @property
    def scope_names(self) -> dict[str, str | None]:
        """What green, club and region are called in a target's scope, narrowest first; None without a region."""
        return {"green": self.green["green"], "club": self.club["club"], "region": self.club["region"]}

    @property
    def options(self) -> MethodOptions:
        """Method options of the workspace, where opinion differs."""
        return self.settings.method_options

    @property
    def area_m2(self) -> float | None:
        """The green's measured area on ``as_of``."""
        area = self.green["area_m2"]
        return None if area is None else float(area)


def evidence(rows: pl.DataFrame, kind: str) -> tuple[Evidence, ...]:
    """The lines of the users' files behind these rows."""
    if not rows.height:
        return ()
    places = rows.select("file", "line", "load_id").unique().sort("file", "line", "load_id", maintain_order=True)
    return tuple(Evidence(file, line, kind, load_id) for file, line, load_id in places.iter_rows())


def lacking(every: pl.DataFrame, known: pl.DataFrame, what: str) -> str:
    """How many rows are not among the known ones, and what of it: "2 of 9 jobs give no cost"; "" where all are."""
    gap = every.height - known.height
    return f"{gap} of {every.height} {what}" if gap else ""


def read_records(store: Store) -> Records:
    """Every record in force in the store."""
    frames = {kind.name: _in_force(store, kind) for kind in KINDS.values()}
    put_on = store.frame("SELECT * FROM application", by=KINDS["job"].reading_order)
    by_period = {kind.name: frames[kind.name] for kind in KINDS.values() if kind.by_period} | {"application": put_on}
    return Records(
        frames={name: periods.of_a_day(frame) for name, frame in frames.items()},
        applications=periods.of_a_day(put_on),
        periods={name: periods.of_a_period(frame) for name, frame in by_period.items()},
        faults=_faults(store),
        loads=store.frame("SELECT * FROM meta.load"),
        rejects=store.frame("SELECT name, place, file FROM meta.rejects"),
        by_day=store.registers_by_day(),
    )


def _faults(store: Store) -> pl.DataFrame:
    """What was met while loading, and the jobs that may be one: those follow from the records, whatever was loaded."""
    met = store.frame("SELECT f.*, l.file FROM meta.fault AS f JOIN meta.load AS l ON l.load_id = f.load_id")
    return pl.concat([met, as_faults(store).cast({"value": pl.String})], how="diagonal").select(met.columns)


def _in_force(store: Store, kind: Kind) -> pl.DataFrame:
    """Records of a kind with the fields that figures are made from; pictures are read one by one, where shown."""
    if not (kind.figured or kind.pictured):
        return store.current(kind.name)
    names = kind.figured or [field.name for field in kind.stored if field.type != "image"]
    columns = ", ".join(f'"{name}"' for name in (*names, "file", "line", "load_id"))
    return store.frame(f'SELECT {columns} FROM "{kind.name}"', by=kind.reading_order)  # noqa: S608 (names from KINDS)


def green_records(
    records: Records, green: str, season: Season, workspace: Workspace, as_of: date | None = None
) -> GreenRecords:
    """The records of one green for one season; ``as_of`` where it is looked at as it was on another day than its last.

    What the register says of the green is what held on that day; the share of a job is of the area on the job's day.
    """
    last = records.last_day or season.end
    day = as_of or max(season.start, min(season.end, last))
    held = records.by_day["green"].filter(pl.col("green") == green).sort("holds_from", maintain_order=True)
    row = _held_on(held, day)
    club = records.clubs.filter(pl.col("club") == row["club"]).row(0, named=True)
    frames = {kind.name: _of(records, kind, green, held) for kind in KINDS.values()}
    area = _on_day(held, "area_m2")
    frames["job"] = with_share(frames["job"], area)
    known = records.periods_of(green)
    return GreenRecords(
        green=row,
        club=club,
        season=season,
        as_of=day,
        last_day=last,
        frames=frames,
        applications=with_share(records.of_green(green, "application"), area),
        periods={name: rows if name == "soil_test" else with_share(rows, area) for name, rows in known.items()},
        settings=workspace.settings,
        open_warnings=records.open_warnings,
        rejected=records.rejected.filter(pl.col("green") == green),
        by_day={**records.by_day, "green": held},
    )


def _held_on(held: pl.DataFrame, day: date) -> dict[str, Any]:
    """The row of a register that holds on a day."""
    row = held.filter((pl.col("holds_from") <= day) | pl.col("holds_from").is_null()).row(-1, named=True)
    return {name: value for name, value in row.items() if name not in {"holds_from", "holds_until"}}


def _on_day(held: pl.DataFrame, field: str) -> pl.Expr:
    """A field of a register as it held on ``date``."""
    first, *later = held.select("holds_from", field).iter_rows()
    found = pl.lit(first[1], dtype=held.schema[field])
    for day, value in later:
        found = pl.when(pl.col("date") >= day).then(pl.lit(value, dtype=held.schema[field])).otherwise(found)
    return found


def _of(records: Records, kind: Kind, green: str, held: pl.DataFrame) -> pl.DataFrame:
    """The records of a kind that are about a green, or of the station that stood for it on their day."""
    if kind.of_green:
        return records.of_green(green, kind.name)
    if not kind.dated:
        return records.frames[kind.name]
    stations = held["station"].unique(maintain_order=True)
    rows = pl.concat([records.of_station(station, kind.name) for station in stations])
    return rows.filter(pl.col("station") == _on_day(held, "station")).sort("date", maintain_order=True)


def latest_season(records: Records, workspace: Workspace) -> Season | None:
    """The season that most of the last year's records fall in; None where the store holds no dated record.

    A county's log runs a few weeks into the new season when reports are asked for. The season in hand is the one of
    the last day, unless it has begun less than sixty days before: then the one just ended.
    """
    last = records.last_day
    if last is None:
        return None
    season = workspace.season_of(last)
    if (last - season.start).days < 60:
        return workspace.season_of(date.fromordinal(season.start.toordinal() - 1))
    return season
