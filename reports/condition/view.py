"""The frozen view-model of a condition report: everything formatted, nothing left to work out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from pipeline.first_page.build import alone
from pipeline.first_page.standing import waiting_lines, waits
from pipeline.indicators.base import judgement
from pipeline.indicators.base.green_season import Due, Evidence, GreenSeason, Indicator
from reports.condition import wording
from reports.condition.first.level import FIRST_LEVELS, FirstLevel
from reports.condition.first.page import FirstPageView, first_page
from reports.condition.levels import REPORT_LEVELS, ReportLevel
from reports.page import remarks, text
from reports.page.evidence import MethodLine, SourceLine, method_lines, source_lines
from reports.page.figures import FigureTable, figure_tables, numbered, printed
from reports.page.house_style import Units
from reports.page.works import WorkTable, work_table


@dataclass(frozen=True)
class DueLine:
    """One line of what comes next."""

    what: str
    quantity: str
    by: str
    why: str


@dataclass(frozen=True)
class ConditionReport:
    """A condition report as printed (grain: green and season); every field is final text."""

    title: str
    green: str
    club: str
    region: str
    season: str
    period: str
    as_of: str
    counted: str
    running_head: str
    long_name: bool
    created: str
    version: str
    density: str
    questions: tuple[str, ...]
    first: FirstPageView
    headline: tuple[str, ...]
    facts: tuple[remarks.Fact, ...]
    tables: tuple[FigureTable, ...]
    tables_more: str
    works: WorkTable
    by_kind: bool
    due: tuple[DueLine, ...]
    due_more: str
    cautions: tuple[remarks.CautionLine, ...]
    methods: tuple[MethodLine, ...]
    sources: tuple[SourceLine, ...]
    loaded: str
    head: str
    notes: tuple[remarks.NoteLine, ...]
    notes_more: str
    disclaimer: str = remarks.CERTIFIES_NOTHING
    follows: bool = False
    """Whether what stands after page one begins on it, below what is there."""


def view(
    season: GreenSeason,
    level: ReportLevel = REPORT_LEVELS[0],
    *,
    version: str,
    first: FirstLevel = FIRST_LEVELS[0],
    units: Units = "metric",
) -> ConditionReport:
    """The report of one green in one season, every figure formatted.

    Args:
        season: the frozen data.
        level: how closely it is set, and so how much is left to the attachment.
        version: version of the calculation; printed by no shipped template.
        first: how closely the first page is set.
        units: units of display, which the season is in already.
    """
    return next(views(season, (level,), version=version, first=first, units=units))


def views(
    season: GreenSeason,
    levels: Iterable[ReportLevel],
    *,
    version: str,
    first: FirstLevel = FIRST_LEVELS[0],
    units: Units = "metric",
) -> Iterator[ConditionReport]:
    """The report at each level in turn, what no level changes made once; arguments as of :func:`view`."""
    head, of = remarks.green_head(season), remarks.season_head(season)
    every, noted = numbered(season.indicators), remarks.notes(season, told=0)
    paged = season if season.first else replace(season, first=alone(season))
    waiting = waiting_lines(season.questions)
    made = partial(
        ConditionReport,
        title=f"Condition report: {head['green']}, {head['club']}, season {of['season']}",
        **head,
        **of,
        **remarks.stamp(season.as_of, version),
        questions=remarks.questions(season),
        first=first_page(paged, first, units),
        headline=wording.headline(season),
        facts=remarks.facts(season),
        works=work_table(
            season.works,
            paged.first.spent if paged.first else None,
            season.currency,
            units,
            waiting,
        ),
        cautions=remarks.brief_cautions(season.cautions),
        sources=source_lines(season.sources, SOURCE_TEXT),
        loaded=_loaded(season),
        head=season.seal.head,
    )
    for level in levels:
        pairs = printed(every, level.figures, level.judged)
        told = notes_told(noted, level.notes)
        due, due_more = due_lines(season.due, level.due)
        yield made(
            density=level.name,
            tables=figure_tables(pairs, level.text, waiting),
            tables_more=_figures_left(every, pairs, waiting),
            by_kind=level.kinds,
            due=due,
            due_more=due_more,
            methods=method_lines(pairs, level.ranges),
            notes=told,
            notes_more=remarks.more_notes(len(noted) - len(told)),
        )


def notes_told(noted: Sequence[remarks.NoteLine], most: int) -> tuple[remarks.NoteLine, ...]:
    """The notes that are printed: every one that asks for a look, and so many of the others."""
    plain = remarks.WEIGHTS["note"]
    kept = [one for one in noted if one.weight == plain][:most]
    return tuple(one for one in noted if one.weight != plain or one in kept)


def due_lines(due: Sequence[Due], most: int) -> tuple[tuple[DueLine, ...], str]:
    """So many lines of what is due at most, and where the others stand."""
    return tuple(_due(one) for one in due[:most]), _due_left(len(due) - most, most)


def _due_left(left: int, printed_lines: int) -> str:
    """Where what is due stands that is not printed here line by line; "" where all of it is."""
    if left <= 0:
        return ""
    which = "All" if not printed_lines else "The other"
    lines = text.count(left, "line")
    return (
        f"{which} {lines} of what is due, with the reason for each, are in the attached notes.csv; “What to do” on "
        "page 1 has all of it."
    )


def _figures_left(
    every: tuple[tuple[int, Indicator], ...], shown: tuple[tuple[int, Indicator], ...], lines: frozenset[Evidence]
) -> str:
    """How many figures are not printed, and of how many that is told; one that waits for an entry is not yet off."""
    refs = {ref for ref, _ in shown}
    left = [one for ref, one in every if ref not in refs]
    if not left:
        return ""
    judged = sum(one.standing != "no target" for one in left)
    off = sum(judgement.judgement(one) == "off" and not waits(one, lines) for one in left)
    those = f"{judged} of them with a target or a standing to tell" if judged else "none of them with a target"
    those += f", {off} off" if off else ""
    are = "further figure is" if len(left) == 1 else "further figures are"
    return f"{len(left)} {are} in the attached indicators.csv, {those}."


def _loaded(season: GreenSeason) -> str:
    """The day all files behind the report were loaded, where it was one; "" where it was not."""
    days = {one.loaded_on for one in season.sources}
    return f"All loaded on {text.clean(days.pop(), 40)}." if len(days) == 1 else ""


SOURCE_TEXT = 110
"""Characters of the lines of one file behind the report; the others stand in the attachment."""


def _due(due: Due) -> DueLine:
    return DueLine(
        text.clean(due.what),
        remarks.quantity_of(due.quantity, text.TEXT_LIMIT),
        remarks.by_when(due.by),
        text.clean(due.why),
    )
