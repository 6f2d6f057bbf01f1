"""How closely a condition report is set after its first page: the first level that keeps it on its pages is taken.

What gives way, in this order: height of charts and space between lines, figures without a target, lists of lines, what
is due (the first page has all of it), the figures in words, last figures that are on target. The table of works, every
caution and every warning on the records always stand.
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
        due: most printed lines of what is due; with none the first page alone tells it.
        ranges: most printed ranges of line numbers for one method and file.
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
    judged: int | None = None
    kinds: bool = True
    left_out: tuple[str, ...] = ()


REPORT_LEVELS = (
    ReportLevel("open", 60, 1.0, 12, 40, 10),
    ReportLevel("close", 48, 0.85, 10, 12, 4),
    ReportLevel("tight", 38, 0.7, 6, 6, 2),
    ReportLevel("tight", 32, 0.6, 5, 0, 2),
    ReportLevel("tight", 26, 0.55, 4, 0, 1, 40),
    ReportLevel("tight", 20, 0.5, 3, 0, 1, 30, left_out=("matters",)),
    ReportLevel("tight", 20, 0.45, 2, 0, 1, 22, left_out=("matters", "facts")),
)
_BACK = ("charts", "facts", "matters", "methods", "sources", "due")
SHORT_LEVELS = (
    ReportLevel("tight", 8, 0.5, 2, 0, 2, 8, left_out=_BACK),
    ReportLevel("tight", 8, 0.5, 0, 0, 2, 8, kinds=False, left_out=_BACK),
    ReportLevel("tight", 0, 0.5, 0, 0, 2, 0, kinds=False, left_out=_BACK),
)
"""The short form: page one, and one page with what was done, what is off, and every caution and warning."""

MANY = 60
"""Figures from which a green has nearly everything recorded, long lists of works and cautions too."""
MORE_THAN_MANY = 180
"""Figures of a surveyed green that has nearly everything recorded besides."""


def levels_for(figures: int, *, short: bool = False, every_figure: bool = False) -> tuple[ReportLevel, ...]:
    """The levels worth trying for so many figures: a layout that cannot fit is not tried, for it costs a second.

    The bounds were found by laying out the demo county and the sample seasons of the tests.

    Args:
        figures: figures of the green.
        short: whether the short form is asked for.
        every_figure: whether every figure is to be printed, on as many pages as that takes.
    """
    levels = _levels(figures, short=short)
    return tuple(replace(level, figures=None, judged=None) for level in levels) if every_figure else levels


def _levels(figures: int, *, short: bool) -> tuple[ReportLevel, ...]:
    if short:
        return SHORT_LEVELS
    if figures > MANY:
        return REPORT_LEVELS[3:]
    if figures > 34:
        return REPORT_LEVELS[2:]
    return REPORT_LEVELS[1:] if figures > 26 else REPORT_LEVELS
