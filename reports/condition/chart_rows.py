"""Where the rows of charts stand and how high they are drawn: estimated before anything is laid out.

The charts follow the works on page two. A row that does not fit there whole begins page three, and would leave the foot
of page two empty: the rows that fit are then drawn higher, up to their full height, and take that room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reports.page.charts.charts import ChartGroup, Heights
from reports.page.estimate import lines

PX = 0.765
"""Points that a pixel of a chart takes."""
PARTS = {"": 504.0, "half": 246.0, "twothirds": 330.0, "third": 162.0}
"""Width of a group, pt, by its share of the page."""
HEADING_EM = 0.56
"""Width of a character of a heading, in ems: it is bolder than text."""
GAP_PT, ABOVE_PT, BELOW_PT = 5.1, 8.5, 10.2
"""Space round a caption, above the first row, below every row."""
SAFE_PT = 8.0
"""What is kept free at the foot of page two, for an estimate may be a little too low."""
STARTS_PT = 95.0
"""Less room than this no part that follows can begin in: its heading and its first rows stand together."""


@dataclass(frozen=True)
class Rows:
    """The rows of charts as they stand.

    Attributes:
        heights: how high they are drawn.
        wasted_pt: room at the foot of page two that is left empty, pt.
    """

    heights: Heights
    wasted_pt: float


def rows_of(groups: Sequence[ChartGroup]) -> tuple[tuple[ChartGroup, ...], ...]:
    """The groups row by row: one that takes a part of the page's width stands beside the one before it."""
    rows: list[tuple[ChartGroup, ...]] = []
    for group in groups:
        if group.part in ("third", "half") and group.kind != "running" and rows:
            rows[-1] = (*rows[-1], group)
        else:
            rows.append((group,))
    return tuple(rows)


def height_pt(groups: Sequence[ChartGroup]) -> float:
    """Height of all rows, pt."""
    rows = rows_of(groups)
    return sum(row_pt(row) for row in rows) + ABOVE_PT * bool(rows)


def placed(groups: Sequence[ChartGroup], room_pt: float, height: float) -> Rows:
    """Which rows stand on page two, and how high these are drawn.

    Args:
        groups: drawn at their least height at this level of the report.
        room_pt: height that page two has left for charts, pt.
        height: share of their full height at which they are drawn.
    """
    rows = rows_of(groups)
    left, fitting = room_pt - ABOVE_PT - SAFE_PT, 0
    for row in rows:
        if row_pt(row) > left:
            break
        left -= row_pt(row)
        fitting += 1
    full = fitting == len(rows)
    if not fitting or (full and left > STARTS_PT):
        return Rows(Heights(height), 0.0 if full else max(0.0, left))
    grown = sum(max(float(chart.spec["height"]) for group in row for chart in group.charts) for row in rows[:fitting])
    most = grown * PX * (1.0 / height - 1.0)
    taken = min(left, most)
    share = height * (1.0 + taken / (grown * PX))
    return Rows(Heights(height, fitting, round(share, 3)), 0.0 if full else left - taken)


def row_pt(row: Sequence[ChartGroup]) -> float:
    """Height of a row: its highest group, pt."""
    return max(_group_pt(group) for group in row) + BELOW_PT


def _group_pt(group: ChartGroup) -> float:
    width = PARTS[group.part]
    heading = 13.2 * lines(group.heading, 10.5, width, HEADING_EM)
    caption = 11.5 * lines(group.caption, 8.5, width) + GAP_PT
    titles = 11.8 * any(chart.title for chart in group.charts)
    return heading + caption + titles + PX * max(float(chart.spec["height"]) for chart in group.charts)
