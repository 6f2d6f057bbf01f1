"""The ordinary run is the same each time and short: it draws nothing at random, and leaves no file without a test."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.conftest import property_tests
from tests.thorough import beyond, but_for, examples, left_out, one_in, thorough

TESTS = Path(__file__).parents[1]


def test_no_property_test_draws_at_random(request: pytest.FixtureRequest) -> None:
    """A test that fails by chance fails the two commands of the README on somebody's fresh clone."""
    assert settings.default is not None and settings.default.derandomize
    drawing = [
        f"{test.__module__}.{test.__name__}"
        for test in property_tests(request.session.items)
        if not test._hypothesis_internal_use_settings.derandomize
    ]
    assert drawing == []


def wholly_left_out(source: str) -> tuple[int, int]:
    """How many test functions of a file the ordinary run leaves out with all of their cases, and how many there are."""
    tests = [
        node
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    ]
    out = [
        one for one in tests if any(isinstance(mark, ast.Name) and mark.id == "thorough" for mark in one.decorator_list)
    ]
    return len(out), len(tests)


def test_every_file_keeps_a_test_in_the_ordinary_run() -> None:
    """A part of the tool that only ``make thorough`` tries breaks and is found out months later."""
    sources = {path: path.read_text("utf-8") for path in sorted(TESTS.rglob("test_*.py"))}
    marked = {path: wholly_left_out(text) for path, text in sources.items() if "tests.thorough" in text}
    assert len(marked) > 40
    assert [path.name for path, (out, every) in marked.items() if out == every] == []
    assert [path.name for path, text in sources.items() if re.search(r"^pytestmark\b.*thorough", text, re.M)] == []


def test_a_file_whose_only_test_is_left_out_is_found() -> None:
    assert wholly_left_out("@thorough\ndef test_a() -> None: ...\n") == (1, 1)
    assert wholly_left_out("@thorough\ndef test_a(): ...\n@beyond(1)\ndef test_b(): ...\n") == (1, 2)


class Item:
    """A collected test, as far as what is left out is told by it."""

    def __init__(self, nodeid: str, *marks: pytest.MarkDecorator) -> None:
        self.nodeid, self._marks = nodeid, [one.mark for one in marks]

    def iter_markers(self, name: str) -> Iterator[pytest.Mark]:
        return (one for one in self._marks if one.name == name)


def test_what_is_left_out() -> None:
    """The first cases of one test do not count for another; a case that is marked goes, wherever it stands."""
    cases = [Item(f"t.py::{name}[{number}]", beyond(2)) for number in range(4) for name in ("a", "b")]
    others = [Item("t.py::c"), Item("t.py::d", thorough), Item("t.py::e[1]", beyond(1), thorough)]
    found = left_out([*cases, *others])  # type: ignore[arg-type]
    names = ["t.py::a[2]", "t.py::b[2]", "t.py::a[3]", "t.py::b[3]", "t.py::d", "t.py::e[1]"]
    assert [one.nodeid for one in found] == names
    kept, marked = but_for(("one",), ["one", "two"])
    assert kept == "one"
    assert [mark.name for mark in marked.marks] == ["thorough"]
    assert [len(one.marks) for one in one_in(3, "abcd")] == [0, 1, 1, 0]


def test_a_mark_that_leaves_nothing_is_refused() -> None:
    for wrong in (
        lambda: beyond(0),
        lambda: but_for((), ["a"]),
        lambda: but_for(("b",), ["a"]),
        lambda: examples(5, 5),
        lambda: one_in(1, []),
    ):
        with pytest.raises(ValueError, match=r".+"):
            wrong()
