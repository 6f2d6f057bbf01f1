"""The glossary: words of the trade as documents explain them, and words of the code."""

from __future__ import annotations

import tomllib
from pathlib import Path

from reports.page import glossary
from scripts.docs import markdown as md

CODE_WORDS = Path(__file__).with_name("code_words.toml")
OPENING = """\
Words of the trade and of the code, for whoever is new to either. Words that a column may hold are in
[allowed words](codes.md), figures in [indicators](indicators.md), formulas and their sources in [method](method.md)."""
TRADE = """\
## Words of the trade

Common practice, no source, unless a source is named. With `glossary = true` under `[house]` in [settings](settings.md)
condition reports, season summaries and surveys end with a page of those of these words that they use."""


def page() -> str:
    """docs/glossary.md."""
    of_code = tomllib.loads(CODE_WORDS.read_text("utf-8"))["term"]
    return md.page(
        "Glossary",
        OPENING,
        TRADE,
        md.table(
            ("term", "meaning"),
            [(one.term, glossary.in_units(one, "metric").meaning) for one in glossary.terms()],
        ),
        "## Words of the code",
        md.table(("term", "meaning"), [(one["term"], one["meaning"]) for one in of_code]),
    )
