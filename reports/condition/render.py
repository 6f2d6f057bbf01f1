"""From a frozen season of a green to the bytes of its condition report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

from pipeline.first_page.build import alone
from pipeline.indicators.base.green_season import Due, GreenSeason
from reports.condition import back_fit, chart_rows
from reports.condition.first import fit as first_fit
from reports.condition.first.level import FIRST_LEVELS
from reports.condition.levels import ReportLevel, levels_for, most_pages
from reports.condition.overfull import overfull
from reports.condition.view import ConditionReport, due_lines, views
from reports.page import attachments
from reports.page.charts import charts
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle
from reports.page.templating import fill
from reports.page.units import in_units

PAGE_TWO = "page-two"
"""Name of the place in the template that has to stand on the second page: page one is one page."""

MORE_DUE = (20, 14, 10, 8, 6, 5, 4, 3)
"""Lines of what is due that are tried where the last page has room: a table of fewer than three is no list."""
SPARE_PT = 24.0
"""What is left free below them: a layout that came out longer would cost a second."""


@dataclass(frozen=True)
class Draft:
    """The report set one way.

    Attributes:
        report: its view-model.
        groups: its charts.
        left_out: parts that are not printed.
        first: how closely page one is set, the most open that may fit is 0.
    """

    report: ConditionReport
    groups: tuple[charts.ChartGroup, ...]
    left_out: tuple[str, ...]
    first: int


def reports(season: GreenSeason, version: str, house: HouseStyle) -> Iterator[Draft]:
    """The report, each time set more closely, in the units of the house; what is too long by far is passed over.

    Args:
        season: the season; what is attached stays in SI.
        version: version of the calculation.
        house: the house style.
    """
    whole = season if season.first else replace(season, first=alone(season))
    shown = in_units(whole, house.units)
    levels = levels_for(short=house.short, every_figure=house.every_figure)
    start = first_fit.starting(shown, house)
    drawn = cache(partial(charts.chart_groups, shown))
    for nth, first in enumerate(FIRST_LEVELS[start:]):
        every = views(shown, levels, version=version, first=first, units=house.units)
        for level, made in zip(levels, every, strict=True):
            report = replace(made, follows=first_fit.leaves_room(made.first, house))
            left_out = tuple(sorted({*house.left_out, *level.left_out}))
            lowest = drawn(charts.Heights(level.chart_height))
            room = back_fit.chart_room_pt(report, left_out, house)
            rows = chart_rows.placed(lowest, room, level.chart_height)
            groups = drawn(rows.heights) if rows.heights.rows else lowest
            wasted = rows.wasted_pt * ("charts" not in left_out)
            draft = Draft(report, groups, left_out, nth)
            if back_fit.fits(report, level, groups, left_out, house, wasted):
                fuller = _with_more_due(draft, shown.due, level, house, wasted)
                if level is levels[-1] or not overfull(fuller.report, level, groups, left_out, house):
                    yield fuller
            elif level is levels[-1] or house.every_figure:
                yield draft


def _with_more_due(draft: Draft, due: Sequence[Due], level: ReportLevel, house: HouseStyle, wasted: float) -> Draft:
    """The draft with as many more lines of what is due as its last page has room for."""
    if "due" in draft.left_out or len(due) <= level.due:
        return draft
    for most in (len(due), *(one for one in MORE_DUE if level.due < one < len(due))):
        lines, left = due_lines(due, most)
        fuller = replace(draft.report, due=lines, due_more=left)
        if back_fit.fits(fuller, level, draft.groups, draft.left_out, house, wasted + SPARE_PT):
            return replace(draft, report=fuller)
    return draft


def _drafts(season: GreenSeason, _: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    attached = attachments.file_names(season)
    for one in reports(season, version, house):
        made = fill(
            "condition.html.j2",
            house,
            report=one.report,
            groups=one.groups,
            attached=attached,
            left_out=one.left_out,
        )
        yield Pages(made, partial(charts.pictures, one.groups), "" if one.report.follows else PAGE_TWO, one.first)


DOCUMENT = Document(
    drafts=_drafts,
    attached=attachments.csv_files,
    day=lambda season: season.as_of,
    most_pages=lambda _, house: most_pages(short=house.short),
    styles=("first-page.css", "condition.css"),
    endings=("condition-closer.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
