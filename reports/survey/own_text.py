"""A consultant's own text: Markdown as data, turned into HTML that can hold nothing but text."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from markupsafe import Markup

from pipeline.survey.condition_survey import MOST_TEXT
from reports.page import text

if TYPE_CHECKING:
    from markdown_it import MarkdownIt

HEADING = "h3"
"""Every heading of the text stands one below that of its section, so that headings nest as PDF/UA asks."""


def html_of(source: str) -> Markup:
    """The text as HTML: headings, paragraphs, lists, emphasis, quotes and code.

    HTML in it stays text; links and images become their words; what the typeface cannot draw is replaced.

    Args:
        source: Markdown (CommonMark), at most ``MOST_TEXT``.
    """
    assert len(source) <= MOST_TEXT, "whoever reads the file refuses a longer one"
    lines = (text.drawable(line.rstrip()) for line in source.replace("\t", "    ").splitlines())
    parser = _parser()
    tokens = parser.parse("\n".join(lines))
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = HEADING
    return Markup(parser.renderer.render(tokens, parser.options, {}))  # noqa: S704 - the parser escapes all text


@cache
def _parser() -> MarkdownIt:
    """CommonMark without raw HTML, links and pictures."""
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark", {"html": False}).disable(
        ["html_block", "html_inline", "link", "image", "autolink", "reference"]
    )
