"""The picture of ``show`` in the docs is what it prints."""

from __future__ import annotations

import re
from html import unescape

from pipeline.cli.printing.green import Wanted, printed
from pipeline.indicators.base.green_season import GreenSeason
from scripts import show_picture


def test_the_picture_is_what_show_prints(demo_seasons: tuple[GreenSeason, ...]) -> None:
    """A picture of a page that no longer looks so: make sheet draws it anew."""
    (season,) = (one for one in demo_seasons if one.green == show_picture.GREEN)
    assert season.season == show_picture.SEASON
    assert show_picture.PICTURE.read_text("utf-8") == show_picture.picture(season), "run make sheet"


def test_the_picture_holds_each_line_once_in_its_place(demo_seasons: tuple[GreenSeason, ...]) -> None:
    (season,) = (one for one in demo_seasons if one.green == show_picture.GREEN)
    drawn = re.findall(
        r'<text x="([\d.]+)" y="[\d.]+" textLength="([\d.]+)">(.*?)</text>', show_picture.picture(season)
    )
    lines = [line for line in printed(season, show_picture.COLUMNS, Wanted()) if line]
    assert [unescape(text) for _, _, text in drawn[1:]] == [line.strip() for line in lines]
    widest = show_picture.COLUMNS * show_picture.ADVANCE + show_picture.MARGIN
    assert all(float(x) + float(length) <= widest + 0.01 for x, length, _ in drawn)
