"""Page one of greens of the demo county as it is printed: one page, large enough, nothing cut, everything there."""

from __future__ import annotations

import ctypes
import re
from collections.abc import Callable
from functools import cache
from itertools import pairwise

import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.publish.first_pages import FirstPages, first_pages
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from reports.condition.first.level import FIRST_LEVELS
from reports.condition.first.page import FirstPageView, first_page
from reports.condition.render import render
from reports.page.house_style import HouseStyle
from reports.page.units import in_units
from tests.thorough import thorough

GREENS = ("ALD-1", "HOL-1", "KET-1", "FEN-1", "WIC-1")
"""Surveyed and rich, with a keying slip, poor, a crown green, and one of which nothing is recorded."""
HOUSES = {
    "ours": HouseStyle(prepared_for="The committee", issued_on="28\u00a0November\u00a02026"),
    "US letter": HouseStyle(name="County Greens Service", address="The Yard", units="US", paper="Letter"),
}
SMALLEST_PT = 8.0

SeasonOf = Callable[[str], GreenSeason]
Pdf = Callable[[str, str], bytes]


@pytest.fixture(scope="module")
def season_of(demo_county: Workspace) -> SeasonOf:
    span = demo_county.season("2026")
    with Store(demo_county.store, read_only=True) as store:
        records = read_records(store)
        pages: FirstPages = first_pages(store, records, list(GREENS), span, demo_county)

    @cache
    def made(green: str) -> GreenSeason:
        return pages.on(green_season(records, green, span, demo_county))

    return made


@pytest.fixture(scope="module")
def pdf_of_green(season_of: SeasonOf) -> Pdf:
    @cache
    def made(green: str, house: str) -> bytes:
        return render(season_of(green), version="test", house=HOUSES[house])

    return made


PRINTED = [
    *(pytest.param(green, "ours", marks=() if green in ("ALD-1", "WIC-1") else thorough) for green in GREENS),
    ("HOL-1", "US letter"),
    pytest.param("ALD-1", "US letter", marks=thorough),
]


def flat(words: str) -> str:
    return re.sub(r"\s", "", words.replace("\u00ad", ""))


def first_text(pdf: bytes) -> str:
    return flat(pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_bounded())


def texts_of(page: FirstPageView) -> list[str]:
    """Every text that has to be whole on the page, whichever level it is set at."""
    return [
        page.verdict,
        page.counts,
        *(word for cell in page.spent for word in (cell.label, cell.value, cell.below)),
        page.spent_note,
        *(row.label for row in page.measures),
        *(row.value for row in page.measures),
        *(limit.label for row in page.measures if row.bar for limit in row.bar.limits),
        page.key,
        page.checks.heading,
    ]


@pytest.mark.parametrize(("green", "house"), PRINTED)
def test_page_one_is_one_page_and_holds_the_six_measures(pdf_of_green: Pdf, green: str, house: str) -> None:
    document = pypdfium2.PdfDocument(pdf_of_green(green, house))
    first, second = (document[i].get_textpage().get_text_bounded() for i in (0, 1))
    assert "Six measures against target" in first
    assert "Shaded: target" in first or green == "WIC-1"
    assert second.split("\n")[2].startswith("1 October 2025") or "Records up to" in second
    assert "Six measures" not in second


@pytest.mark.parametrize(("green", "house"), PRINTED)
def test_its_texts_are_whole_on_it(pdf_of_green: Pdf, season_of: SeasonOf, green: str, house: str) -> None:
    """What is said stands there, at whichever level, and nothing ends in dots."""
    said = first_text(pdf_of_green(green, house))
    assert "…" not in said
    units = HOUSES[house].units
    shown = in_units(season_of(green), units)
    for words in texts_of(first_page(shown, units=units)):
        assert flat(words) in said, words
    pages = [first_page(shown, level, units) for level in FIRST_LEVELS]
    assert any(
        all(flat(f"{line.lead}{line.words}") in said for line in page.found)
        and all(flat(f"{one.lead}{one.words}") in said for one in page.checks.paragraphs)
        and all(flat(word) in said for row in page.actions.rows for word in (row.what, row.amount, row.when, row.cost))
        and flat(page.actions.total_label) in said
        for page in pages
    )


@pytest.mark.parametrize(("green", "house"), PRINTED)
def test_no_type_on_it_is_smaller_than_8_pt(pdf_of_green: Pdf, green: str, house: str) -> None:
    """A committee member of eighty reads it without a glass."""
    words = pypdfium2.PdfDocument(pdf_of_green(green, house))[0].get_textpage()
    sizes = set()
    for at in range(words.count_chars()):
        if chr(pdfium.FPDFText_GetUnicode(words.raw, at)).isspace():
            continue
        matrix = pdfium.FS_MATRIX()
        assert pdfium.FPDFText_GetMatrix(words.raw, at, ctypes.byref(matrix))
        sizes.add(round(pdfium.FPDFText_GetFontSize(words.raw, at) * abs(matrix.d), 2))
    assert min(sizes) >= SMALLEST_PT - 0.01, sorted(sizes)
    assert {9.5, 11.0, 20.0, 27.0} <= sizes


def test_a_keying_slip_of_the_demo_heads_its_page(season_of: SeasonOf) -> None:
    """500 kg of 9 % on 1,406 m² are 320 of the season's 390 kg/ha."""
    page = first_page(season_of("HOL-1"))
    assert page.verdict == "Check one entry first. The rest is sound."
    assert page.checks.framed
    said = " ".join(f"{one.lead} {one.words}" for one in page.checks.paragraphs).replace("\u202f", " ")
    assert "jobs_south_crew.csv, line 209:" in said
    assert "ignore the nitrogen (N) applied of 390 kg/ha. Without this entry it would be 70 kg/ha: off." in said


def test_the_head_leaves_lines_to_fill_in_and_prints_what_is_given(pdf_of_green: Pdf, season_of: SeasonOf) -> None:
    ours, theirs = first_text(pdf_of_green("ALD-1", "ours")), first_text(pdf_of_green("ALD-1", "US letter"))
    assert "PreparedbyForThecommitteeIssuedon28November2026" in ours
    assert "PreparedbyCountyGreensServiceTheYardForIssuedon" in theirs


def test_what_gives_way_does_so_in_its_order(season_of: SeasonOf) -> None:
    """Each level says no more than the one before, and verdict, counts, sums and measures stand at all of them."""
    for green in GREENS:
        pages = [first_page(season_of(green), level) for level in FIRST_LEVELS]
        for one, closer in pairwise(pages):
            assert (one.verdict, one.counts, one.spent, one.measures) == (
                closer.verdict,
                closer.counts,
                closer.spent,
                closer.measures,
            )
            assert len(closer.found) <= len(one.found)
            assert len(closer.actions.rows) <= len(one.actions.rows)
            assert len(closer.checks.paragraphs) <= len(one.checks.paragraphs) + 1
