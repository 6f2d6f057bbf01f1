"""The records of one green and season, that its figures are made from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from typing import Any

import polars as pl

from pipeline.common.grouped import grouped
from pipeline.indicators.base import periods
from pipeline.indicators.base.by_kind import ByKind, MadeWhenAsked
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.base.records import Records
from pipeline.indicators.base.shares import ONE_DAYS_WORK, over_full
from pipeline.workspace.method_options import MethodOptions
from pipeline.workspace.settings import Season, Settings, Workspace
from schemas import KINDS, Kind

JOB_OF_LINE = ["load_id", "line", "operation", "material"]
"""What tells a job from the others of its line."""
YEAR = timedelta(days=365)
LATE_LOG_DAYS = 30
"""A log that begins longer than this after the season does tells no whole season: common practice, no source."""


@dataclass(frozen=True)
class _Green:
    """What is about one green, of all years, as :class:`GreenRecords` has it.

    ``held`` is what the register said of it, in order of days; ``last_day`` the last day that a record of its own or of
    its station speaks of, None where there is none.
    """

    held: pl.DataFrame
    last_day: date | None
    frames: Mapping[str, pl.DataFrame]
    applications: pl.DataFrame
    periods: Mapping[str, pl.DataFrame]
    rejected: pl.DataFrame
    planned: pl.DataFrame

    @cached_property
    def held_rows(self) -> list[dict[str, Any]]:
        """``held`` as rows."""
        return self.held.to_dicts()

    @cached_property
    def rejected_rows(self) -> list[dict[str, Any]]:
        """``rejected`` as rows."""
        return self.rejected.to_dicts()

    @cached_property
    def parts_over(self) -> frozenset[tuple[int, int]]:
        """``GreenRecords.parts_over`` of its jobs, which its seasons share."""
        return _parts_over(self.frames["job"])

    def on(self, day: date) -> dict[str, Any]:
        """The row of its register that holds on a day."""
        begun = [row for row in self.held_rows if row["holds_from"] is None or row["holds_from"] <= day]
        return {name: value for name, value in begun[-1].items() if name not in {"holds_from", "holds_until"}}


@dataclass(frozen=True)
class GreenRecords(ByKind):
    """The records of one green, and the season looked at.

    Attributes:
        green: the green's register row, as it held on ``as_of``.
        club: its club's register row.
        season: the season.
        as_of: last day counted: the season's end, or the last day its own or its station's records speak of.
        last_day: the last day its own or its station's records speak of, or they are looked at as of, whatever the
            season.
        frames: by kind, all years: what is about the green, with ``over_m2`` and ``share`` of jobs
            (pipeline/indicators/base/shares.py), and what is about no green; days of its weather station; registers.
        applications: what was put on, all seasons, with the same.
        periods: records of a month or year (jobs, soil tests, ``application``), which are in none of the others.
        settings: the workspace's settings.
        open_warnings: of the whole store (``Records.open_warnings``); figures know theirs by load and line.
        warned: the same by load and line (``Records.warned``).
        targets_by_scope: targets of users, all scopes (``Records.targets_by_scope``).
        material_rows: register rows of materials, by name.
        rejected: rows of the green that are outside the store, of all seasons (``Records.rejected``).
        by_day: what the registers said on which days: of greens this one's rows, of materials all.
        planned: what programmes ask of the green, of all seasons; no figure rests on it.
        own: what is about the green, of all years, which its seasons share.
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
    warned: Mapping[tuple[int, int], Sequence[tuple[str, str]]]
    targets_by_scope: Mapping[tuple[str, str | None], Sequence[tuple[int, dict[str, Any]]]]
    material_rows: Mapping[str, dict[str, Any]]
    rejected: pl.DataFrame
    by_day: Mapping[str, pl.DataFrame]
    planned: pl.DataFrame
    own: _Green

    def green_on(self, day: date) -> dict[str, Any]:
        """The green's register row as it held on a day."""
        return self.own.on(day)

    @property
    def areas(self) -> list[tuple[date | None, float | None]]:
        """The green's areas one after the other, m², each with its first day; None from the start, or if unknown."""
        held = [(row["holds_from"], row["area_m2"]) for row in self.own.held_rows]
        return [one for before, one in zip([None, *held], held, strict=False) if before is None or one[1] != before[1]]

    def of(self, kind: str) -> pl.DataFrame:
        """The records of a kind up to ``as_of``, with ``file``, ``line`` and ``load_id``; also those of a period."""
        rows = self.frames[kind]
        if kind in self.periods:
            rows = pl.concat([rows, self.periods[kind]]).sort("date", "file", "line", maintain_order=True)
        so_far = (periods.LAST if kind in self.periods else pl.col("date")) <= self.as_of
        if kind in KINDS and KINDS[kind].of_green:  # what is about no green has no last day of its own
            so_far |= pl.col("green").is_null() & (pl.col("date") <= self.until)
        return rows.filter(so_far)

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

    def under_warning(self, rows: Iterable[Mapping[str, Any]], *codes: str) -> int:
        """The same of rows that were read out of their frame."""
        asked = (self.warned.get((row["load_id"], row["line"]), ()) for row in rows)
        return sum(any(not codes or code in codes for code, _ in warnings) for warnings in asked)

    def in_question(self, places: Iterable[Evidence]) -> bool:
        """Whether one of these lines stands under an open warning."""
        return any((place.load_id, place.line) in self.warned for place in places)

    @cached_property
    def job_days(self) -> list[date]:
        """Day of each logged job, oldest first; of a period none."""
        return self.jobs["date"].sort().to_list()

    @cached_property
    def parts_over(self) -> frozenset[tuple[int, int]]:
        """Load and line of parts, logged in several files, that come to more than the green.

        Of parts in one file loading warns.
        """
        return self.own.parts_over if self.jobs is self.own.frames["job"] else _parts_over(self.jobs)

    def in_season(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The rows of the season up to ``as_of``."""
        days = frame["date"]
        if not days.is_sorted():
            return frame.filter(pl.col("date").is_between(self.season.start, self.as_of))
        first, after = days.search_sorted(self.season.start, "left"), days.search_sorted(self.as_of, "right")
        return frame.slice(first, max(0, after - first))

    @cached_property
    def whole(self) -> dict[str, pl.DataFrame]:
        """Records of a period that lie wholly in the season up to ``as_of``, under one row of each register.

        Of soil tests those that stand in order among the others, of all seasons.
        """
        if not any(rows.height for rows in self.periods.values()):
            return {name: self.periods[name] for name in ("job", "application", "soil_test")}
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
        jobs = self.periods["job"]
        return jobs.filter((pl.col("date") <= last) & (pl.col("date_to") >= first)) if jobs.height else jobs

    @property
    def until(self) -> date:
        """The last day looked at: the season's, whatever is recorded up to it, but for a look at an earlier day."""
        return self.season.end if self.as_of >= self.last_day else self.as_of

    @cached_property
    def rejected_here(self) -> list[dict[str, Any]]:
        """Rows in no figure that may be of this season up to ``as_of``: rejected ones, and jobs of a period.

        A rejected row whose day nothing tells may be of any; a job that lies wholly in the season is in its totals.
        """
        since, until = self.season.start, self.until
        here = [
            row
            for row in self.own.rejected_rows
            if row["first"] is None or row["last"] is None or (row["first"] <= until and row["last"] >= since)
        ]
        out = self.may_be_of(since, until)
        if not out.height:
            return here
        out = out.join(self.whole["job"], on=JOB_OF_LINE, how="anti", nulls_equal=True, maintain_order="left")
        return [*here, *periods.as_outside(out, self.materials).to_dicts()]

    @cached_property
    def rows_left_out(self) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
        """Rows that totals of the season lack, in order of file and line: of those that need no day, and the others.

        Jobs of the season's totals whose day is not known are among the others, in the form of rejected rows.
        """
        undated = periods.as_outside(self.whole["job"], self.materials).to_dicts()
        of_days = sorted([*self.rejected_here, *undated], key=lambda row: (row["file"], row["line"]))
        return self.rejected_here, of_days

    @cached_property
    def rows_of_periods(self) -> list[dict[str, Any]]:
        """Jobs of a period of the season and the year before it, in the form of rejected rows."""
        if not self.periods["job"].height:
            return []
        jobs = self.may_be_of(self.season.start - YEAR, self.as_of)
        return periods.as_outside(jobs, self.materials).to_dicts() if jobs.height else []

    @cached_property
    def own_targets(self) -> dict[str, list[dict[str, Any]]]:
        """Targets of users by indicator, those of other greens, clubs and regions left out."""
        scopes = {*self.scope_names.items(), ("standard", None)}
        held = [numbered for scope in scopes for numbered in self.targets_by_scope.get(scope, ())]
        rows = (row for _, row in sorted(held, key=lambda numbered: numbered[0]))
        return grouped(rows, lambda row: str(row["indicator"]))

    @cached_property
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

    @cached_property
    def first_logged(self) -> date | None:
        """Day by which the green's first job was done, of those on record."""
        days = [self.jobs["date"].min(), self.periods["job"]["date_to"].min()]
        return min((day for day in days if isinstance(day, date)), default=None)

    @property
    def scope_names(self) -> dict[str, str | None]:
        """What green, club and region are called in a target's scope, narrowest first; None without a region."""
        return {"green": self.green["green"], "club": self.club["club"], "region": self.club["region"]}

    @property
    def names(self) -> dict[str, str]:
        """What the green and its club are called, on ``as_of``; the code of a green without a name."""
        return {
            "green_name": self.green["name"] or self.green["green"],
            "club": self.club["club"],
            "club_name": self.club["name"],
        }

    @property
    def options(self) -> MethodOptions:
        """Method options of the workspace, where opinion differs."""
        return self.settings.method_options

    @property
    def area_m2(self) -> float | None:
        """The green's measured area on ``as_of``."""
        area = self.green["area_m2"]
        return None if area is None else float(area)


def _parts_over(jobs: pl.DataFrame) -> frozenset[tuple[int, int]]:
    over = over_full(jobs.select(*ONE_DAYS_WORK, "share", "file", "load_id", "line"))
    if not over.height:
        return frozenset()
    over = over.filter(pl.col("file").n_unique().over(ONE_DAYS_WORK) > 1)
    return frozenset(over.select("load_id", "line").iter_rows())


def green_records(
    records: Records, green: str, season: Season, workspace: Workspace, as_of: date | None = None
) -> GreenRecords:
    """The records of one green for one season; ``as_of`` where it is looked at as it was on another day than its last.

    The last day counted is the season's last, once a record of the green or of its station lies on or past it; else the
    last day that one of these speaks of. No other green's records move it. Of records looked at as of a day
    (``Records.look``) that day stands in the place of the last one they speak of.

    What the register says of the green is what held on that day; the share of a job is of the area on the job's day.
    """
    own = _looked_at(records, green)
    last = records.look.as_of or own.last_day or season.end
    day = as_of or season.last_counted(last)
    row = own.on(day)
    return GreenRecords(
        green=row,
        club=records.club(row["club"]),
        season=season,
        as_of=day,
        last_day=last,
        frames=own.frames,
        applications=own.applications,
        periods=own.periods,
        settings=workspace.settings,
        open_warnings=records.open_warnings,
        warned=records.warned,
        targets_by_scope=records.targets_by_scope,
        material_rows=records.material_rows,
        rejected=own.rejected,
        by_day={**records.by_day, "green": own.held},
        planned=own.planned,
        own=own,
    )


def _looked_at(records: Records, green: str) -> _Green:
    """What is about a green, kept until another is looked at."""
    if green not in records.looked_at:
        records.looked_at.clear()
        records.looked_at[green] = _green_of(records, green)
    found: _Green = records.looked_at[green]
    return found


def _green_of(records: Records, green: str) -> _Green:
    """What is about a green, of all years."""
    held = records.by_green("held").of(green)
    frames = MadeWhenAsked(lambda kind: _about(records, KINDS[kind], green, held))
    of_period = records.periods_of(green)
    return _Green(
        held=held,
        last_day=_last_day(records, green, frames, of_period),
        frames=frames,
        applications=records.of_green(green, "application"),
        periods=of_period,
        rejected=records.by_green("rejected").of(green),
        planned=records.by_green("planned").of(green),
    )


def _last_day(
    records: Records, green: str, frames: Mapping[str, pl.DataFrame], of_period: Mapping[str, pl.DataFrame]
) -> date | None:
    """The last day that records of a green, or of its station, speak of."""
    if records.last_days is not None:
        return records.last_days.get(green)
    days: list[object] = []
    for kind in KINDS.values():
        if not kind.attached:
            continue
        if kind.of_green:
            days.append(_about_green(frames[kind.name])["date"].max())
            days += [records.last_of_periods(of_period[kind.name])] if kind.name in of_period else []
        elif kind.dated and not kind.of_green:
            days.append(frames[kind.name]["date"].max())
    return max((day for day in days if isinstance(day, date)), default=None)


def _about_green(rows: pl.DataFrame) -> pl.DataFrame:
    """Those of a green's records that are about no material."""
    return rows.filter(pl.col("green").is_not_null()) if rows["green"].null_count() else rows


def on_day(held: pl.DataFrame, field: str) -> pl.Expr:
    """A field of a register as it held on ``date``; ``held`` are its rows of one thing, in order of days."""
    first, *later = held.select("holds_from", field).iter_rows()
    found = pl.lit(first[1], dtype=held.schema[field])
    for day, value in later:
        found = pl.when(pl.col("date") >= day).then(pl.lit(value, dtype=held.schema[field])).otherwise(found)
    return found


def _about(records: Records, kind: Kind, green: str, held: pl.DataFrame) -> pl.DataFrame:
    """The records of a kind that are about a green, or of the station that stood for it on their day."""
    if kind.of_green:
        return records.of_green(green, kind.name)
    if not kind.dated:
        return records.frames[kind.name]
    stations = held["station"].unique(maintain_order=True).to_list()
    if len(stations) == 1:
        return records.of_station(stations[0], kind.name)
    rows = pl.concat([records.of_station(station, kind.name) for station in stations])
    return rows.filter(pl.col("station") == on_day(held, "station")).sort("date", maintain_order=True)
