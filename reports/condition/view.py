"""The frozen view-model of a condition report: everything formatted, nothing left to work out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pipeline.first_page.build import alone
from pipeline.indicators.base.green_season import Due, GreenSeason, Indicator
from reports.condition import wording
from reports.condition.first.level import FIRST_LEVELS, FirstLevel
from reports.condition.first.page import FirstPageView, first_page
from reports.page import remarks, text
from reports.page.evidence import MethodLine, SourceLine, method_lines, source_lines
from reports.page.figures import FigureTable, figure_tables, numbered, printed
from reports.page.house_style import Units
from reports.page.layout_levels import LAYOUT_LEVELS, LayoutLevel
from reports.page.works import WorkList, work_list


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
    works: WorkList
    due: tuple[DueLine, ...]
    due_more: str
    cautions: tuple[remarks.CautionLine, ...]
    cautions_more: str
    methods: tuple[MethodLine, ...]
    sources: tuple[SourceLine, ...]
    notes: tuple[remarks.NoteLine, ...]
    notes_more: str
    disclaimer: str = remarks.CERTIFIES_NOTHING


def view(
    season: GreenSeason,
    level: LayoutLevel = LAYOUT_LEVELS[0],
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
    head, of = remarks.green_head(season), remarks.season_head(season)
    every = numbered(season.indicators)
    pairs = printed(every, level.figures, level.judged)
    noted = remarks.notes(season)
    return ConditionReport(
        title=f"Condition report: {head['green']}, {head['club']}, season {of['season']}",
        **head,
        **of,
        **remarks.stamp(season.as_of, version),
        density=level.name,
        questions=remarks.questions(season),
        first=first_page(season if season.first else replace(season, first=alone(season)), first, units),
        headline=wording.headline(season),
        facts=remarks.facts(season),
        tables=figure_tables(pairs, level.text),
        tables_more=_figures_left(every, pairs),
        works=work_list(
            season.works, (season.season_start, season.season_end), level.works, level.text, season.currency
        ),
        due=tuple(_due(d, level.text) for d in season.due[: level.due]),
        due_more=remarks.more_notes(len(season.due) - level.due),
        cautions=remarks.cautions(season.cautions[: level.cautions]),
        cautions_more=remarks.more_notes(len(season.cautions) - level.cautions),
        methods=method_lines(pairs, level.ranges),
        sources=source_lines(season.sources, level.text),
        notes=noted[: level.notes],
        notes_more=remarks.more_notes(len(noted) - level.notes),
    )


def _figures_left(every: tuple[tuple[int, Indicator], ...], shown: tuple[tuple[int, Indicator], ...]) -> str:
    refs = {ref for ref, _ in shown}
    left = [one for ref, one in every if ref not in refs]
    if not left:
        return ""
    judged = sum(one.standing != "no target" for one in left)
    those = f"{judged} of them with a target or a standing to tell" if judged else "none of them with a target"
    are = "further figure is" if len(left) == 1 else "further figures are"
    return f"{len(left)} {are} in the attached indicators.csv, {those}."


DUE_TEXT = 320
"""Characters of what is due that stand however closely a report is set: cut short, a figure in it says another."""


def _due(due: Due, most: int) -> DueLine:
    return DueLine(
        text.clean(due.what, min(most, 160)),
        remarks.quantity_of(due.quantity, DUE_TEXT),
        remarks.by_when(due.by, 80),
        text.clean(due.why, max(most, DUE_TEXT)),
    )
