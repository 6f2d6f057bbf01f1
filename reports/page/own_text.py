"""A workspace's own text: Markdown as data, turned into HTML that holds nothing but text, tables and its pictures."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from pipeline.common.own_text import MOST_TEXT
from reports.page import text

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

PLACES = ("opening", "closing")
"""Where a document takes a text of the house's own: after what comes first in it, and before the signatures."""
EVERY = "every"
"""Stands for every document in the name of a text."""
PICTURE = "asset:own/"
"""A picture's address on the page: this and its name in the folder of the house's own."""


class OwnTextFault(Exception):
    """A text cannot be printed as it is meant: line and reason."""

    def __init__(self, line: int, reason: str) -> None:
        super().__init__(f"line {line}: {reason}")


def file_name(document: str, place: str) -> str:
    """Name of the file that holds a document's text of a place, such as "survey-opening.md"."""
    return f"{document}-{place}.md"


def file_names(documents: Iterable[str]) -> list[str]:
    """Every name a text of these documents may have."""
    return [file_name(one, place) for one in (EVERY, *documents) for place in PLACES]


def of_document(texts: Mapping[str, str], document: str, pictures: Collection[str]) -> dict[str, Markup]:
    """The texts of a document by place: its own, or else that of every document; an empty file is none.

    Args:
        texts: Markdown by file name.
        document: its kind, as ``file_name`` takes it.
        pictures: names of the pictures they may show.

    Raises:
        OwnTextFault: see ``html_of``.
    """
    found = {place: texts.get(file_name(document, place), texts.get(file_name(EVERY, place), "")) for place in PLACES}
    return {place: html_of(source, heading="h2", pictures=pictures) for place, source in found.items()}


def html_of(source: str, *, heading: str = "h3", pictures: Collection[str] | None = None, at: str = PICTURE) -> Markup:
    """The text as HTML: headings, paragraphs, lists, tables, emphasis, quotes and code.

    HTML in it stays text; a link is its words and its address in brackets; what the typeface cannot draw is replaced.

    Args:
        source: Markdown (CommonMark, and the tables of GitHub Flavored Markdown), at most ``MOST_TEXT`` characters.
        heading: what each of its headings is: all stand on one level, so that headings nest as PDF/UA asks.
        pictures: names of the pictures it may show; None for no pictures, ``![…](…)`` then stays as it is written.
        at: what their addresses on the page begin with.

    Raises:
        OwnTextFault: a picture is not there, or no words say what it shows.
    """
    assert len(source) <= MOST_TEXT, "whoever reads the file refuses a longer one"
    lines = (text.drawable(line.rstrip()) for line in source.replace("\t", "    ").splitlines())
    parser = _parser(pictures is not None)
    tokens = parser.parse("\n".join(lines))
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = heading
        elif token.type == "inline":
            line = token.map[0] + 1 if token.map else 1
            token.children = list(_printed(token.children or [], (pictures or (), at), line))
    return Markup(parser.renderer.render(tokens, parser.options, {}))  # noqa: S704 - the parser escapes all text


def picture_names(source: str) -> list[str]:
    """Names of the pictures a text asks for, in its order."""
    tokens = _parser(True).parse(source)
    return [str(one.attrs.get("src", "")) for token in tokens for one in token.children or [] if one.type == "image"]


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
    name, words = str(token.attrs.get("src", "")), " ".join(token.content.split())
    if name not in known:
        raise OwnTextFault(line, f"there is no picture {name[:80]!r} in the folder; PNG, JPEG and SVG files are")
    if not words:
        raise OwnTextFault(line, f"no words say what {name[:80]!r} shows; write them: ![what it shows]({name[:80]})")
    token.attrs = {"src": at + name, "alt": words}
    return token


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

    made: Any = MarkdownIt("commonmark", {"html": False}).enable("table").disable(["html_block", "html_inline"])
    return made if pictures else made.disable("image")  # type: ignore[no-any-return]
