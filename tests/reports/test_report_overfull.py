"""Settings passed over because they would run over their pages: all that would have, and none that would not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import takewhile
from types import SimpleNamespace
from typing import Any

import pytest
from markupsafe import Markup

from pipeline.indicators.base.green_season import GreenSeason
from reports.condition import overfull, render
from reports.condition.levels import REPORT_LEVELS, most_pages
from reports.condition.overfull import HEAD_ROW_PT, SPARE_PT, Block, runs_over
from reports.page.document import Document, Pages, page_count
from reports.page.estimate import measured_lines
from reports.page.house_style import PLAIN
from reports.page.rendering import fonts_of_pages
from tests.thorough import but_for

GREENS = [
    "ALD-1", "ALD-2", "BRA-1", "CUL-1", "DRA-1", "ELV-1", "FEN-1", "FEN-2", "GAR-1", "HOL-1", "HOL-2", "INK-1", "KET-1",
    "LAR-1", "MOS-1", "PEL-1", "PEL-2", "TOR-1", "WIC-1",
]  # fmt: skip
WORDS = (
    "Share of points within ± 6 mm of their mean: 360 points, 1 of a post left out. Timed bowls, corrected to 27 m by "
    "t × √(27 ÷ d); mean of 60 bowls on 6 days; 95 % t interval. Of 6 rejected rows, 2 may change the total: see notes."
)


@pytest.mark.parametrize("green", but_for(["BRA-1", "INK-1"], GREENS))
def test_the_setting_foretold_is_the_one_found_by_trying(
    green: str, demo_seasons: tuple[GreenSeason, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """BRA-1 would run over by a few lines; the last page of INK-1 has four points left."""
    season = next(one for one in demo_seasons if one.green == green)
    kept = next(_drafts(season))
    assert _laid_out(season, kept) <= most_pages(short=False)
    monkeypatch.setattr(render, "overfull", lambda *_: False)
    passed = list(takewhile(lambda one: one.html != kept.html, _drafts(season)))
    different = {one.html: one for one in passed}
    assert all(_laid_out(season, one) > most_pages(short=False) for one in different.values())
    assert bool(passed) == (green in {"ALD-1", "BRA-1", "KET-1", "PEL-1"})


def _drafts(season: GreenSeason) -> Iterator[Pages]:
    return render.DOCUMENT.drafts(season, (), "0", PLAIN)


def _laid_out(season: GreenSeason, draft: Pages) -> int:
    """Pages that a draft takes, its end as it comes."""
    made: Document[GreenSeason] = replace(render.DOCUMENT, drafts=lambda *_: iter([draft]), endings=())
    return page_count(made.render(season, version="0"))


def test_every_green_of_the_demo_is_named_here(demo_seasons: tuple[GreenSeason, ...]) -> None:
    assert [one.green for one in demo_seasons] == GREENS


def test_what_is_the_houses_own_is_always_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """How high a text of the house's own comes out, or a page with its own stylesheet, is not known."""
    monkeypatch.setattr(overfull, "_blocks", lambda *_: [Block(700.0)] * 9)
    report: Any = SimpleNamespace(follows=False)
    tight, opener = REPORT_LEVELS[-1], REPORT_LEVELS[0]
    assert overfull.overfull(report, tight, (), (), PLAIN)
    assert not overfull.overfull(report, opener, (), (), PLAIN)
    for house in (replace(PLAIN, short=True), replace(PLAIN, texts={"condition-opening.md": Markup("<p>Loam.</p>")})):
        assert not overfull.overfull(report, tight, (), (), house)
    follows: Any = SimpleNamespace(follows=True)
    assert not overfull.overfull(follows, tight, (), (), PLAIN)


@pytest.mark.parametrize(
    ("heights", "over"),
    [
        ([60, 40, 60, 40], False),
        ([60, 60, 60], True),
        ([60, 40, 60, 40 + SPARE_PT], False),
        ([60, 40, 60, 41 + SPARE_PT], True),
        ([60, 40 + SPARE_PT, 60], False),  # the second block goes to page two, with the third
        ([150, 60], False),
    ],
)
def test_blocks_on_two_pages(heights: list[float], over: bool) -> None:
    assert runs_over([Block(high) for high in heights], 113.0 - SPARE_PT - 1.0, 2) is over


def test_a_table_has_its_head_on_every_page() -> None:
    rows = [Block(50.0, HEAD_ROW_PT)] * 4
    assert not runs_over([replace(one, at_head=0.0) for one in rows], 100.0, 2)
    assert runs_over(rows, 100.0, 2)


def test_rows_that_stay_together() -> None:
    assert overfull._together([1.0] * 10, 3, 2) == [3.0, 1.0, 1.0, 1.0, 1.0, 1.0, 2.0]
    assert overfull._together([1.0] * 4, 4, 4) == [4.0]
    assert overfull._together([1.0] * 6, 4, 4) == [6.0]
    assert overfull._together([2.0], 3, 2) == [2.0]


@pytest.mark.parametrize("width", [98.0, 127.5, 300.0, 504.0])
def test_lines_are_as_many_as_the_renderer_makes(width: float) -> None:
    from weasyprint import CSS, HTML
    from weasyprint.formatting_structure.boxes import LineBox

    style = CSS(string=f"body {{ font: 9.5pt Inter; width: {width}pt; margin: 0 }} @page {{ size: A4; margin: 10pt }}")
    page = HTML(string=f"<p>{WORDS}</p>").render(font_config=fonts_of_pages(), stylesheets=[style]).pages[0]
    lines = sum(isinstance(box, LineBox) for box in page._page_box.descendants())
    assert measured_lines(WORDS, 9.5, width) == lines
    assert measured_lines("", 9.5, width) == 0
