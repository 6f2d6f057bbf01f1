"""One page of a form to be written on."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """A column: its heading and its share of the width, in percent."""

    heading: str
    width: float


@dataclass(frozen=True)
class Words:
    """The words of a column that is chosen from a list."""

    heading: str
    words: str


@dataclass(frozen=True)
class Sheet:
    """One page.

    Attributes:
        title: what stands over it.
        hint: what whoever writes should know.
        head: words before the lines of the head.
        columns: its columns.
        rows: numbers of its blank rows, from 1.
        words: words to choose from.
        across: whether it lies across.
        numbered: whether its rows have numbers, for a line goes on over the next page.
    """

    title: str
    hint: str
    head: tuple[str, ...]
    columns: tuple[Column, ...]
    rows: tuple[int, ...]
    words: tuple[Words, ...]
    across: bool
    numbered: bool
