"""Whether a report would run over its pages, set so: its blocks are put on pages one after the other, before layout.

``back_fit.py`` tells by their height alone which settings are worth a layout; on the fullest greens, what stays
together leaves more at the foot of pages than it allows for. A layout costs a second, this a hundredth of one. The
lengths are those of the level ``tight`` in condition.css, which alone is looked at: no other is full.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from reports.condition import back_fit, chart_rows
from reports.condition.levels import ReportLevel, most_pages
from reports.condition.view import ConditionReport, DueLine
from reports.page.charts.charts import ChartGroup
from reports.page.estimate import measured_lines
from reports.page.figures import Figure
from reports.page.house_style import HouseStyle

LEVEL = "tight"
SPARE_PT = 12.0
"""What the last page may be over by this estimate, pt, and the report is laid out all the same."""
HEADING_PT, ABOVE_PT = 16.7, 8.5
"""A heading with the space below it, and the space above it, which is dropped at the head of a page."""
SMALL, SMALL_LINE_PT, SMALL_ITEM_PT = 8.0, 9.92, 3.5
TEXT, TEXT_LINE_PT, TEXT_ITEM_PT = 9.5, 11.78, 2.4
"""Size, line and space of an item: of small print, and of lists and tables."""
WORDS_LINE_PT, CAPTION_LINE_PT = 12.92, 10.8
"""A line of a paragraph, and of a caption."""
HEAD_ROW_PT, FAMILY_PT, ROW_PT, NOTE_PT = 12.4, 17.0, 2.1, 1.9
"""Head of a table, on every page it has; row that names a family; space of a row of figures and of a row of notes."""
LABEL_PT, VALUE_PT, NOTE_WIDE_PT = 127.5, 98.0, 495.0
DUE_WIDE_PT, DUE_ROW_PT = (100.0, 100.0, 80.0, 180.0), 3.3
"""Widths of text: of what a figure is of, of the figure, of a note; of what is due, how much, by when, why."""
CONTENTS_PT, COUNTED_PT, CHARTS_END_PT, FIGURES_END_PT = 3.6, 11.0, 11.2, 5.7
"""More than ``back_fit.py`` has for contents; less for works, and for charts, whose space runs into that of a heading;
space below the table of figures."""


@dataclass(frozen=True)
class Block:
    """What stays together: its height, and what that is more (a table's head) or less at the head of a page, pt."""

    height: float
    at_head: float = 0.0


def overfull(
    report: ConditionReport,
    level: ReportLevel,
    groups: Sequence[ChartGroup],
    left_out: Iterable[str],
    house: HouseStyle,
) -> bool:
    """Whether a report, set so, would run over its pages; False where that cannot be told.

    Args:
        report: the report.
        level: how closely it is set.
        groups: its charts.
        left_out: parts that are not printed.
        house: the house style; how high what it has of its own comes out is not known.
    """
    if level.name != LEVEL or report.follows or house.short or house.has_own_files or house.texts:
        return False
    blocks = _blocks(report, groups, set(left_out))
    return runs_over(blocks, back_fit.PAGE_PT[house.paper], most_pages(short=False) - 1)


def runs_over(blocks: Iterable[Block], page: float, most: int) -> bool:
    """Whether blocks need more than the most pages, each of so many points, the last with a little to spare."""
    nth, at = 1, 0.0
    for block in blocks:
        if at and at + block.height > page + SPARE_PT * (nth == most):
            nth, at = nth + 1, block.at_head
        at += block.height
    return nth > most


def _blocks(report: ConditionReport, groups: Sequence[ChartGroup], gone: set[str]) -> Iterator[Block]:
    """The blocks after page one, in the order of the template."""
    yield Block(
        CONTENTS_PT
        + back_fit.contents_pt(report, gone)
        + (back_fit.works_pt(report) - COUNTED_PT) * ("works" not in gone)
    )
    rows = chart_rows.rows_of(groups) if "charts" not in gone else ()
    for row in rows:
        yield Block(chart_rows.row_pt(row) - CHARTS_END_PT * (row is rows[-1]))
    if "matters" not in gone:
        yield _paragraph(" ".join(report.headline))
    if report.facts and "facts" not in gone:
        yield _paragraph("; ".join(f"{one.label}: {one.value}" for one in report.facts))
    yield from _figures(report)
    yield from _small_print(report, gone)
    cautions = [f"{one.text} {'.' * int(0.86 * len(one.source))}" for one in report.cautions]
    if cautions:
        yield from _list([_item(one) for one in cautions], after=2 * CAPTION_LINE_PT + 2.8)
    left = bool({"methods", "sources"} & gone) * 2 + bool(report.notes_more)
    left += bool(report.due_more and not report.due and "due" not in gone)
    notes = [_item(f"{one.weight}: {one.text}") for one in report.notes]
    yield from _list(notes or [TEXT_LINE_PT], after=33.1 + CAPTION_LINE_PT * left)
    if report.due and "due" not in gone:
        yield from _due(report.due, more=bool(report.due_more))


def _figures(report: ConditionReport) -> Iterator[Block]:
    """The table of figures: its families, of each the first four rows together and the last four."""
    for table in report.tables:
        rows = [FAMILY_PT, *(_figure(one) for one in table.figures)]
        if table.note:
            rows.append(NOTE_PT + SMALL_LINE_PT * measured_lines(table.note, SMALL, NOTE_WIDE_PT))
        if table is report.tables[-1]:
            rows[-1] += FIGURES_END_PT + CAPTION_LINE_PT * bool(report.tables_more)
        blocks = _together(rows, 4, 4)
        if table is report.tables[0]:
            lead = 17.0 + CAPTION_LINE_PT * (1 + bool(report.questions))
            yield Block(ABOVE_PT + HEADING_PT + lead + HEAD_ROW_PT + blocks.pop(0), -ABOVE_PT)
        yield from (Block(high, HEAD_ROW_PT) for high in blocks)


def _figure(one: Figure) -> float:
    label = f"{one.label} {one.band}".strip() + " *" * one.starred
    value = f"{one.value} ({one.interval})" if one.interval else one.value
    lines = max(measured_lines(label, TEXT, LABEL_PT), measured_lines(value, TEXT, VALUE_PT))
    return ROW_PT + TEXT_LINE_PT * lines


def _small_print(report: ConditionReport, gone: set[str]) -> Iterator[Block]:
    """How figures were made, and the files behind them."""
    made = [
        f"{one.refs} {one.method} From {one.records}." + (f" Target: {one.targets}." if one.targets else "")
        for one in report.methods
    ]
    files = [
        f"{one.file} {one.kind}, {one.rows}: lines {one.lines}. SHA-256 {one.sha256}"
        + ("" if report.loaded else f" Loaded {one.loaded_on}.")
        for one in report.sources
    ]
    below = CAPTION_LINE_PT * (3 + bool(report.head)) + 5.7
    for part, texts, after in (("methods", made, 0.0), ("sources", files, below)):
        if texts and part not in gone:
            items = [SMALL_ITEM_PT + SMALL_LINE_PT * measured_lines(one, SMALL, back_fit.WIDE_PT) for one in texts]
            yield from _list(items, after=after)


def _due(due: Sequence[DueLine], *, more: bool) -> Iterator[Block]:
    rows = []
    for one in due:
        cells = zip((one.what, one.quantity, one.by, one.why), DUE_WIDE_PT, strict=True)
        rows.append(DUE_ROW_PT + TEXT_LINE_PT * max(measured_lines(words, TEXT, wide) for words, wide in cells))
    rows[0] += HEAD_ROW_PT
    yield from _list(rows, after=CAPTION_LINE_PT * more, head=HEAD_ROW_PT)


def _item(words: str) -> float:
    return TEXT_ITEM_PT + TEXT_LINE_PT * measured_lines(words, TEXT, back_fit.WIDE_PT)


def _paragraph(words: str) -> Block:
    """A heading and its paragraph."""
    lines = measured_lines(words, TEXT, back_fit.WIDE_PT)
    return Block(ABOVE_PT + HEADING_PT + WORDS_LINE_PT * lines, -ABOVE_PT)


def _list(items: Sequence[float], *, after: float = 0.0, head: float = 0.0) -> Iterator[Block]:
    """A heading and its items, the first three together and the last two, with what stands below the last.

    Args:
        items: their heights, pt.
        after: height of what stands below, pt.
        head: what is set again at the head of a page, pt.
    """
    first, *others = _together([*items[:-1], items[-1] + after], 3, 3 if head else 2)
    yield Block(ABOVE_PT + HEADING_PT + first, -ABOVE_PT)
    yield from (Block(high, head) for high in others)


def _together(rows: Sequence[float], first: int, last: int) -> list[float]:
    """Heights of rows, the first ones as one and the last ones."""
    made: list[float] = []
    for i, high in enumerate(rows):
        if 0 < i < first or i > max(0, len(rows) - last):
            made[-1] += high
        else:
            made.append(high)
    return made
