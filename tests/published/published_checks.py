"""One figure as one test case: the call, the figure, how near, and where it comes from."""

from collections.abc import Callable, Mapping
from typing import Any, Literal

import pytest

from scripts.docs.checks import NOT_OUTSIDE
from tests.outside_checks import Sort, outside


def check(
    sort: Sort | Literal["memory", "own"],
    function: Callable[..., Any],
    arguments: tuple[Any, ...] | Mapping[str, Any],
    expected: float,
    tolerance: float,
    source: str,
) -> Any:
    """A test case whose id says of what sort its figure is and where it stands; it counts as outside by its sort."""
    name = f"{function.__name__} ({NOT_OUTSIDE.get(sort, sort)}: {source})"
    marks = () if sort in NOT_OUTSIDE else (outside(sort, source),)  # type: ignore[arg-type]
    return pytest.param(function, arguments, expected, tolerance, id=name, marks=marks)


def given(function: Callable[..., Any], arguments: tuple[Any, ...] | Mapping[str, Any]) -> Any:
    """What the function gives for positional or named arguments."""
    if isinstance(arguments, Mapping):
        return function(**arguments)
    return function(*arguments)


CASE = ("function", "arguments", "expected", "tolerance")
