"""Estimates of heights are held to the stylesheets: a size changed in one place alone sets pages too closely, or twice.

The estimates are rounded, so each may lie off by what is said beside it.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.first_page.build import alone
from reports.condition import back_fit
from reports.condition.first import fit as first_fit
from reports.condition.first.level import FIRST_LEVELS
from reports.condition.first.page import first_page
from reports.handout import fit as handout_fit
from reports.page import own_text
from reports.page.house_style import PLAIN, HouseStyle
from tests.outside_checks import outside
from tests.reports import sample
from tests.reports.stylesheets import PAPER, Styled

SEASON = replace(sample.rich(), first=alone(sample.rich()))
HANDOUT = ("style.css", "handout.css")
FIRST = ("style.css", "first-page.css")
BACK = ("style.css", "condition.css")
PAGES = {
    "handout": (HANDOUT, handout_fit.PAGE_PT),
    "first": (FIRST, first_fit.PAGE_PT),
    "back": (("style.css",), back_fit.PAGE_PT),
}


@outside("standard", "ISO 216 (A4) and ANSI A (Letter): heights of the papers")
@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_its_paper_without_the_margins(name: str) -> None:
    sheets, pages = PAGES[name]
    margins = Styled(sheets, "@page", *(["@page :first", "@page:first"] if name != "back" else []))
    for paper, high in PAPER.items():
        assert pages[paper] == pytest.approx(high - margins.pt("margin-top") - margins.pt("margin-bottom"), abs=1.6)


@pytest.mark.parametrize("name", handout_fit.SETTINGS)
def test_sizes_of_a_handout(name: str) -> None:
    told = handout_fit.SETTINGS[name]
    text = Styled(HANDOUT, ".handout", f".handout.{name}")
    assert (told.type, told.leading) == (text.pt("font-size"), text.line)
    cell = ".handout .todo", ".handout .todo td", f".handout.{name} .todo", f".handout.{name} .todo td"
    assert told.row == pytest.approx(Styled(HANDOUT, *cell).row)
    decided = Styled(HANDOUT, *cell, f".handout.{name} .todo tbody tr.decide td")
    assert told.decided == pytest.approx(decided.row)
    heading = Styled(HANDOUT, ".handout h2", f".handout.{name} h2")
    apart = heading.heading + Styled(HANDOUT, ".foundon", f".handout.{name} .foundon").pt("margin-top")
    assert told.apart == pytest.approx(apart, abs=2.0)


def test_sizes_of_a_first_page() -> None:
    """What one row, one finding and one line more make of the estimate, beside what the stylesheet makes of it."""
    made = first_page(SEASON, FIRST_LEVELS[0], "metric")
    assert made.actions.rows and made.found and not made.checks.framed
    high = first_fit.height_pt(made)

    def more(**changed: object) -> float:
        return first_fit.height_pt(replace(made, **changed)) - high  # type: ignore[arg-type]

    one = replace(made.actions.rows[0], detail="")
    row = Styled(FIRST, ".pageone .todo", ".pageone .todo td").row
    assert more(actions=replace(made.actions, rows=(*made.actions.rows, one))) == pytest.approx(row, abs=0.5)
    verdict = Styled(FIRST, ".verdict").line
    assert more(verdict=made.verdict + " x" * 30) == pytest.approx(verdict)
    counts = Styled(FIRST, ".pageone").line
    assert more(counts=made.counts + " x" * 44) == pytest.approx(counts)
    told = replace(made.found[0], lead="", words="x" * 400)
    item = Styled(FIRST, ".pageone", ".found li")
    lines = more(found=(*made.found, told, replace(told, words="x"))) - more(found=(*made.found, told))
    assert lines == pytest.approx(item.line + item.pt("margin-bottom"))


def test_the_head_of_a_house_is_as_high_as_its_higher_side() -> None:
    """A logo over the lines of the issue took the room of the map of levels; it stands beside them."""
    line = Styled(FIRST, ".frontfor .line").row
    logo = Styled(FIRST, ".logo").pt("max-height") + Styled(FIRST, ".frontlogo").pt("margin-top")
    assert pytest.approx(line, abs=0.5) == first_fit.LINE_PT
    assert pytest.approx(logo, abs=1) == first_fit.LOGO_PT
    room = first_fit._room(PLAIN)
    lines = HouseStyle(prepared_by="A. Field", name="Vale Grounds", address="2 Mill Lane", number="{file}", file="x")
    with_logo = first_fit._room(replace(PLAIN, logo=b"x"))
    assert room - first_fit._room(lines) == pytest.approx(line + 2 * 12.5, abs=3)
    assert room - with_logo == pytest.approx(logo, abs=3)
    assert first_fit._room(replace(lines, logo=b"x")) == min(first_fit._room(lines), with_logo)


def test_what_a_first_page_saves_set_closely() -> None:
    made = first_page(SEASON, FIRST_LEVELS[0], "metric")
    saved = first_fit.height_pt(replace(made, closely=False)) - first_fit.height_pt(replace(made, closely=True))

    def less(selector: str, side: str, closer: str = "") -> float:
        return Styled(FIRST, selector).pt(side) - Styled(FIRST, closer or f".closely {selector}").pt(side)

    blocks = sum(less(one, "margin-top") for one in (".verdict", ".spent", ".foundrow", ".actions", ".measurerow"))
    rows = 2 * less(".pageone .todo td", "padding-top", ".pageone.closely .todo td") * (len(made.actions.rows) + 1)
    found = less(".found li", "margin-bottom") * len(made.found)
    counts = Styled(FIRST, ".pageone", ".counts"), Styled(FIRST, ".closely .counts")
    lines = counts[0].pt("margin-top") + counts[0].line - counts[1].line
    assert saved == pytest.approx(blocks + rows + found + lines, abs=5.0)


@pytest.mark.parametrize("name", ["open", "close", "tight"])
def test_sizes_of_the_pages_behind(name: str) -> None:
    heading = Styled(BACK, "h2", f".{name} h2").heading
    assert back_fit.HEADING_PT[name] == pytest.approx(heading, abs=1.5)
    cells = ".values td", f".{name} .values td"
    row = Styled(BACK, "table", ".values", f".{name} table", "td", *cells)
    row.told["line-height"] = Styled(BACK, ".values").told["line-height"]
    assert back_fit.ROW_PT[name] == pytest.approx(row.row, abs=0.6)
    assert Styled(BACK, ".fine", f".{name} .fine").pt("font-size") == back_fit.SMALL_PT[name]
    item = Styled(BACK, ".cautions li", f".{name} .cautions li")
    assert back_fit.ITEM_PT[name] == pytest.approx(item.pt("padding-top") + item.pt("padding-bottom"), abs=1.0)


def test_sizes_of_a_text_of_the_houses_own() -> None:
    text = Styled(("style.css",), ".owntext")
    one, two = (own_text._height_pt(f"<p>{'x' * n}</p>") for n in (90, 180))
    assert two - one == pytest.approx(text.line, abs=0.1)
    assert one - text.line == pytest.approx(Styled(("style.css",), ".owntext p").pt("margin-bottom"), abs=0.6)
    picture = Styled(("style.css",), ".owntext img")
    assert own_text._height_pt("<img >") == pytest.approx(picture.pt("max-height"), abs=1)
