"""Links within a document: contents of long ones, numbers of figures to how they are made and back."""

from __future__ import annotations

import io
import re
from types import SimpleNamespace
from typing import Any

import page
import pikepdf
import pytest

from pipeline.summaries.club import club_season
from reports.page import glossary
from reports.page.house_style import PLAIN, HouseStyle
from reports.page.links import MORE_THAN, PLACE, laid_out, settled, wanted
from reports.round_up import render as round_up
from reports.summary import render as summary
from tests.outside_checks import outside
from tests.reports import club_sample
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import elements, pages_text

BODY = f'<h2>First</h2>{PLACE}<h2 id=\'a\'>no</h2><h2 id="b">Of <b>b</b></h2><h2 id="c" class="x">Of c</h2>'


def test_contents_are_the_headings_after_their_place_that_have_a_name() -> None:
    found = re.findall(r'<li data-to="#(\w)"><a href="#(\w)">(.*?)</a>', settled(BODY))
    assert found == [("b", "b", "Of b"), ("c", "c", "Of c")]
    assert "<nav" not in settled(f'{PLACE}<h2 id="b">One alone</h2>')
    assert settled("<p>as it is</p>") == "<p>as it is</p>"


def test_a_link_that_leads_nowhere_is_text() -> None:
    """Where a section is left out, or a house's own template stands, the renderer would refuse the link."""
    made = settled('<p id="there"><a href="#there">1</a> <a id="x" href="#gone">2</a> <a href="#gone">3, 4</a></p>')
    assert made == '<p id="there"><a href="#there">1</a> <span id="x">2</span> 3, 4</p>'


@pytest.mark.parametrize(
    ("without", "with_them", "before", "shown", "laid"),
    [
        (4, 5, None, False, [False]),
        (5, 6, None, True, [False, True]),
        (5, 6, 7, True, [True]),
        (3, 4, 7, False, [True, False]),
    ],
)
def test_contents_are_shown_where_there_are_more_than_four_pages(
    without: int, with_them: int, before: int | None, shown: bool, laid: list[bool]
) -> None:
    """And a document is laid out twice only where it could not be told."""
    tried: list[bool] = []

    def lay(long: bool) -> Any:
        tried.append(long)
        return SimpleNamespace(pages=[0] * (with_them if long else without))

    draft = None if before is None else SimpleNamespace(pages=[0] * before)
    document, told = laid_out(lay, settled(BODY), draft, 5)
    assert (told, tried) == (shown, laid)
    assert len(document.pages) == (with_them if shown else without)


def test_a_draft_that_may_have_four_pages_is_laid_out_once() -> None:
    """It is seldom kept where it has more; where it is, contents are wanted then."""
    tried: list[bool] = []

    def lay(long: bool) -> Any:
        tried.append(long)
        return SimpleNamespace(pages=[0] * 6)

    document, told = laid_out(lay, settled(BODY), None, 4)
    assert (told, tried) == (False, [False])
    assert wanted(settled(BODY), document)
    assert not wanted("<p>No contents</p>", document)


def test_every_number_of_a_summary_leads_to_its_method_and_back() -> None:
    made = summary.html(club_season([club_sample.main_green(), club_sample.lower_green()]), version=VERSION)
    there = re.findall(r'<a id="figure-(\d+)" href="#method-(\d+)">', made)
    assert [number for number, _ in there] == ["1", "2", "3", "4"]
    lines = dict(re.findall(r'<span class="refs" id="method-(\d+)"><a href="#figure-(\d+)">', made))
    assert all(lines[line] == number for number, line in there)
    house = HouseStyle(left_out=("methods",))
    bare = summary.html(club_season([club_sample.main_green()]), version=VERSION, house=house)
    assert "#method-" not in bare and 'id="figure-1"' in bare


WORDS = """<html><head><style>.sward{}</style></head><body><p class="thatch">Top&nbsp;dressing of the RINK.</p>
<img alt="pH"></body></html>"""


def test_only_words_that_a_document_says_are_explained_in_order() -> None:
    """Neither a class, a style nor a part of a word is said; an alternative text is."""
    assert [one.term for one in glossary.used(WORDS)] == ["pH", "rink", "top dressing"]
    assert glossary.used("<p>interlink, mesh, greens</p>") == ()
    names = [one.term for one in glossary.terms()]
    assert names == sorted(names, key=str.casefold) and len(set(names)) == len(names)


def test_a_summary_ends_with_the_words_it_uses_and_only_those() -> None:
    club = club_season([club_sample.main_green(), club_sample.lower_green()])
    assert glossary.SECTION not in summary.html(club, version=VERSION, house=PLAIN)
    made = summary.html(club, version=VERSION, house=HouseStyle(glossary=True))
    pages, _, last = made.partition(glossary.SECTION)
    told = re.findall(r'<span class="term">(.*?)</span>', last)
    assert {"organic matter", "top dressing", "on target"} <= set(told)
    assert told == sorted(told, key=str.casefold)
    assert told == [one.term for one in glossary.used(pages)]
    assert "crown green" not in told


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
def test_a_long_document_has_contents_with_the_pages_of_its_parts() -> None:
    """A round-up of many greens: what each line of the contents says is where its heading stands."""
    pdf = round_up.render(club_sample.round_up(club_sample.county(150)), version=VERSION)
    said = pages_text(pdf)
    assert len(said) > MORE_THAN
    told = re.findall(r"(What is due, by date|Where data is missing|All greens|Hours and cost)\s+(\d+)\s", said[0])
    assert len(told) == 4
    for heading, number in told:
        assert heading in said[int(number) - 1].replace("\r\n", "\n").split("\n"), (heading, number)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        tags = [str(one.S) for one in elements(document)]
        assert tags.count("/Link") >= 4
        assert (tags.count("/TOC"), tags.count("/TOCI")) == (1, tags.count("/Reference"))
        assert tags.count("/TOCI") >= 4 and "/L" in tags, "a list of other lines stays a list"
    for profile in (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A):
        found = page.validate_pdf_bytes(pdf, profile=profile)
        assert found.is_compliant, [str(failure) for failure in found.failures]
