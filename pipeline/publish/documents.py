"""Condition reports: which greens, their seasons put together, and the PDFs written in parallel."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from importlib.metadata import version
from itertools import groupby
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.closest import offered
from pipeline.common.faults import CannotDo, WrongUsage
from pipeline.common.progress import SILENT, Progress
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.records import Records, latest_season, read_records
from pipeline.indicators.season import green_season
from pipeline.publish.branding import house_style_of
from pipeline.publish.pool import Outcome, Task, render_many
from pipeline.publish.render_cache import RenderCache, Rendered, code_mark, mark, store_mark
from pipeline.store.store import Store
from pipeline.summaries.club import club_season
from pipeline.summaries.club_season import ClubSeason, GreenLine, RoundUp
from pipeline.summaries.round_up import green_line, of_lines
from pipeline.workspace.settings import Season, Workspace, file_stem
from reports.page.house_style import HouseStyle

WORKERS_MOST = 32
"""More processes than this are never started unasked."""


DOCUMENTS = ("condition", "summary", "round-up")
"""Kinds of documents that ``swardtally report`` writes."""


@dataclass(frozen=True)
class Written:
    """One document: where it is, whether it had to be made again, or what went wrong with it."""

    document: str
    green: str
    club: str
    season: str
    path: Path
    pages: int
    unchanged: bool = False
    fault: str = ""

    def as_json(self) -> dict[str, Any]:
        """The document's part of ``report --json``."""
        return {**asdict(self), "path": str(self.path)}


@dataclass(frozen=True)
class Planned:
    """A document to be made: its content is put together when it is needed, not before."""

    document: str
    green: str
    club: str
    path: Path
    content: Callable[[], Any]


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
    only: Sequence[str] = (),
    short: bool = False,
    force: bool = False,
    workers: int = 0,
    progress: Progress = SILENT,
) -> list[Written]:
    """Write the documents asked for (grain of the result: document); one that fails does not stop the rest.

    A condition report for each green; for each club asked for, or all, the season summary where it has several greens;
    for all the round-up. ``only`` narrows that to some of ``DOCUMENTS``. A document that would come out the same as it
    lies there is left as it is, unless ``force`` is given.

    Raises:
        WrongUsage: a green or club is not in its register.
        CannotDo: the store cannot be read, a setting names what is not there, or this machine cannot render.
    """
    house = house_style_of(workspace, short=short)
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
        held = store_mark(store)
    wanted = _wanted(records, greens, clubs, every=every)
    span = _season(records, workspace, season)
    folder = workspace.reports / span.name
    folder.mkdir(parents=True, exist_ok=True)
    writing = _Writing(span.name, RenderCache(folder), mark(held, workspace.settings, span), house, force)
    seasons = _Seasons(records, span, workspace)
    whole = set(records.clubs["club"] if every else clubs)
    planned = list(_planned(seasons, wanted, whole, folder, every=every, short=house.short))
    planned = [one for one in planned if not only or one.document in only]
    if not planned:
        raise CannotDo(
            f"There is no {' or '.join(only)} to write.", "A season summary needs a club with several greens."
        )
    done = list(progress.over(writing.documents(planned, processes(len(planned), workers)), len(planned), "Reports"))
    place = {one.path: i for i, one in enumerate(planned)}
    return sorted(done, key=lambda one: place[one.path])


def processes(documents: int, wanted: int = 0) -> int:
    """Processes for so many documents: one a core where nobody asked for a number, never more than documents."""
    return min(wanted or min(os.cpu_count() or 1, WORKERS_MOST), documents)


class _Seasons:
    """Seasons of greens, each put together when it is first asked for.

    Only one club's are held at a time, and of the others the line that the round-up needs: memory stays flat over
    hundreds of greens.
    """

    def __init__(self, records: Records, span: Season, workspace: Workspace) -> None:
        self.span = span
        self.club_of: dict[str, str] = dict(records.greens.select("green", "club").iter_rows())
        self._make = partial(green_season, records, season=span, workspace=workspace)
        self._held: dict[str, GreenSeason] = {}
        self._lines: dict[str, GreenLine] = {}
        self._like: GreenSeason | None = None

    def of(self, green: str) -> GreenSeason:
        """A green's season."""
        if green not in self._held:
            if any(self.club_of[other] != self.club_of[green] for other in self._held):
                self._held.clear()
            found = self._make(green=green)
            self._held[green] = self._like = found
            self._lines[green] = green_line(found)
        return self._held[green]

    def club(self, greens: Sequence[str]) -> ClubSeason:
        """The season of a club's greens."""
        return club_season([self.of(green) for green in greens])

    def round_up(self, greens: Sequence[str]) -> RoundUp:
        """All of these greens together."""
        for green in greens:
            if green not in self._lines:
                self.of(green)
        assert self._like is not None, "a round-up of no green"
        return of_lines([self._lines[green] for green in greens], self._like)


def _planned(
    seasons: _Seasons, wanted: Sequence[str], whole: set[str], folder: Path, *, every: bool, short: bool
) -> Iterator[Planned]:
    """Documents club by club, so that a club's seasons are put together once."""
    name = seasons.span.name
    for club, members in groupby(wanted, key=seasons.club_of.__getitem__):
        greens = list(members)
        for green in greens:
            path = folder / report_name(green, name, short=short)
            yield Planned("condition", green, club, path, partial(seasons.of, green))
        if club in whole and len(greens) > 1:
            path = folder / f"{file_stem(club)}-summary-{name}.pdf"
            yield Planned("summary", "", club, path, partial(seasons.club, greens))
    if every:
        yield Planned("round-up", "", "", folder / f"round-up-{name}.pdf", partial(seasons.round_up, wanted))


class _Writing:
    """Documents made or left as they are, each noted when it is done."""

    def __init__(self, season: str, before: RenderCache, state: str, house: HouseStyle, force: bool) -> None:
        self.season, self.before, self.house, self.force = season, before, house, force
        self.style = mark(house.mark, code_mark())
        self.state = mark(state, self.style)
        self._unchanged: list[Written] = []

    def documents(self, planned: Sequence[Planned], workers: int) -> Iterator[Written]:
        """An entry for every document, as each is done."""
        by_path = {one.path: one for one in planned}
        contents: dict[Path, str] = {}
        tasks = self._tasks(planned, contents)
        for outcome in render_many(tasks, workers=workers, version=version("swardtally"), house=self.house):
            yield from self._left()
            yield self._written(by_path[outcome.target], contents.pop(outcome.target), outcome)
        yield from self._left()
        self.before.save()

    def _left(self) -> Iterator[Written]:
        """The documents found unchanged since this was last asked."""
        found, self._unchanged = self._unchanged, []
        yield from found

    def _tasks(self, planned: Sequence[Planned], contents: dict[Path, str]) -> Iterator[Task]:
        """What has to be rendered; what is found unchanged on the way is kept aside."""
        for one in planned:
            if not self.force and (made := self.before.by_store(one.path, self.state)):
                self._unchanged.append(self._as_it_is(one, made))
                continue
            content = one.content()
            told = mark(content, self.style)
            if not self.force and (made := self.before.by_content(one.path, told)):
                self.before.note(one.path, replace(made, store=self.state))
                self._unchanged.append(self._as_it_is(one, made))
                continue
            contents[one.path] = told
            yield Task(one.green or one.club or one.document, one.document, content, one.path)

    def _as_it_is(self, one: Planned, made: Rendered) -> Written:
        return Written(one.document, one.green, one.club, self.season, one.path, made.pages, unchanged=True)

    def _written(self, one: Planned, content: str, done: Outcome) -> Written:
        if not done.fault:
            self.before.note(one.path, Rendered(self.state, content, done.sha256, done.pages))
        return Written(one.document, one.green, one.club, self.season, one.path, done.pages, fault=done.fault)


def report_name(green: str, season: str, *, short: bool = False) -> str:
    """File name of a green's condition report: its code, and a mark of it where letters had to be replaced."""
    return f"{file_stem(green)}-condition-{'short-' if short else ''}{season}.pdf"


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
    register = records.greens.sort("club", "green", maintain_order=True)
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
