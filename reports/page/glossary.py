"""Words that need explaining, in a reader's words: their one home, for a document's last page and for the docs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from html import unescape
from pathlib import Path

from pipeline.common.toml import read_toml

FILE = Path(__file__).with_name("glossary.toml")
DOCUMENTS = ("condition", "summary", "survey")
"""Documents that end with a page of words where a house wants one."""
SECTION = '<section class="glossary"'
"""How that page begins: a document has it beside the pages it may have."""
_TAG = re.compile(r"<[^>]*>")
_HIDDEN = re.compile(r"<(?:head|style|script)\b.*?</(?:head|style|script)>", re.DOTALL)


@dataclass(frozen=True)
class Term:
    """A word and what it means.

    Attributes:
        term: the word.
        meaning: what it means, in one or two sentences.
    """

    term: str
    meaning: str


@cache
def terms() -> dict[Term, tuple[str, ...]]:
    """Every word that is explained, in the order of the alphabet, with how it stands in a document."""
    read = read_toml(FILE)["term"]
    return {Term(one["term"], one["meaning"]): tuple(one.get("words", (one["term"],))) for one in read}


def used(html: str) -> tuple[Term, ...]:
    """The words that a document uses, in the order of the alphabet.

    Args:
        html: the document; what its charts show stands in their alternative texts.
    """
    said = _said(html)
    return tuple(term for term, spelt in terms().items() if _pattern(spelt).search(said))


def _said(html: str) -> str:
    """What a document says, in small letters, all space alike."""
    alternative = " ".join(re.findall(r'alt="([^"]*)"', html))
    body = _TAG.sub(" ", _HIDDEN.sub(" ", html))
    return " ".join(unescape(f"{body} {alternative}").split()).casefold()


@cache
def _pattern(spelt: tuple[str, ...]) -> re.Pattern[str]:
    """Finds any of these spellings as whole words."""
    return re.compile(rf"(?<!\w)(?:{'|'.join(_escaped(spelt))})(?!\w)")


def _escaped(spelt: tuple[str, ...]) -> Iterator[str]:
    return (re.escape(one.casefold()) for one in spelt)
