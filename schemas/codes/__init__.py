"""Lists of allowed words, each with the other spellings it is known by.

One TOML file a list; a table a word: ``label`` (what a report prints), ``also`` (other spellings, lower case) and
whatever else the list's users need. An unknown word is a fault that names the closest ones.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True)
class Code:
    """One allowed word: its label, its other spellings and the facts its list keeps of it."""

    name: str
    label: str
    also: tuple[str, ...] = ()
    facts: dict[str, Any] = field(default_factory=dict)


@cache
def code_list(name: str) -> dict[str, Code]:
    """The words of a list, by name, in the order of the file."""
    data = tomllib.loads(files("schemas.codes").joinpath(f"{name}.toml").read_text("utf-8"))
    codes: dict[str, Code] = {}
    for word, facts in data.items():
        rest = {key: value for key, value in facts.items() if key not in {"label", "also"}}
        codes[word] = Code(word, facts.get("label", word), tuple(facts.get("also", ())), rest)
    _assert_unambiguous(name, codes)
    return codes


@cache
def analytes() -> dict[str, Code]:
    """The analytes that results are stored as: without oxides, ions and words that may mean one of several."""
    return {name: code for name, code in code_list("analyte").items() if not {"of", "either"} & set(code.facts)}


@cache
def spellings(name: str) -> dict[str, str]:
    """Every known spelling of a list's words, folded, to the word."""
    known: dict[str, str] = {}
    for code in code_list(name).values():
        for spelling in (code.name, code.label, *code.also):
            known[fold(spelling)] = code.name
    return known


@lru_cache(maxsize=16_384)
def fold(text: str) -> str:
    """A spelling with case, hyphens, underscores and repeated spaces taken out, for comparing.

    The latest are remembered: a load folds the same headers and words some ten times each.
    """
    return " ".join(text.casefold().replace("-", " ").replace("_", " ").split())


def _assert_unambiguous(name: str, codes: dict[str, Code]) -> None:
    seen: dict[str, str] = {}
    for code in codes.values():
        for spelling in {fold(word) for word in (code.name, code.label, *code.also)}:
            assert seen.setdefault(spelling, code.name) == code.name, f"{name}: {spelling!r} stands for two words"
