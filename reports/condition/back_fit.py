"""How closely a report has to be set to keep its pages: the height of what follows page one, estimated before layout.

A layout costs a second, an estimate nothing; where it is wrong the next closer level is tried
(``reports/page/document.py``). The lengths were held against the pages of the demo county.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from reports.condition import chart_rows
from reports.condition.levels import ReportLevel, most_pages
from reports.condition.view import ConditionReport
from reports.page import own_text
from reports.page.charts.charts import ChartGroup
from reports.page.estimate import lines
from reports.page.house_style import HouseStyle

PAGE_PT = {"A4": 747.0, "Letter": 697.0}
"""Height of a page between its margins."""
WASTED_PT = 11.0
"""What is left at the foot of a page, on average, for what stays together."""
WIDE_PT, HOW_PT, LABEL_PT = 504.0, 198.0, 130.0
"""Widths of text: across the page, of how a work was done, of what a figure is of."""
COST_PT = 79.0
"""What the columns of cost leave to how a work was done where the log has no cost."""
LEAD_PT = 13.0
"""What the short form leaves out of how the figures are read."""
HEADING_PT = {"open": 36.0, "close": 31.0, "tight": 26.0}
ROW_PT = {"open": 15.0, "close": 15.0, "tight": 13.6}
SMALL_PT = {"open": 8.5, "close": 8.2, "tight": 8.0}
ITEM_PT = {"open": 4.0, "close": 4.0, "tight": 2.6}
"""By the name of a level: a heading with the space round it, a row of figures, small print, space of an item."""


def fits(
    report: ConditionReport,
    level: ReportLevel,
    groups: Sequence[ChartGroup],
    left_out: Iterable[str],
    house: HouseStyle,
    wasted_pt: float = 0.0,
) -> bool:
    """Whether a report, set so, should keep its pages.

    Args:
        report: the report.
        level: how closely it is set.
        groups: its charts.
        left_out: parts that are not printed.
        house: the house style.
        wasted_pt: what is left empty at the foot of page two, pt.
    """
    pages = most_pages(short=house.short) - 1
    height = height_pt(report, level, groups, left_out, short=house.short) + wasted_pt
    return height <= pages * (PAGE_PT[house.paper] - WASTED_PT)


def chart_room_pt(report: ConditionReport, left_out: Iterable[str], house: HouseStyle) -> float:
    """Height that page two has left for charts below its contents and the works; 0 where it is not known.

    Args:
        report: the report.
        left_out: parts that are not printed.
        house: the house style; how high a text of its own is, before the works, is not known.
    """
    opens = {own_text.file_name(document, "opening") for document in ("condition", own_text.EVERY)}
    if report.follows or opens & set(house.texts):
        return 0.0
    gone = set(left_out)
    return PAGE_PT[house.paper] - contents_pt(report, gone) - works_pt(report) * ("works" not in gone)


def contents_pt(report: ConditionReport, gone: set[str]) -> float:
    """Height of the contents at the head of page two, pt."""
    parts = {"matters", "facts", "methods", "sources"} - gone
    headings = 4 + len(parts) + bool(report.due and "due" not in gone)
    return 3.4 + 12.5 * math.ceil(headings / 3)


def height_pt(
    report: ConditionReport,
    level: ReportLevel,
    groups: Sequence[ChartGroup],
    left_out: Iterable[str],
    *,
    short: bool = False,
) -> float:
    """Height of everything after page one, pt, estimated; arguments as of :func:`fits`."""
    parts = {
        "works": works_pt(report),
        "charts": chart_rows.height_pt(groups),
        "matters": HEADING_PT[level.name] + 13.0 * _lines([" ".join(report.headline)], 9.5, WIDE_PT),
        "facts": HEADING_PT[level.name] + 13.0,
        "figures": _figures(report, level) - LEAD_PT * short,
        "methods": _small(
            [f"{one.refs} {one.method} From {one.records}. Target: {one.targets}." for one in report.methods], level
        ),
        "sources": _small(
            [f"{one.file} {one.kind}, {one.rows}: lines {one.lines}. SHA-256 {one.sha256}" for one in report.sources],
            level,
        )
        + 30.0,
        "cautions": _cautions(report, level, 8.5 if short else 9.5),
        "notes": HEADING_PT[level.name] + 34.0 + _items([one.text for one in report.notes], 9.5, level),
        "due": _due(report, level),
    }
    gone = set(left_out)
    return sum(height for part, height in parts.items() if part not in gone)


def works_pt(report: ConditionReport) -> float:
    """Height of the table of works with its heading and the line below it, pt."""
    kinds = [one for group in report.works.groups for one in group.lines] if report.by_kind else []
    width = HOW_PT + COST_PT * (not report.works.with_cost)
    rows = sum(11.8 * max(1, _lines([one.range], 9.5, width)) + 2.7 for one in kinds)
    note = 12.5 * _lines([report.works.note], 8.5, WIDE_PT)
    return 40.0 + 14.0 + rows + 18.0 * len(report.works.groups) + 34.0 + 2.0 + note


def _figures(report: ConditionReport, level: ReportLevel) -> float:
    each = [one for table in report.tables for one in table.figures]
    rows = sum(
        ROW_PT[level.name]
        + 11.8 * (max(_lines([f"{one.label} {one.band}"], 9.5, LABEL_PT), 1 + (len(one.value) > 20)) - 1)
        for one in each
    )
    notes = sum(
        10.6 * _lines([table.note], SMALL_PT[level.name], WIDE_PT) + 3.0 for table in report.tables if table.note
    )
    return HEADING_PT[level.name] + 46.0 + rows + notes + 18.0 * len(report.tables) + 14.0 * bool(report.tables_more)


def _small(texts: Sequence[str], level: ReportLevel) -> float:
    return HEADING_PT[level.name] + _items(texts, SMALL_PT[level.name], level) if texts else 0.0


def _cautions(report: ConditionReport, level: ReportLevel, size: float) -> float:
    texts = [f"{one.text} {'.' * int(0.86 * len(one.source))}" for one in report.cautions]
    return HEADING_PT[level.name] + _items(texts, size, level) + 14.0 if texts else 0.0


def _due(report: ConditionReport, level: ReportLevel) -> float:
    rows = sum(12.0 * max(_lines([one.what], 9.5, 105.0), _lines([one.why], 9.5, 190.0), 2) + 4.0 for one in report.due)
    return HEADING_PT[level.name] + 14.0 + rows if report.due else 14.0


def _items(texts: Sequence[str], size: float, level: ReportLevel) -> float:
    return sum(1.26 * size * _lines([one], size, WIDE_PT) + ITEM_PT[level.name] for one in texts)


def _lines(texts: Sequence[str], size: float, width: float) -> int:
    return sum(lines(one, size, width) for one in texts)
