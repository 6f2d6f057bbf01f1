"""Paper to write on: a page a sheet, what the workbook asks for, nothing cut off."""

from __future__ import annotations

import io
import re

import page as standard
import pypdfium2
import pytest
from markupsafe import Markup

from pipeline.forms.description import FORMS, Form, form_of
from pipeline.forms.workbook import Names
from reports.page.house_style import HouseStyle
from reports.paper.render import ROWS_ACROSS, ROWS_UPRIGHT, html, paper, paper_of
from reports.paper.room import fitted
from schemas import KINDS
from tests.outside_checks import outside

NAMES = Names(
    greens=tuple((f"ALD-{n}", f"Alder Brook Bowls Club, Green {n} (ALD-{n})") for n in range(1, 9)),
    materials=("70/30 sand and soil", "spring granular 11-5-5 + 8 Fe", "<b>bold</b> & co"),
)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_every_sheet_is_one_page_with_all_it_asks_for(form: Form) -> None:
    """A column that runs off the page, or a page of four lines, is no use in a van."""
    made = paper(form, NAMES, version="1")
    pages = pypdfium2.PdfDocument(io.BytesIO(made))
    assert len(pages) == len(form.tables)
    for page, table in zip(pages, form.tables, strict=True):
        kind = table.record_kind
        text = " ".join(page.get_textpage().get_text_range().split())
        letters = re.sub(r"\s", "", text)
        for name in dict.fromkeys((*form.head, *table.head, *table.columns)):
            if name in kind.by_name:
                assert re.sub(r"\s", "", kind.by_name[name].heading) in letters, name
        assert table.hint in text
        across = page.get_width() > page.get_height()
        assert across == (table.sheet in {"Job log", "Soil tests", "Counts", "Cores"})


@pytest.fixture(scope="module")
def in_house() -> dict[str, bytes]:
    """Forms of a house with a logo, on Letter, with many greens and a text that stands in every other document."""
    many = Names(greens=tuple((f"ALD-{n}", f"Alder Brook Bowls Club, Green {n} (ALD-{n})") for n in range(1, 26)))
    house = HouseStyle(
        name="Vale Grounds",
        address="2 Mill Lane",
        logo=b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 40"><rect width="120" height="40"/></svg>',
        logo_type="image/svg+xml",
        paper="Letter",
        texts={"every-closing.md": Markup("<h3>How we work</h3>")},
    )
    return {form.name: paper(form, many, version="1", house=house) for form in FORMS if form.name in ("crew", "survey")}


@pytest.mark.parametrize("name", ["crew", "survey"])
def test_a_sheet_of_a_house_is_one_page_too_on_its_own_paper(name: str, in_house: dict[str, bytes]) -> None:
    """Under a logo, or with many greens, three lines of words went to a page of their own; Letter across was A4."""
    form = next(one for one in FORMS if one.name == name)
    pages = pypdfium2.PdfDocument(io.BytesIO(in_house[name]))
    assert len(pages) == len(form.tables)
    # ANSI A (Letter) is 8.5 × 11 in
    assert {tuple(sorted(round(x) for x in pages[i].get_size())) for i in range(len(pages))} == {(612, 792)}
    words = "".join(one.get_textpage().get_text_range() for one in pages)
    assert "Vale Grounds" in words and "How we work" not in words
    for one in paper_of(form, NAMES).sheets:
        assert len(fitted(one, HouseStyle(paper="Letter")).rows) >= ROWS_ACROSS - 3, "hardly a line to write on"


@outside("library", "page-validation 0.11: rules of ISO 14289-1 and ISO 19005-3")
def test_a_form_keeps_the_standards_it_claims(in_house: dict[str, bytes]) -> None:
    for profile in (standard.ValidationProfile.PDF_UA_1, standard.ValidationProfile.PDF_A_3A):
        report = standard.validate_pdf_bytes(in_house["survey"], profile=profile)
        assert report.is_compliant, [str(failure) for failure in report.failures]


def test_a_table_too_wide_for_a_page_goes_on_over_the_next_with_numbered_lines() -> None:
    """Forty columns on one page run into each other; without numbers the halves of a line are not told apart."""
    jobs = form_of(KINDS["job"])
    made = paper_of(jobs, NAMES)
    assert len(made.sheets) > 1 and all(sheet.numbered and sheet.across for sheet in made.sheets)
    assert [one.heading for sheet in made.sheets for one in sheet.columns] == [
        one.heading for one in KINDS["job"].asked
    ]
    assert len({sheet.rows for sheet in made.sheets}) == 1
    pages = pypdfium2.PdfDocument(io.BytesIO(paper(jobs, NAMES, version="1")))
    assert len(pages) == len(made.sheets)


def test_same_form_and_registers_make_the_same_paper() -> None:
    assert paper(FORMS[2], NAMES, version="1") == paper(FORMS[2], NAMES, version="1")


def test_names_are_words_on_paper_and_long_lists_are_left_to_the_workbook() -> None:
    page = html(paper_of(FORMS[0], NAMES), version="1")
    assert "&lt;b&gt;bold&lt;/b&gt; &amp; co" in page
    many = Names(greens=tuple((f"G-{n}", f"Green {n} (G-{n})") for n in range(200)))
    (log,) = paper_of(FORMS[0], many).sheets
    assert [one.heading for one in log.words] == ["Operation"]
    assert len(paper_of(FORMS[2], many).sheets[0].rows) == ROWS_UPRIGHT
