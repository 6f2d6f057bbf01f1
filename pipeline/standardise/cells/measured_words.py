"""Words for what was measured that say more than its name: its form (``P (P2O5)``), or the unit (``K mg/l``)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from pipeline.standardise.cells.header_units import parted
from schemas.codes import code_list, fold, spellings

UNITS_OF = {"analyte": "soil_unit", "observation": "observation_unit"}
"""Lists of what is measured, with the list that the unit of its results is of."""
_IN_BRACKETS = re.compile(r"(.*\S)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]")
_LONGEST = 60
"""Characters from which on a cell is a sentence and no name."""


class Measured(NamedTuple):
    """The list's word for what was measured, None where it is not told, and the unit beside it, "" where none is."""

    name: str | None
    unit: str = ""


@cache
def measured(text: str, list_name: str) -> Measured:
    """What a cell's words name where the list has not the whole of them.

    Two names side by side count where one says which form of the other is meant (``Potash K2O``), or both are the same
    (``Phosphorus (P)``). A unit counts where it is one of results of the list.
    """
    if len(text) > _LONGEST:
        return Measured(None)
    whole = _named(text, list_name)
    if whole:
        return Measured(whole)
    name, said = parted(text)
    unit = spellings(UNITS_OF[list_name]).get(fold(said))
    return Measured(_named(name, list_name), unit) if unit else Measured(None)


def _named(text: str, list_name: str) -> str | None:
    known = spellings(list_name)
    if fold(text) in known:
        return known[fold(text)]
    found = {
        both
        for one, other in _halves(text)
        if fold(one) in known and fold(other) in known and (both := _one_of(known[fold(one)], known[fold(other)]))
    }
    return found.pop() if len(found) == 1 else None


def _halves(text: str) -> Iterator[tuple[str, str]]:
    if match := _IN_BRACKETS.fullmatch(text):
        yield match.group(1), match.group(2)
    for gap in re.finditer(r"\s+as\s+|[\s,/]+", text):
        yield text[: gap.start()], text[gap.end() :]


@cache
def _one_of(one: str, other: str) -> str | None:
    """The more exact of two words for the same thing, None where they are two things, or two forms of one."""
    if one == other:
        return one
    for whole, form in ((one, other), (other, one)):
        for name in UNITS_OF:
            codes = code_list(name)
            if (
                whole in codes
                and form in codes
                and (codes[form].facts.get("of") == whole or form in codes[whole].facts.get("either", ()))
            ):
                return form
    return None
