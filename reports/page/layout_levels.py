"""How closely a report is set: the first layout level that keeps it on five pages is taken."""

from __future__ import annotations

from dataclasses import dataclass, replace

MOST_PAGES = 5
MOST_PAGES_SHORT = 3


@dataclass(frozen=True)
class LayoutLevel:
    """How closely a report is set, and so how much of it is printed.

    Attributes:
        name: class of the page body; its type sizes and spaces stand in style.css.
        figures: most printed figures; those with a target always stand, whatever their number. None for every one.
        chart_height: share of the full height of a chart.
        works: most printed lines of works.
        notes: most printed data notes.
        cautions: most printed cautions.
        due: most printed lines of what is due.
        ranges: most printed ranges of line numbers for one method and file.
        text: most characters of a free text in a table cell.
        judged: most printed figures among those with a target or a standing to tell; None for all of them.
        left_out: parts of the report that are not printed.
    """

    name: str
    figures: int | None
    chart_height: float
    works: int
    notes: int
    cautions: int
    due: int
    ranges: int
    text: int
    judged: int | None = None
    left_out: tuple[str, ...] = ()


LAYOUT_LEVELS = (
    LayoutLevel("open", 60, 1.0, 25, 12, 12, 10, 10, 240),
    LayoutLevel("close", 48, 0.85, 20, 10, 12, 8, 4, 160),
    LayoutLevel("tight", 38, 0.66, 15, 6, 12, 5, 2, 100),
    LayoutLevel("tight", 32, 0.6, 12, 5, 12, 5, 2, 100),
    LayoutLevel("tight", 26, 0.5, 8, 4, 12, 4, 1, 90, 34),
    LayoutLevel("tight", 20, 0.45, 6, 3, 12, 3, 1, 80, 26),
)
_FINE_PRINT = ("methods", "sources")
SHORT_LEVELS = (
    *(
        LayoutLevel("tight", judged, height, works, 3, 5, 4, 2, 100, judged, _FINE_PRINT)
        for judged, height, works in ((18, 0.66, 8), (14, 0.55, 6), (10, 0.5, 4))
    ),
    LayoutLevel("tight", 8, 0.45, 3, 2, 4, 2, 2, 60, 8, _FINE_PRINT),
    LayoutLevel("tight", 8, 0.5, 3, 2, 5, 2, 2, 60, 8, (*_FINE_PRINT, "charts")),
)
"""The short form: page one, the figures that can be judged, charts, works, what is due and cautions."""


MANY = 60
"""Figures from which a green has nearly everything recorded, long lists of works and cautions too."""
MORE_THAN_MANY = 180
"""Figures of a surveyed green that has nearly everything recorded besides."""


def levels_for(figures: int, *, short: bool = False, every_figure: bool = False) -> tuple[LayoutLevel, ...]:
    """The levels worth trying for so many figures: a layout that cannot fit is not tried, for it costs a second.

    The bounds were found by laying out the demo county and the sample seasons of the tests.

    Args:
        figures: figures of the green.
        short: whether the short form is asked for.
        every_figure: whether every figure is to be printed, on as many pages as that takes.
    """
    levels = _levels(figures, short=short)
    return tuple(replace(level, figures=None, judged=None) for level in levels) if every_figure else levels


def _levels(figures: int, *, short: bool) -> tuple[LayoutLevel, ...]:
    if short:
        return SHORT_LEVELS[3:] if figures > MANY else SHORT_LEVELS
    if figures > MANY:
        return LAYOUT_LEVELS[4:] if figures > MORE_THAN_MANY else LAYOUT_LEVELS[3:]
    if figures > 34:
        return LAYOUT_LEVELS[2:]
    return LAYOUT_LEVELS[1:] if figures > 26 else LAYOUT_LEVELS
