"""One published figure as one test case: the call, the figure, how near, and where it is printed."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

GRADES = {
    "A": "published",
    "C": "from memory",
    "D": "regression, not published",
}


def check(
    number: str,
    function: Callable[..., Any],
    arguments: tuple[Any, ...] | Mapping[str, Any],
    expected: float,
    tolerance: float,
    source: str,
    grade: str = "A",
) -> Any:
    """A test case whose id says which check it is, where its figure stands and how far that is to be trusted."""
    name = f"{number} {function.__name__} ({GRADES[grade]}: {source})"
    return pytest.param(function, arguments, expected, tolerance, id=name)


def given(function: Callable[..., Any], arguments: tuple[Any, ...] | Mapping[str, Any]) -> Any:
    """What the function gives for positional or named arguments."""
    if isinstance(arguments, Mapping):
        return function(**arguments)
    return function(*arguments)


CASE = ("function", "arguments", "expected", "tolerance")
