"""Links within a document: its contents, made of its own headings, and no link that leads nowhere.

A template says where the contents stand (the macro ``contents``); a heading that is to be found there has an ``id``,
and comes after the place. Whether a document is long enough for contents is known once it is laid out: until then they
are not shown (``style.css``, ``contents.css``). What a link leads to may be left out by a setting, or by a template of
the house's own; the link is then its text.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

PLACE = '<nav class="toc"></nav>'
"""What the macro ``contents`` of a template leaves."""
SHOWN = '<nav class="toc">'
MORE_THAN = 4
"""Pages of a document without contents, at the most."""
LIKELY = 30_000
"""Characters of HTML from which on a document is first tried with its contents: of the demo's documents that have any,
every one with as many came to more than four pages at its first draft, and every one with fewer to four at the most."""
_ANCHOR = re.compile(r'\bid="([\w-]+)"')
_LINK = re.compile(r'<a(?P<id> id="[\w-]+")? href="#(?P<to>[\w-]+)">(?P<words>.*?)</a>', re.DOTALL)
_HEADING = re.compile(r'<h2 id="([\w-]+)"[^>]*>(.*?)</h2>', re.DOTALL)
_TAG = re.compile(r"<[^>]*>")


def settled(html: str) -> str:
    """The document with its contents placed, links that lead nowhere as text, and each name of a link once."""
    placed = _placed(html)
    there, named = set(_ANCHOR.findall(placed)), set[str]()

    def once(link: re.Match[str]) -> str:
        name = "" if link["id"] in named else link["id"] or ""
        named.add(name)
        if link["to"] in there:
            return f'<a{name} href="#{link["to"]}">{link["words"]}</a>'
        return f"<span{name}>{link['words']}</span>" if name else link["words"]

    return _LINK.sub(once, placed)


def _placed(html: str) -> str:
    """The document with its contents at their place, where it has one and two headings for them."""
    before, place, after = html.partition(PLACE)
    found = [(name, " ".join(_TAG.sub("", words).split())) for name, words in _HEADING.findall(after)]
    if not place or len(found) < 2:
        return before + after
    lines = "\n".join(f'<li data-to="#{name}"><a href="#{name}">{words}</a></li>' for name, words in found)
    return f"{before}{SHOWN}\n<h2>Contents</h2>\n<ul>\n{lines}\n</ul>\n</nav>{after}"


def laid_out(lay: Callable[[bool], Any], html: str, before: Any, most_pages: int) -> tuple[Any, bool]:
    """The pages of a draft, with its contents where they are more than go without; and whether they are shown.

    A draft that may have no more pages than go without is laid out without: on more of them it is seldom kept, and
    whether it wants its contents then is asked once it is (:func:`wanted`).

    Args:
        lay: lays it out, with its contents or without.
        html: the draft.
        before: the pages of a draft before it, which tell how long it is likely to be; None for the first.
        most_pages: pages it may have.
    """
    if SHOWN not in html or most_pages <= MORE_THAN:
        return lay(False), False
    likely = len(html) > LIKELY if before is None else len(before.pages) > MORE_THAN
    pages = lay(likely)
    if wanted(html, pages) is likely:
        return pages, likely
    return lay(not likely), not likely


def wanted(html: str, pages: Any) -> bool:
    """Whether a document, laid out on some pages, is to have its contents."""
    return SHOWN in html and len(pages.pages) > MORE_THAN
