"""The glossary: its terms in order, its links and modules there, and its definitions those of the code."""

from __future__ import annotations

import re
from typing import get_args

from pipeline.indicators.base.green_season import Change, Standing
from schemas.kind import ENDINGS
from scripts import docs
from tests.conftest import ROOT

TEXT = (docs.FOLDER / "glossary.md").read_text("utf-8")
TABLES = [
    dict(re.findall(r"^\| (?!term|---)([^|]+) \| ([^|]+) \|$", part, re.MULTILINE)) for part in TEXT.split("\n## ")[1:]
]


def test_every_term_stands_once_in_the_order_of_the_alphabet() -> None:
    """A term out of its place is not found, and one defined twice is defined in two ways one day."""
    assert len(TABLES) == 2
    assert sum(map(len, TABLES)) == len(re.findall(r"^\| (?!term|---)", TEXT, re.MULTILINE)) >= 40
    for terms in TABLES:
        assert list(terms) == sorted(terms, key=str.casefold)
    assert not set(TABLES[0]) & set(TABLES[1])


def test_what_it_links_to_or_names_is_there() -> None:
    """A module that has moved leaves a newcomer at a loss."""
    for page in re.findall(r"\]\(([^)#]+)", TEXT):
        assert (docs.FOLDER / page).is_file(), page
    for path in re.findall(r"`((?:pipeline|schemas|reports)/[^`]*)`", TEXT):
        assert (ROOT / path).exists(), path


def test_words_that_code_defines_are_defined_alike() -> None:
    """The ways a record ends, standings and verdicts: one definition, wherever it is read."""
    _, code = TABLES
    for way in ENDINGS:
        assert code[way].startswith("How a version of a record ended: ")
    assert ENDINGS["superseded"] in code["superseded"]
    assert all(word in code["standing"] for word in get_args(Standing))
    assert all(word in code["verdict"] for word in get_args(Change))
