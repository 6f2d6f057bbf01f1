"""How closely a handout has to be set to be one page: its height in points, estimated before it is laid out.

A layout costs a fifth of a second, an estimate nothing; where it is wrong the next closer setting is tried.
"""

from __future__ import annotations

from dataclasses import dataclass

from reports.handout.view import GreenPart, HandoutReport
from reports.page.estimate import lines
from reports.page.house_style import HouseStyle

PAGE_PT = {"A4": 772.0, "Letter": 722.0}
"""Height of the page between its margins, 11 and 14 mm."""
WIDE_PT = 504.0
SPARE = 0.03
"""Share of a page by which an estimate may be too high."""


@dataclass(frozen=True)
class Setting:
    """Sizes of a setting in points, as handout.css has them.

    Attributes:
        type: of the text.
        leading: of its lines.
        row: height of a row of the table.
        decided: height of a row that the committee decides.
        apart: space between greens.
        fixed: head, sums, headings and small print.
    """

    type: float
    leading: float
    row: float
    decided: float
    apart: float
    fixed: float


SETTINGS = {
    "roomy": Setting(12.0, 16.5, 19.7, 27.5, 31.0, 232.0),
    "ample": Setting(11.0, 14.5, 19.7, 19.7, 27.0, 228.0),
    "snug": Setting(11.0, 14.5, 17.7, 17.7, 25.0, 218.0),
    "lower": Setting(10.0, 12.5, 15.4, 15.4, 20.0, 190.0),
    "lowest": Setting(9.5, 11.5, 13.6, 13.6, 19.0, 180.0),
    "least": Setting(9.5, 11.2, 12.7, 12.7, 16.0, 160.0),
}


def may_fit(of: HandoutReport, house: HouseStyle) -> bool:
    """Whether a handout may be one page, what a house adds of its own left out."""
    return height_pt(of) <= PAGE_PT[house.paper] * (1 + SPARE)


def height_pt(of: HandoutReport) -> float:
    """Height of a handout, pt, estimated."""
    one = SETTINGS[of.density.split()[-1]]
    found = sum(one.apart + _green(green, one) for green in of.greens)
    checks = 30.0 + sum(_lines(f"{p.lead} {p.words}", one, WIDE_PT - 24) + 3 for p in of.checks) if of.checks else 0.0
    rows = [row for green in of.todo for row in green.rows]
    decided = sum(row.who == "Committee" for row in rows)
    table = decided * one.decided + (len(rows) - decided) * one.row + 12.0 * sum(bool(row.detail) for row in rows)
    groups = 0 if of.one else len(of.todo) * one.row
    notes = 40.0 + 25.6 * len(of.lines) if of.lines else 0.0
    return one.fixed + found + checks + table + groups + notes + (14.0 if of.unlogged else 0.0)


def _green(of: GreenPart, one: Setting) -> float:
    told = [f"{of.counts} {of.spent}", *(f"{f.lead} {f.words}" for f in of.found), *([of.found_none] * (not of.found))]
    small = lines(of.also, 9.5, WIDE_PT) * 12.0 if of.also else 0.0
    return sum(_lines(words, one, WIDE_PT - 17) for words in told) + small


def _lines(words: str, one: Setting, width: float) -> float:
    return max(1, lines(words, one.type, width)) * one.leading
