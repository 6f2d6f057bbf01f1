"""Cells that name several operations or greens: the tables of a draft that have them parted."""

from __future__ import annotations

import re
from collections.abc import Mapping

from pipeline.draft.document import Entry, Table, shortened
from pipeline.draft.known import Known
from pipeline.draft.layout import Layout
from pipeline.profiles.style import Refused
from pipeline.standardise.several.said import pieces_said
from schemas.codes import fold

_MARKS = re.compile(r"\s*(/|&|\+|,|;)\s*")


def several_tables(layout: Layout, known: Known) -> list[Table]:
    """A table for operations, and one for greens, where a cell names several; () elsewhere."""
    found = layout.matches.found
    tables = []
    if "operation" in found and (some := parted_words("operation", found["operation"].column.words, known)):
        note = (
            f"Cells such as “{shortened(some[0])}” name several operations, or amounts beside one: each has a record "
            "of its own. Hours, people and cost of such a line are refused until whole says they are of all together."
        )
        off = Entry("whole", "first", "they then count once, with the first operation", off=True)
        tables.append(Table("several.operation", (off,), note))
    if "green" in found and (some := parted_words("green", found["green"].column.words, known)):
        between = list(dict.fromkeys(mark for text in some for mark in _MARKS.findall(text)))
        why = "each green has its own record; amounts on such a line are refused until whole says whose"
        off = Entry("whole", "each", 'each has had the amount; "shared": shared out by area', off=True)
        tables.append(Table("several.green", (Entry("between", between, why), off)))
    return tables


def parted_words(field: str, words: Mapping[str, int], known: Known) -> list[str]:
    """The cells of a column that loading parts once the profile says so; those of greens name known ones alone."""
    if field == "operation":
        return [text for text in words if _several_operations(text)]
    return [text for text in words if greens_named(text, known)] if field == "green" else []


def greens_named(text: str, known: Known) -> tuple[str, ...]:
    """The greens that a cell names between marks, each a known one; () where it does not name several."""
    greens = known.folded("green")
    names = [fold(name) for name in _MARKS.split(text)[::2]]
    several = fold(text) not in greens and len(names) > 1 and all(name in greens for name in names)
    return tuple(greens[name] for name in names) if several else ()


def _several_operations(text: str) -> bool:
    """Whether a cell says more than one operation's word."""
    try:
        return bool(pieces_said(text))
    except Refused:
        return True
