"""How closely a survey is set, and so how much of it is printed."""

from __future__ import annotations

from dataclasses import dataclass


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
