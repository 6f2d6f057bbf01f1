"""Condition reports, season summaries, handouts and the round-up: which greens, and their seasons put together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.closest import as_known
from pipeline.common.file_names import file_stem
from pipeline.common.marks import mark
from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo
from pipeline.figures.table import figures_in
from pipeline.first_page.handout import Handout, handout
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.looked_at import as_looked_at, opened
from pipeline.indicators.base.records import Records
from pipeline.publish.branding import house_style_of
from pipeline.publish.first_pages import FirstPages, first_pages
from pipeline.publish.on_record import on_record, refuse_unrecorded, season_asked, season_of_one
from pipeline.publish.render_cache import store_mark
from pipeline.publish.seals import Seals, refuse_altered, seals
from pipeline.publish.writer import Planned, Written, write_documents
from pipeline.season.green import green_season
from pipeline.summaries.club import club_season
from pipeline.summaries.club_season import ClubSeason, GreenLine, RoundUp
from pipeline.summaries.round_up import green_line, round_up
from pipeline.workspace.settings import Season, Workspace
from reports.page.house_style import HouseStyle

FIRST_PAGES = frozenset({"condition", "handout"})
"""Documents that tell the first pages of condition reports."""
DOCUMENTS = ("condition", "summary", "handout", "round-up")
"""Kinds of documents that ``swardtally report`` writes."""


def season_of_green(workspace: Workspace, green: str, season: str = "", look: Look = ORDINARY) -> GreenSeason:
    """One green's season put together; where none is named the latest, or the green's own last one before that.

    ``look`` where it is not of all that is in the store now.

    Raises:
        WrongUsage: the green is not in the register.
        CannotDo: the store cannot be read, or holds no dated record, or none of the green by the season named.
    """
    with opened(workspace, look) as store:
        records = as_looked_at(store, look)
        (green,) = records.greens_named([green])
        span, _ = season_of_one(store, workspace, green, season, look)
        kept = figures_in(store, workspace.settings, span.name, [green]) if look.ordinary else {}
    return green_season(records, green, span, workspace, kept)


def write_reports(
    workspace: Workspace,
    *,
    greens: Sequence[str] = (),
    clubs: Sequence[str] = (),
    every: bool = False,
    season: str = "",
    look: Look = ORDINARY,
    only: Sequence[str] = (),
    short: bool = False,
    issued_on: date | None = None,
    force: bool = False,
    workers: int = 0,
    progress: Progress = SILENT,
) -> list[Written]:
    """Write the documents asked for (grain of the result: document); one that fails does not stop the rest.

    A condition report for each green; for each club asked for, or all, the handout of a meeting with the text of an
    e-mail beside it, and the season summary where it has several greens; for all the round-up. ``only`` narrows that to
    some of ``DOCUMENTS``. A document that would come out the same as it lies there is left as it is, unless ``force``
    is given. One of another ``look`` has a file of its own. ``issued_on`` is the day printed as that of issue; None
    leaves a line to fill in.

    Raises:
        WrongUsage: a green or club is not in its register, or the day of the look lies before the season.
        CannotDo: the store cannot be read, none of the greens has a record by the season named, a setting names what
            is not there, or this machine cannot render.
    """
    house = house_style_of(workspace, short=short, issued_on=issued_on)
    refuse_altered(workspace)
    with opened(workspace, look) as store:
        records = as_looked_at(store, look)
        held = store_mark(store)
        clubs = as_known("club", clubs, set(records.clubs["club"]))
        wanted = _wanted(records, records.greens_named(greens), clubs, every=every)
        span = season_asked(store, workspace, season, look)
        if season:
            refuse_unrecorded(store, workspace, on_record(store, wanted, span), span, wanted)
        kept = figures_in(store, workspace.settings, span.name, wanted) if look.ordinary else {}
        paged = not only or bool(FIRST_PAGES.intersection(only))
        first = first_pages(store, records, wanted, span, workspace) if paged else None
        sealed = seals(store, wanted, span)
    seasons = _Seasons(records, span, workspace, kept, sealed)
    whole = set(records.clubs["club"] if every else clubs)
    folder, state = workspace.reports / span.name, mark(held, workspace.settings, span, look)
    report = _Paged(seasons, first).of if first else seasons.of
    planned = list(_planned(seasons, report, (wanted, whole), folder, state, every=every, house=house))
    planned = [one for one in planned if not only or one.document in only]
    if not planned:
        raise CannotDo(
            f"There is no {' or '.join(only)} to write.",
            "A handout is of a club (--club or --all), a season summary of one with several greens.",
        )
    return write_documents(planned, house=house, force=force, workers=workers, progress=progress)


class _Seasons:
    """Seasons of greens, each put together when it is first asked for.

    Only one club's are held at a time, and of the others the line that the round-up needs: memory stays flat over
    hundreds of greens.
    """

    def __init__(
        self,
        records: Records,
        span: Season,
        workspace: Workspace,
        kept: Mapping[str, tuple[Indicator, ...]],
        sealed: Seals,
    ) -> None:
        self.span, self.sealed = span, sealed
        self.called = f"{span.name}{records.look.stem}"
        self.club_of: dict[str, str] = dict(records.greens.select("green", "club").iter_rows())
        self._make = partial(green_season, records, season=span, workspace=workspace, kept=kept)
        self._held: dict[str, GreenSeason] = {}
        self._lines: dict[str, GreenLine] = {}
        self._like: GreenSeason | None = None

    def of(self, green: str) -> GreenSeason:
        """A green's season."""
        if green not in self._held:
            if any(self.club_of[other] != self.club_of[green] for other in self._held):
                self._held.clear()
            found = self.sealed.on(self._make(green=green))
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
        return round_up([self._lines[green] for green in greens], self._like)


class _Paged:
    """Seasons with the first pages of their reports; those of one club are held, which its handout asks for again."""

    def __init__(self, seasons: _Seasons, first: FirstPages) -> None:
        self.seasons, self.first = seasons, first
        self._held: dict[str, GreenSeason] = {}

    def of(self, green: str) -> GreenSeason:
        """A green's season with its first page."""
        if green not in self._held:
            club = self.seasons.club_of[green]
            if any(self.seasons.club_of[other] != club for other in self._held):
                self._held.clear()
            self._held[green] = self.first.on(self.seasons.of(green))
        return self._held[green]


def _handout(report: Callable[[str], GreenSeason], greens: Sequence[str]) -> Handout:
    return handout([report(green) for green in greens])


def _message(files: Sequence[str], house: HouseStyle, made: Handout) -> dict[str, bytes]:
    """The text of an e-mail that goes with a handout, by the name of the handout's own file."""
    from reports.handout.message import message

    return {f"{files[0].removesuffix('.pdf')}.txt": message(made, files, house).encode()}


def _planned(
    seasons: _Seasons,
    report: Callable[[str], GreenSeason],
    asked: tuple[Sequence[str], set[str]],
    folder: Path,
    state: str,
    *,
    every: bool,
    house: HouseStyle,
) -> Iterator[Planned]:
    """Documents club by club, so that a club's seasons are put together once.

    Args:
        seasons: seasons of greens.
        report: a green's season with what only its own report says.
        asked: greens, and clubs of which all are wanted.
        folder: where they are written.
        state: mark of what they are made of.
        every: whether a round-up is wanted.
        house: the house style.
    """
    wanted, whole = asked
    name, called, form = seasons.span.name, seasons.called, "short-" if house.short else ""

    def one(document: str, file: str, content: Callable[[], Any], green: str = "", club: str = "") -> Planned:
        return Planned(document, name, folder / file, content, green, club, state)

    def condition(green: str) -> str:
        return f"{file_stem(green)}-condition-{form}{called}.pdf"

    for club, members in groupby(wanted, key=seasons.club_of.__getitem__):
        greens = list(members)
        for green in greens:
            yield one("condition", condition(green), partial(report, green), green, club)
        if club not in whole:
            continue
        summary = [f"{file_stem(club)}-summary-{called}.pdf"] if len(greens) > 1 else []
        for file in summary:
            yield one("summary", file, partial(seasons.club, greens), club=club)
        paper = f"{file_stem(club)}-handout-{called}.pdf"
        beside = partial(_message, [paper, *map(condition, greens), *summary], house)
        yield replace(one("handout", paper, partial(_handout, report, greens), club=club), beside=beside)
    if every:
        yield one("round-up", f"round-up-{called}.pdf", partial(seasons.round_up, wanted))


def _wanted(records: Records, greens: Sequence[str], clubs: Sequence[str], *, every: bool) -> list[str]:
    register = records.greens.sort("club", "green", maintain_order=True)
    chosen = register if every else register.filter(pl.col("green").is_in(greens) | pl.col("club").is_in(clubs))
    if not chosen.height:
        raise CannotDo("There is no green to report on.", "Load the registers of clubs and greens first.")
    return chosen["green"].to_list()
