"""A pasted list of messages as a job log: told by the words of work in it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from pipeline.draft.columns import Column, bare
from pipeline.draft.layout import Layout
from pipeline.draft.matching import Found
from schemas.codes import spellings

_SHARE = 0.3
"""Share of messages that name work from which on the list is held to be a job log: crews write of the weather and of
tea too (a threshold of the draft; a person looks over what comes of it)."""
_MESSAGE, _OPERATION = "message", "operation"


def of_work(columns: Sequence[Column]) -> bool:
    """Whether enough messages name an operation by one of its known words."""
    texts = next((column.words for column in columns if column.header == _MESSAGE), {})
    naming = sum(count for text, count in texts.items() if _names_work(text))
    return bool(texts) and naming >= _SHARE * sum(texts.values())


def with_messages(layout: Layout, columns: Sequence[Column]) -> None:
    """Lets the text of a message be the operation of a job, which no header of such a list says.

    A text that says more than the operation is refused when loading, whole and with its line.
    """
    column = next((one for one in columns if one.header == _MESSAGE), None)
    if column is not None and layout.kind.by_name.get(_OPERATION) and _OPERATION not in layout.matches.found:
        layout.matches.found[_OPERATION] = Found(column, "message")
        layout.matches.open.pop(_OPERATION, None)


def _names_work(text: str) -> bool:
    words = f" {bare(text)} "
    return any(f" {name} " in words for name in _work())


@cache
def _work() -> frozenset[str]:
    names = (re.sub(r"[^a-z ]", " ", name) for name in spellings(_OPERATION))
    return frozenset(name for name in map(bare, names) if name)
