"""What counts as a check against something outside: a mark with its sort and source, at the test or the row itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

import pytest

Sort = Literal["figure", "worked example", "standard", "library", "open data"]
SORTS: dict[Sort, str] = {
    "figure": "a figure somebody else measured or printed",
    "worked example": "a calculation printed with its inputs, or a data set with certified results",
    "standard": "a definition, table or limit of a standard, a law or a fixed point of nature",
    "library": "the same figure made by another library or program, by another way than ours",
    "open data": "a file others made, read from file to figure or counted another way",
}
"""Each sort and what it holds the tool against."""

assert set(SORTS) == set(get_args(Sort))

SHORTEST_SOURCE = 4
"""Letters: a source shorter than this names nothing."""


def outside(sort: Sort, source: str) -> pytest.MarkDecorator:
    """The mark of a check against something outside; without it nothing counts, whatever the file or the name.

    It stands at the test, or at the row: ``pytest.param(..., marks=outside("figure", "Lodge & Baker 1991, table 2"))``.
    Not outside, and so without a mark: figures of our own making, identities and scaling, a refusal, the same call of a
    library as the code makes, a figure from memory.

    Args:
        sort: one of :data:`SORTS`.
        source: author or body, title, year and place in it; or the library and its function.

    Raises:
        ValueError: no such sort, or a source that names nothing.
    """
    if sort not in SORTS:
        raise ValueError(f"{sort!r} is no sort of outside check; there are {', '.join(SORTS)}")
    if len(source.strip()) < SHORTEST_SOURCE:
        raise ValueError(f"{source!r} names no source")
    return pytest.mark.outside(sort, source)


def sort_of(marks: Iterable[pytest.Mark]) -> Sort | None:
    """The sort a test counts as, by the marks of the test and of its row alone; None for one that does not count.

    Args:
        marks: ``item.own_markers``: a mark of the module or the class is not among them, so nothing counts by file.
    """
    return next((mark.args[0] for mark in marks if mark.name == "outside" and mark.args), None)
