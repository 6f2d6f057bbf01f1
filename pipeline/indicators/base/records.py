"""The records indicators are made from: all of them, and those of one green."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

import polars as pl

from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.base.shares import with_share
from pipeline.store.store import Store
from pipeline.workspace.method_options import MethodOptions
from pipeline.workspace.settings import Season, Settings, Workspace
from schemas import KINDS

LEVEL_COLUMNS = "date, green, survey, x_m, y_m, z_mm, accuracy_mm, instrument, benchmark, file, line, load_id"
"""What is read of levels: they are by far the most rows, and figures need no more of them."""


@dataclass(frozen=True)
class Records:
    """Every record in force, read once.

    Attributes:
        clubs: register of clubs.
        greens: register of greens.
        jobs: job log with ``file`` and ``line``.
        applications: jobs that put something on, resolved to mass or volume (view ``application``).
        soil: soil tests.
        speeds: green speeds.
        observations: what was measured and counted on visits.
        sieves: sieve analyses, of root zones and of materials.
        levels: surveyed points.
        materials: register of materials.
        targets: targets set by users.
        weather: weather by day of every station.
        faults: faults met while loading, with their file.
        loads: every load.
        rejects: files of rejected rows, and whose rows they hold.
    """

    clubs: pl.DataFrame
    greens: pl.DataFrame
    jobs: pl.DataFrame
    applications: pl.DataFrame
    soil: pl.DataFrame
    speeds: pl.DataFrame
    observations: pl.DataFrame
    sieves: pl.DataFrame
    levels: pl.DataFrame
    materials: pl.DataFrame
    targets: pl.DataFrame
    weather: pl.DataFrame
    faults: pl.DataFrame
    loads: pl.DataFrame
    rejects: pl.DataFrame

    @cached_property
    def last_day(self) -> date | None:
        """Latest day any record speaks of; None where there is none."""
        frames = (self.jobs, self.soil, self.speeds, self.observations, self.sieves, self.levels)
        days = [frame["date"].max() for frame in frames if frame.height]
        return max((day for day in days if isinstance(day, date)), default=None)

    @cached_property
    def _parts(self) -> dict[str, dict[tuple[Any, ...], pl.DataFrame]]:
        frames = {"jobs": self.jobs, "applications": self.applications, "soil": self.soil, "speeds": self.speeds}
        frames |= {"observations": self.observations, "levels": self.levels}
        return {name: frame.partition_by("green", as_dict=True) for name, frame in frames.items()}

    def of_green(self, green: str, name: str) -> pl.DataFrame:
        """The green's part of a frame, in order of date, file and line."""
        part = self._parts[name].get((green,))
        if part is None:
            part = getattr(self, name).clear()
        return part.sort("date", "file", "line", maintain_order=True)


@dataclass(frozen=True)
class GreenRecords:
    """The records of one green, and the season looked at.

    Attributes:
        green: the green's register row.
        club: its club's register row.
        season: the season.
        as_of: last day counted: the season's end, or the last day any record in the store speaks of.
        last_day: the last day any record in the store speaks of, whatever the season.
        jobs: the green's jobs, all seasons, with ``over_m2`` and ``share`` (pipeline/indicators/base/shares.py).
        applications: what was put on, all seasons, with the same.
        soil: soil tests, all years.
        speeds: green speeds, all years.
        observations: what was measured and counted, all years.
        sieves: sieve analyses of the green's root zone and of every material, all years.
        levels: surveyed points, all years.
        materials: register of materials.
        targets: targets set by users, all scopes.
        weather: days of the green's weather station, all years; empty where it names none.
        settings: the workspace's settings.
    """

    green: dict[str, Any]
    club: dict[str, Any]
    season: Season
    as_of: date
    last_day: date
    jobs: pl.DataFrame
    applications: pl.DataFrame
    soil: pl.DataFrame
    speeds: pl.DataFrame
    observations: pl.DataFrame
    sieves: pl.DataFrame
    levels: pl.DataFrame
    materials: pl.DataFrame
    targets: pl.DataFrame
    weather: pl.DataFrame
    settings: Settings

    def in_season(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The rows of the season up to ``as_of``."""
        return frame.filter(pl.col("date").is_between(self.season.start, self.as_of))

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
        """The green's measured area."""
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
    return Records(
        clubs=store.current("club"),
        greens=store.current("green"),
        jobs=store.current("job"),
        applications=store.frame("SELECT * FROM application", by=KINDS["job"].reading_order),
        soil=store.current("soil_test"),
        speeds=store.current("green_speed"),
        observations=store.current("observation"),
        sieves=store.current("sieve"),
        levels=store.frame(f"SELECT {LEVEL_COLUMNS} FROM level", by=KINDS["level"].reading_order),  # noqa: S608 - ours
        materials=store.current("material"),
        targets=store.current("target"),
        weather=store.current("weather_day"),
        faults=store.frame("SELECT f.*, l.file FROM meta.fault AS f JOIN meta.load AS l ON l.load_id = f.load_id"),
        loads=store.frame("SELECT * FROM meta.load"),
        rejects=store.frame("SELECT name, file FROM meta.rejects"),
    )


def green_records(records: Records, green: str, season: Season, workspace: Workspace) -> GreenRecords:
    """The records of one green for one season."""
    row = records.greens.filter(pl.col("green") == green).row(0, named=True)
    club = records.clubs.filter(pl.col("club") == row["club"]).row(0, named=True)
    last = records.last_day or season.end
    area_m2 = row["area_m2"]
    return GreenRecords(
        green=row,
        club=club,
        season=season,
        as_of=max(season.start, min(season.end, last)),
        last_day=last,
        jobs=with_share(records.of_green(green, "jobs"), area_m2),
        applications=with_share(records.of_green(green, "applications"), area_m2),
        soil=records.of_green(green, "soil"),
        speeds=records.of_green(green, "speeds"),
        observations=records.of_green(green, "observations"),
        sieves=records.sieves.filter((pl.col("green") == green) | pl.col("material").is_not_null()),
        levels=records.of_green(green, "levels"),
        materials=records.materials,
        targets=records.targets,
        weather=records.weather.filter(pl.col("station") == pl.lit(row["station"], dtype=pl.String)).sort(
            "date", maintain_order=True
        ),
        settings=workspace.settings,
    )


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
