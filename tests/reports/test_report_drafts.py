"""Which draft of a document is laid out, and which is kept: a layout costs a second, and none may be one too many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from io import BytesIO

import pypdfium2
import pytest

from reports.page import document
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle
from reports.page.links import PLACE, settled

PARTS = 6


def _html(parts: int, *, words: str = "Turf.") -> str:
    """A document with its contents and so many parts, each on a page of its own."""
    each = "".join(
        f'<section style="break-before: page"><h2 id="part-{n}">Part {n}</h2><p>{words}</p></section>'
        for n in range(parts)
    )
    head = '<html lang="en"><head><title>Drafts</title><meta name="author" content="-"></head>'
    return f"{head}<body><h1>Drafts</h1>{settled(PLACE + each)}</body></html>"


def _made(drafts: Sequence[str], most_pages: int) -> list[str]:
    """The text of each page of the document that is made of some drafts."""

    def given(*_: object) -> Iterator[Pages]:
        return (Pages(html) for html in drafts)

    kind = Document[None](given, lambda _: (), lambda _: date(2026, 10, 31), lambda _, __: most_pages)
    with pypdfium2.PdfDocument(BytesIO(kind.render(None, version="1", house=HouseStyle()))) as made:
        return [page.get_textpage().get_text_bounded() for page in made]


@pytest.fixture
def layouts(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Every layout that was made: whether with the contents of a long document."""
    made: list[bool] = []
    of = document._pages

    def counted(page: object, renderer: object, styles: object, long: bool) -> object:
        made.append(long)
        return of(page, renderer, styles, long)  # type: ignore[arg-type]

    monkeypatch.setattr(document, "_pages", counted)
    return made


def test_a_draft_like_the_one_before_is_not_laid_out(layouts: list[bool]) -> None:
    same, other = _html(2), _html(1)
    assert len(_made([same, same, other], 2)) == 2
    assert len(layouts) == 2


def test_a_draft_of_the_same_words_with_other_charts_is_laid_out(
    layouts: list[bool], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The words of a page do not say how high its charts are."""
    tall, low = (
        document.Image("image/svg+xml", f'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="{h}"/>'.encode())
        for h in (1900, 90)
    )
    words = _html(0).replace("</body>", '<p>One</p><img src="chart:one" alt="A chart"><p>Two</p></body>')

    def given(*_: object) -> Iterator[Pages]:
        return (Pages(words, lambda one=one: {"chart:one": one}) for one in (tall, low))

    kind = Document[None](given, lambda _: (), lambda _: date(2026, 10, 31), lambda _, __: 1)
    with pypdfium2.PdfDocument(BytesIO(kind.render(None, version="1"))) as made:
        assert len(made) == 1
    assert len(layouts) == 2


def test_a_document_over_its_four_pages_has_its_contents_in_the_end(layouts: list[bool]) -> None:
    pages = _made([_html(PARTS, words="Loam."), _html(PARTS)], 4)
    assert layouts == [False, False, True]
    assert "Contents" in pages[0]
    assert all(f"Part {n}" in pages[0] for n in range(PARTS))
    assert "Loam." in pages[1]  # the most open of those with as many pages


def test_a_document_that_may_have_five_pages_is_tried_with_its_contents_from_its_length_on(
    layouts: list[bool],
) -> None:
    pages = _made([_html(PARTS, words="Turf and sand. " * 400)], 9)
    assert layouts == [True]
    assert "Contents" in pages[0]
