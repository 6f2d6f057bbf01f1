"""How a green is built, from its register line: the code it gives, or its own words where these are a known spelling."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from schemas.codes import code_list, fold, spellings

LIST = "construction"
"""Code list of the constructions."""


def construction_of(green: Mapping[str, Any]) -> str | None:
    """Code of a green's construction: the one filled in, else the one its words are a stated spelling of; else None.

    Args:
        green: the green's register row.
    """
    if code := green.get("construction_type"):
        return str(code)
    return spellings(LIST).get(fold(green.get("construction") or ""))


def construction_words(green: Mapping[str, Any]) -> str:
    """The construction as a page prints it: the register's own words, with the code's where they say something else.

    "" where the register says nothing.
    """
    code, words = construction_of(green), green.get("construction") or ""
    if code is None or (words and (code == "other" or spellings(LIST).get(fold(words)) == code)):
        return str(words)
    label = code_list(LIST)[code].label
    return f"{label} ({words})" if words else label
