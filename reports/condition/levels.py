"""How closely a condition report is set after its first page: the first level that keeps it on its pages is taken.

What gives way, in this order: height of charts, to two thirds, and space between lines, figures without a target, lists
of lines, what is due (the first page has all of it), the figures in words, last figures that are on target. The table
of works, every caution and every warning on the records always stand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

MOST_PAGES = 5
MOST_PAGES_SHORT = 2


@dataclass(frozen=True)
class ReportLevel:
    """How closely a report is set, and so how much of it is printed.

    Attributes:
        name: class of the page body; its spaces and sizes of small print stand in condition.css.
        figures: most printed figures; those with a target always stand, whatever their number. None for every one.
        chart_height: share of the full height of a chart.
        notes: most printed notes on the records that are no warning.
        due: most printed lines of what is due, or more where the last page has room; with none the first page alone
            tells it.
        ranges: most printed ranges of line numbers for one method and file.
        text: most characters of a note on a figure, in whole sentences; the attachment has all of it.
        judged: most printed figures among those with a target or a standing to tell; None for all of them.
        kinds: whether works are printed kind by kind, or their groups and totals alone.
        left_out: parts of the report that are not printed.
    """

    name: str
    figures: int | None
    chart_height: float
    notes: int
    due: int
    ranges: int
    text: int
    judged: int | None = None
    kinds: bool = True
    left_out: tuple[str, ...] = ()


LOWEST = 0.65
"""Share of its full height below which no chart is drawn: its curve has some 14 mm then, beside its labels."""

REPORT_LEVELS = (
    ReportLevel("open", 60, 1.0, 12, 40, 10, 600),
    ReportLevel("open", 44, 0.9, 12, 20, 6, 600),
    ReportLevel("close", 36, 0.8, 10, 12, 4, 300),
    ReportLevel("close", 30, 0.7, 8, 8, 4, 300),
    ReportLevel("tight", 30, LOWEST, 6, 6, 2, 200),
    ReportLevel("tight", 25, LOWEST, 6, 6, 2, 200),
    ReportLevel("tight", 0, LOWEST, 4, 6, 2, 200),
    ReportLevel("tight", 0, LOWEST, 3, 0, 2, 200),
    ReportLevel("tight", 0, LOWEST, 3, 0, 1, 120, left_out=("matters",)),
    ReportLevel("tight", 0, LOWEST, 3, 0, 1, 120, left_out=("matters", "facts")),
    ReportLevel("tight", 0, LOWEST, 2, 0, 1, 120, left_out=("matters", "facts")),
    ReportLevel("tight", 0, LOWEST, 2, 0, 1, 120, 25, left_out=("matters", "facts")),
    ReportLevel("tight", 0, LOWEST, 1, 0, 1, 120, 23, left_out=("matters", "facts")),
    ReportLevel("tight", 0, LOWEST, 1, 0, 1, 120, 20, left_out=("matters", "facts")),
    ReportLevel("tight", 0, LOWEST, 0, 0, 1, 120, 16, left_out=("matters", "facts")),
)
_BACK = ("charts", "facts", "matters", "methods", "sources", "due")
SHORT_LEVELS = (
    ReportLevel("close", 0, 0.5, 4, 0, 2, 300, 14, left_out=_BACK),
    ReportLevel("tight", 0, 0.5, 2, 0, 2, 120, 8, left_out=_BACK),
    *(
        ReportLevel("tight", 0, 0.5, 0, 0, 2, 120, judged, kinds=False, left_out=_BACK)
        for judged in (14, 12, 10, 9, 8, 7, 6, 5, 4, 3, 0)
    ),
)
"""The short form: page one, and one page with what was done, what is off, and every caution and warning."""


def most_pages(*, short: bool) -> int:
    """Pages that a form of the report may have."""
    return MOST_PAGES_SHORT if short else MOST_PAGES


def levels_for(*, short: bool = False, every_figure: bool = False) -> tuple[ReportLevel, ...]:
    """The levels of a form of the report, the most open first.

    Args:
        short: whether the short form is asked for.
        every_figure: whether every figure is to be printed, on as many pages as that takes.
    """
    levels = SHORT_LEVELS if short else REPORT_LEVELS
    return tuple(replace(level, figures=None, judged=None) for level in levels) if every_figure else levels
