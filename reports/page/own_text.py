"""A workspace's own text: Markdown as data, turned into HTML that holds nothing but text, tables and its pictures."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote

from markupsafe import Markup

from pipeline.common.own_text import MOST_TEXT
from reports.page import text
from reports.page.estimate import lines

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

PLACES = ("opening", "closing")
"""Where a document takes a text of the house's own: after what comes first in it, and before the signatures."""
EVERY = "every"
"""Stands for every document in the name of a text."""
FORM = "paper"
"""The document that takes none: each sheet of a form is one page to write on."""
PICTURE = "asset:own/"
"""A picture's address on the page: this and its name in the folder of the house's own."""
ADD = "Mend the text, or add the picture as a PNG, JPEG or SVG file."
MOST_COLUMNS = 10
"""Of a table: with more of them a page breaks figures over lines."""
MOST_NESTED = 8
"""Lists and quotes within each other: the eighth has some 100 mm left of the page's width."""
_SECTION = re.compile(r'<section class="owntext">(.*?)</section>', re.DOTALL)
_BLOCK = re.compile(r"</(?:p|li|tr|h\d|pre|blockquote)>")
_TAG = re.compile(r"<[^>]*>")
_PAGE_PT, _WIDE_PT = 750.0, 504.0
_READ_NESTED = 100
"""Levels that the parser reads; what lies deeper it leaves out without a word, so that less has to be refused."""


class OwnTextFault(Exception):
    """A text cannot be printed as it is meant: line and reason, and what to do."""

    def __init__(self, line: int, reason: str, hint: str = "Mend the text.") -> None:
        super().__init__(f"line {line}: {reason}")
        self.hint = hint


def file_name(document: str, place: str) -> str:
    """Name of the file that holds a document's text of a place, such as "survey-opening.md"."""
    return f"{document}-{place}.md"


def file_names(documents: Iterable[str]) -> list[str]:
    """Every name a text of these documents may have."""
    return [file_name(one, place) for one in (EVERY, *documents) for place in PLACES]


def of_document(texts: Mapping[str, Markup], document: str) -> dict[str, Markup]:
    """The texts of a document by place: its own, or else that of every document; an empty file is none.

    A form has none.

    Args:
        texts: what ``html_of`` made of each file, by its name.
        document: its kind, as ``file_name`` takes it.
    """
    none = Markup()
    if document == FORM:
        return dict.fromkeys(PLACES, none)
    return {place: texts.get(file_name(document, place), texts.get(file_name(EVERY, place), none)) for place in PLACES}


def html_of(source: str, *, heading: str = "h3", pictures: Collection[str] | None = None, at: str = PICTURE) -> Markup:
    """The text as HTML: headings, paragraphs, lists, tables, emphasis, quotes and code.

    HTML in it stays text; a link is its words and its address in brackets.

    Args:
        source: Markdown (CommonMark, and the tables of GitHub Flavored Markdown), at most ``MOST_TEXT`` characters.
        heading: what each of its headings is: all stand on one level, so that headings nest as PDF/UA asks.
        pictures: names of the pictures it may show; None for no pictures, ``![…](…)`` then stays as it is written.
        at: what their addresses on the page begin with.

    Raises:
        OwnTextFault: a picture is not there, or no words say what it shows; a character cannot be drawn; a row of a
            table has more cells than the table columns, or a table more columns than a page holds; lists or quotes lie
            too deep in each other.
    """
    assert len(source) <= MOST_TEXT, "whoever reads the file refuses a longer one"
    written = list(_drawn(source.replace("\t", "    ").splitlines()))
    parser = _parser(pictures is not None)
    tokens = parser.parse("\n".join(written))
    _refuse_lost(tokens, written)
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = heading
        elif token.type == "inline":
            _refuse_undrawn("".join(one.content for one in token.children or []), _line(token))
            token.children = list(_printed(token.children or [], (pictures or (), at), _line(token)))
    return Markup(parser.renderer.render(tokens, parser.options, {}))  # noqa: S704 - the parser escapes all text


def _drawn(written: Iterable[str]) -> Iterator[str]:
    """The lines without control and direction marks.

    Raises:
        OwnTextFault: the typeface cannot draw a character: a box in its place would hide a word.
    """
    for number, line in enumerate(written, start=1):
        _refuse_undrawn(line, number)
        yield text.drawable(line.rstrip())


def _refuse_undrawn(said: str, line: int) -> None:
    """Refuse a character that the typeface cannot draw, also one that is written as a number (``&#128512;``)."""
    if missing := text.not_drawn(said):
        raise OwnTextFault(line, f"the typeface of the documents has no {missing}", "Write it another way.")


def _refuse_lost(tokens: Sequence[Token], written: Sequence[str]) -> None:
    """Refuse what the parser would leave out: cells beyond a table's columns, and what is nested too deep.

    Raises:
        OwnTextFault: there is such a place.
    """
    columns = 0
    for token in tokens:
        columns = 0 if token.type == "thead_open" else columns + (token.type == "th_open")
        if columns > MOST_COLUMNS:
            raise OwnTextFault(_line(token), f"the table has more than the {MOST_COLUMNS} columns that a page holds")
        if token.type == "tr_open" and columns:
            cells = _cells(written[_line(token) - 1])
            if cells > columns:
                raise OwnTextFault(_line(token), f"the row has {cells} cells, the table {columns} columns")
    nested = 0
    for token in tokens:
        within = token.type.startswith(("bullet_list", "ordered_list", "blockquote"))
        nested += token.nesting if within else 0
        if nested > MOST_NESTED:
            raise OwnTextFault(_line(token), f"lists and quotes lie more than {MOST_NESTED} deep in each other")


def _cells(line: str) -> int:
    """Cells of a table's row up to the last that holds something, by the parser's own rule."""
    from markdown_it.rules_block.table import escapedSplit

    cells = [one.strip() for one in escapedSplit(line.strip().lstrip("> ").removeprefix("|"))]
    return max((number for number, cell in enumerate(cells, start=1) if cell), default=0)


def _line(token: Token) -> int:
    return token.map[0] + 1 if token.map else 1


def pages_of(html: str) -> int:
    """Pages that the texts of the house's own take in a document, estimated; what fills less than half of one is none.

    Args:
        html: the document.
    """
    return round(sum(map(_height_pt, _SECTION.findall(html))) / _PAGE_PT)


def _height_pt(section: str) -> float:
    """Height of a text, pt: its lines as style.css sets them, and each picture as high as it may be."""
    parts = (" ".join(_TAG.sub("", part).split()) for part in _BLOCK.split(section))
    return sum(lines(part, 9.5, _WIDE_PT) * 13.8 + 5.0 for part in parts if part) + 255.0 * section.count("<img ")


def picture_names(source: str) -> list[str]:
    """Names of the pictures a text asks for, in its order."""
    tokens = _parser(True).parse(source)
    return [_source(one) for token in tokens for one in token.children or [] if one.type == "image"]


def _printed(tokens: Iterable[Token], pictures: tuple[Collection[str], str], line: int) -> Iterator[Token]:
    """The pieces of a line as they are printed: addresses after the words of links, pictures by their keys."""
    address, words = "", ""
    for token in tokens:
        if token.type == "link_open":
            address, words = _shown(str(token.attrs.get("href", ""))), ""
        elif token.type == "link_close":
            if address and words != address:
                yield _text(f" ({address})")
        elif token.type == "image":
            yield _picture(token, pictures, line)
        else:
            words += token.content
            yield token
        if token.type in ("softbreak", "hardbreak"):
            line += 1


def _picture(token: Token, pictures: tuple[Collection[str], str], line: int) -> Token:
    """A picture of the folder, with the words that say what it shows."""
    known, at = pictures
    name, words = _source(token), " ".join(token.content.split())
    if name not in known:
        raise OwnTextFault(line, f"there is no picture {name[:80]!r} in the folder", ADD)
    if not words:
        raise OwnTextFault(line, f"no words say what {name[:80]!r} shows; write them: ![what it shows]({name[:80]})")
    token.attrs = {"src": address(name, at), "alt": words}
    return token


def address(name: str, at: str = PICTURE) -> str:
    """A picture's address on the page, of its name in the folder."""
    return at + quote(name)


def _source(token: Token) -> str:
    """Name of the file that a picture is asked from: the parser writes spaces and accents of it as escapes."""
    return unquote(str(token.attrs.get("src", "")))


def _shown(address: str) -> str:
    """An address as it is read: escapes of letters undone."""
    return text.drawable(_parser(True).normalizeLinkText(address)).removeprefix("mailto:")


def _text(words: str) -> Token:
    from markdown_it.token import Token

    return Token("text", "", 0, content=words)


@cache
def _parser(pictures: bool) -> MarkdownIt:
    """CommonMark with tables, without raw HTML."""
    from markdown_it import MarkdownIt

    options = {"html": False, "maxNesting": _READ_NESTED}
    made: Any = MarkdownIt("commonmark", options).enable("table").disable(["html_block", "html_inline"])
    return made if pictures else made.disable("image")  # type: ignore[no-any-return]
