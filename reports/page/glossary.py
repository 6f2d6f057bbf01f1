"""Words that need explaining, in a reader's words: their one home, for a document's last page and for the docs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from html import unescape
from pathlib import Path

from pipeline.common.toml import read_toml
from pipeline.workspace.customary import customary
from reports.page.house_style import Units

FILE = Path(__file__).with_name("glossary.toml")
DOCUMENTS = ("condition", "summary", "survey")
"""Documents that end with a page of words where a house wants one."""
SECTION = '<section class="glossary"'
"""How that page begins: a document has it beside the pages it may have."""
_UNIT = re.compile(r"\{([^}]*)\}")
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


def in_units(term: Term, units: Units) -> Term:
    """The word with the units that its meaning names (in the file in braces) as pages of these units have them."""

    def named(unit: re.Match[str]) -> str:
        found = customary(unit[1]) if units == "US" else None
        return found.unit if found else unit[1]

    return replace(term, meaning=_UNIT.sub(named, term.meaning))


def used(html: str, units: Units = "metric") -> tuple[Term, ...]:
    """The words that a document uses, in the order of the alphabet.

    Args:
        html: the document; what its charts show stands in their alternative texts.
        units: units of display.
    """
    said = _said(html)
    return tuple(in_units(term, units) for term, spelt in terms().items() if _pattern(spelt).search(said))


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
