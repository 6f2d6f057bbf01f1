"""What the ordinary run leaves to ``make thorough``: the same again on more cases, where a smaller test stands in it.

A test, or all but the first cases of one, carries the mark ``thorough``; a property test asks :func:`examples` how many
it draws. No file may leave out all of its tests (``tests/whole/test_ordinary_run.py``).
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Collection, Iterable
from typing import Any

import pytest

FUZZ = int(os.environ.get("FUZZ", "0"))
"""How many times its own number of examples each property test draws, at random; 0 for the ordinary run."""

THOROUGH = bool(FUZZ) or os.environ.get("THOROUGH", "0") not in ("", "0")
"""Whether nothing is left out: ``make thorough``, ``make coverage`` and ``make fuzz``."""

thorough = pytest.mark.thorough
"""Of a test, or one case, that the ordinary run leaves out."""


def beyond(first: int) -> pytest.MarkDecorator:
    """The mark of a test of many cases, of which the ordinary run takes the first.

    Args:
        first: how many it takes, in the order in which pytest collects them; at least 1.

    Raises:
        ValueError: none would be left, so that it is not this mark but ``thorough`` that is meant.
    """
    if first < 1:
        raise ValueError("beyond(0) leaves no case in the ordinary run; mark the whole test as thorough")
    return pytest.mark.thorough(beyond=first)


def but_for(ordinary: Collection[str], cases: Iterable[str]) -> list[Any]:
    """Cases by name for ``parametrize``: all but the ordinary ones are thorough, in every test that takes them.

    Args:
        ordinary: those that the ordinary run takes; at least one.
        cases: all of them.

    Raises:
        ValueError: an ordinary case that is none, or no ordinary case.
    """
    every = list(cases)
    if not ordinary or not set(ordinary) <= set(every):
        raise ValueError(f"{sorted(ordinary)} are not cases of {every}")
    return [one if one in ordinary else pytest.param(one, marks=thorough) for one in every]


def one_in(number: int, cases: Iterable[Any]) -> list[Any]:
    """Cases for ``parametrize`` of one argument, of which the ordinary run takes one in so many, the first included.

    Args:
        number: 3 for a third of them; at least 2.
        cases: all of them, in an order in which neighbours are alike.

    Raises:
        ValueError: nothing would be left out.
    """
    if number < 2:
        raise ValueError("one in one leaves nothing out")
    return [pytest.param(one, marks=() if at % number == 0 else thorough) for at, one in enumerate(cases)]


def examples(ordinary: int, thorough: int) -> int:
    """How many examples a property test draws; ``make fuzz`` multiplies the second.

    Raises:
        ValueError: the ordinary run would draw none, or not fewer.
    """
    if not 1 <= ordinary < thorough:
        raise ValueError(f"{ordinary} of {thorough} examples is no smaller test")
    return thorough if THOROUGH else ordinary


def left_out(items: Iterable[pytest.Item]) -> list[pytest.Item]:
    """Those of the collected tests that the ordinary run leaves out, in their order.

    A test named by itself on the command line is among them all the same; a case named by itself counts as the first.
    """
    seen: Counter[str] = Counter()
    found = []
    for item in items:
        firsts = [mark.kwargs.get("beyond", 0) for mark in item.iter_markers("thorough")]
        if not firsts:
            continue
        function = item.nodeid.partition("[")[0]
        seen[function] += min(firsts) > 0
        if not min(firsts) or seen[function] > min(firsts):
            found.append(item)
    return found
