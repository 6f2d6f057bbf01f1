"""How many blank lines a page of a form has room for, estimated before layout from what else stands on it."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor

from reports.page.estimate import lines
from reports.page.house_style import HouseStyle
from reports.paper.sheet import Sheet

PAGE_MM = {"A4": (190.0, 275.0), "Letter": (195.9, 257.4)}
"""Width and height of an upright page between its margins (paper.css)."""
EDGE_MM = 2.0
"""What margins of 10 and 12 mm leave wider across than upright."""
HEAD_MM, LOGO_MM, NAME_MM = 19.0, 16.0, 4.2
"""Height of title and hint; of a logo, and of a line of name or address, which stand beside them."""
HEAD_LINE_MM, HEAD_SPACE_MM, ABREAST = 8.0, 5.0, 3
"""A line of words to fill in over the table, the space round them, and how many words stand in one."""
COLUMN_LINE_MM, COLUMN_SPACE_MM = 3.6, 2.4
ROW_MM, WORD_LINE_MM, WORD_SPACE_MM = 7.75, 3.85, 3.0
LEAST_ROWS = 3
PT_PER_MM = 72 / 25.4


def fitted(sheet: Sheet, house: HouseStyle, fewer: int = 0) -> Sheet:
    """The sheet with no more blank lines than one page has room for, and so many fewer where it has too many."""
    room = floor((_height(sheet, house) - _beside(sheet, house)) / ROW_MM) - fewer
    return replace(sheet, rows=sheet.rows[: max(LEAST_ROWS, room)])


def _height(sheet: Sheet, house: HouseStyle) -> float:
    wide, high = PAGE_MM[house.paper]
    return wide - EDGE_MM if sheet.across else high


def _width(sheet: Sheet, house: HouseStyle) -> float:
    wide, high = PAGE_MM[house.paper]
    return high + EDGE_MM if sheet.across else wide


def _beside(sheet: Sheet, house: HouseStyle) -> float:
    """Height of all but the blank lines, mm."""
    named = LOGO_MM * bool(house.logo) + NAME_MM * (bool(house.name) + bool(house.address)) + 3.0
    head = max(HEAD_MM, named) + HEAD_SPACE_MM + HEAD_LINE_MM * ceil(len(sheet.head) / ABREAST)
    width = _width(sheet, house)
    tallest = max(lines(one.heading, 8.0, (one.width * width / 100 - 2.2) * PT_PER_MM) for one in sheet.columns)
    words = sum(lines(f"{one.heading}: {one.words}", 8.0, width * PT_PER_MM) for one in sheet.words)
    space = WORD_SPACE_MM * bool(words)
    return head + COLUMN_SPACE_MM + COLUMN_LINE_MM * tallest + WORD_LINE_MM * words + space
