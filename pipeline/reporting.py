"""Condition reports: which greens, their seasons put together, and the PDFs written in parallel."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.faults import CannotDo, WrongUsage
from pipeline.indicators.record import GreenSeason
from pipeline.indicators.records import Records, latest_season, read_records
from pipeline.indicators.season import green_season
from pipeline.progress import SILENT, Progress
from pipeline.standardise.choices import offered
from pipeline.store import Store
from pipeline.workspace import Season, Workspace
from reports.pool import Outcome, Task, render_many

WORKERS_MOST = 32
"""More processes than this are never started unasked."""


@dataclass(frozen=True)
class Written:
    """One report: where it is, or what went wrong with it."""

    green: str
    club: str
    season: str
    path: Path
    pages: int
    fault: str = ""

    def as_json(self) -> dict[str, Any]:
        """The report's part of ``report --json``."""
        return {
            "green": self.green,
            "club": self.club,
            "season": self.season,
            "path": str(self.path),
            "pages": self.pages,
            "fault": self.fault,
        }


def season_of_green(workspace: Workspace, green: str, season: str = "") -> GreenSeason:
    """One green's season put together.

    Raises:
        WrongUsage: the green is not in the register.
        CannotDo: the store cannot be read, or holds no dated record and no season was named.
    """
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
    _known(records, "green", [green])
    return green_season(records, green, _season(records, workspace, season), workspace)


def write_reports(
    workspace: Workspace,
    *,
    greens: Sequence[str] = (),
    clubs: Sequence[str] = (),
    every: bool = False,
    season: str = "",
    workers: int = 0,
    progress: Progress = SILENT,
) -> list[Written]:
    """Write the condition reports asked for; one that fails does not stop the rest (grain of the result: report).

    Raises:
        WrongUsage: a green or club is not in its register.
        CannotDo: the store cannot be read, or this machine cannot render.
    """
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
    wanted = _wanted(records, greens, clubs, every=every)
    span = _season(records, workspace, season)
    folder = workspace.reports / span.name
    folder.mkdir(parents=True, exist_ok=True)
    seasons = {green: green_season(records, green, span, workspace) for green in wanted}
    tasks = [Task(one.green, "condition", one, folder / report_name(one)) for one in seasons.values()]
    workers = workers or min(os.cpu_count() or 1, WORKERS_MOST)
    done = render_many(tasks, workers=workers, version=version("swardtally"))
    found = {one.name: one for one in progress.over(done, len(tasks), "Reports")}
    return [_written(seasons[green], found[green]) for green in wanted]


def _written(season: GreenSeason, done: Outcome) -> Written:
    return Written(season.green, season.club, season.season, done.target, done.pages, done.fault)


def report_name(season: GreenSeason) -> str:
    """File name of a green's condition report: its code, and a mark of it where letters had to be replaced."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", season.green).strip("-") or "green"
    if plain != season.green:  # "A 1" and "A-1" are two greens
        plain += "-" + sha256(season.green.encode()).hexdigest()[:6]
    return f"{plain}-condition-{season.season}.pdf"


def _season(records: Records, workspace: Workspace, season: str) -> Season:
    if season:
        return workspace.season(season)
    found = latest_season(records, workspace)
    if found is None:
        raise CannotDo("The store holds no dated record yet.", "Load a job log, soil tests or green speeds first.")
    return found


def _wanted(records: Records, greens: Sequence[str], clubs: Sequence[str], *, every: bool) -> list[str]:
    _known(records, "green", greens)
    _known(records, "club", clubs)
    register = records.greens.sort("club", "green")
    chosen = register if every else register.filter(pl.col("green").is_in(greens) | pl.col("club").is_in(clubs))
    if not chosen.height:
        raise CannotDo("There is no green to report on.", "Load the registers of clubs and greens first.")
    return chosen["green"].to_list()


def _known(records: Records, kind: str, names: Sequence[str]) -> None:
    known = set((records.greens if kind == "green" else records.clubs)[kind])
    for name in names:
        if name not in known:
            raise WrongUsage(
                f"There is no {kind} “{name}”{offered(name, known)}.", f"swardtally status lists every {kind}."
            )
