"""How closely a first page has to be set to be one page: its height in points, estimated before it is laid out.

A layout costs a second, an estimate nothing; where it is wrong the next closer setting is tried
(``reports/page/document.py``).
"""

from __future__ import annotations

from pipeline.indicators.base.green_season import GreenSeason
from reports.condition.first.checks import CheckBox
from reports.condition.first.level import FIRST_LEVELS
from reports.condition.first.page import FirstPageView, first_page
from reports.page.estimate import lines
from reports.page.house_style import HouseStyle

PAGE_PT = {"A4": 765.0, "Letter": 714.0}
"""Height of the page between its margins, 12 and 15 mm."""
FIXED_PT = 72.0 + 52.0 + 62.0 + 18.0 + 72.0 + 180.0
"""Head, verdict, what was spent, gaps, frame of the actions, measures (held against the pages of the demo)."""
BAR_PT = 8.0
"""What a measure without a bar is lower."""
EM, NOTE_EM = 0.52, 0.47
"""Width of a character in ems: bolder than most, but for the note below the actions and the key of the bars."""
WIDE_PT, LEFT_PT, BOX_PT = 480.0, 272.0, 175.0
"""Widths of text: over the page, of the findings beside a box, in the box."""
WHO_PT = 127.0
"""Width of who prepared it for whom."""
LOGO_PT, LINE_PT, PLAIN_HEAD_PT = 46.0, 20.0, 62.0
"""In the head: a logo with the space above it, a line of the issue, and what the lower side takes without either."""
CLOSELY_PT, CLOSER_ROW_PT, CLOSER_FOUND_PT, CLOSER_BOX_PT = 24.0, 1.4, 1.5, 4.0
"""What less space between the blocks saves, in each row of the actions, below each finding, and above a framed box."""
KEY_PT, DETAIL_PT, DETAIL_EM = 360.0, 145.0, 0.47
"""Width of the key of the measures, and of the small line below an action with its characters' in ems."""
ROOMY = 0.775
"""Share of a page: what follows page one begins on it where no more is filled, for a third of it would be empty else.

The estimate is up to a tenth too high where little is on record."""


def starting(season: GreenSeason, house: HouseStyle) -> int:
    """Place in ``FIRST_LEVELS`` of the most open setting that should fit; the last where none should.

    Args:
        season: the season with its first page, in units of display.
        house: the house style.
    """
    room = _room(house)
    for place, level in enumerate(FIRST_LEVELS):
        if height_pt(first_page(season, level, house.units)) <= room:
            return place
    return len(FIRST_LEVELS) - 1


def leaves_room(page: FirstPageView, house: HouseStyle) -> bool:
    """Whether a first page fills so little of its paper that what follows it begins there."""
    return height_pt(page) <= ROOMY * _room(house)


def _room(house: HouseStyle) -> float:
    return PAGE_PT[house.paper] - _more_head_pt(house)


def _more_head_pt(house: HouseStyle) -> float:
    """What a house's own name, logo and number make the head higher, pt: the higher of its two sides counts."""
    maker = dict.fromkeys(one for one in (house.prepared_by, house.name, house.address) if one)
    rows = [list(maker), [house.prepared_for], [house.issued_on], *([[house.report_number]] if house.number else [])]
    taken = sum(sum(max(1, lines(one, 9.5, WHO_PT)) for one in row or [""]) - 1 for row in rows) * 12.5
    right = len(rows) * LINE_PT + taken
    return max(right, PLAIN_HEAD_PT + LOGO_PT * bool(house.logo)) - PLAIN_HEAD_PT


def height_pt(page: FirstPageView) -> float:
    """Height of a first page, pt, estimated."""
    width = WIDE_PT if page.checks.framed else LEFT_PT
    found = 20.0 + sum(_lines(f"{one.lead} {one.words}", 11.0, width) * 14.5 + 4.0 for one in page.found)
    found += 15.5 * bool(page.found_more)
    box = _box(page.checks, WIDE_PT if page.checks.framed else BOX_PT)
    middle = found + box + 18.0 if page.checks.framed else max(found, box)
    rows = sum(19.5 + 12.0 * lines(one.detail, 9.5, DETAIL_PT, DETAIL_EM) for one in page.actions.rows)
    note = 3.5 + 12.5 * max(1, lines(page.actions.note, 9.5, 504.0, NOTE_EM)) if page.actions.note else 0.0
    counts = 14.5 * (_lines(page.counts, 11.0, 504.0) - 1)
    verdict = 25.0 * (_lines(page.verdict, 20.0, 500.0) - 1)
    bare = BAR_PT * sum(one.bar is None for one in page.measures)
    key = 11.0 * (lines(page.key, 8.5, KEY_PT, NOTE_EM) - 2)
    return FIXED_PT + middle + rows + note + counts + verdict + key - bare - _closer(page)


def _closer(page: FirstPageView) -> float:
    """What a page saves that is set closely."""
    of_parts = CLOSER_ROW_PT * (len(page.actions.rows) + 1) + CLOSER_FOUND_PT * len(page.found)
    return (CLOSELY_PT + of_parts + CLOSER_BOX_PT * page.checks.framed) * page.closely


def _box(box: CheckBox, width: float) -> float:
    size, leading = (11.0, 14.5) if box.framed else (10.5, 13.5)
    each = sum(_lines(f"{one.lead} {one.words}", size, width) * leading + 4.0 for one in box.paragraphs)
    return 36.0 + each


def _lines(words: str, size: float, width: float) -> int:
    return max(1, lines(words, size, width, EM))
