"""The count of outside checks: what has no mark of its own, with a sort and a source, is not in it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from scripts.docs import outside as page
from tests.outside_checks import SORTS, outside, sort_of

MARKED = """
pytestmark = outside("library", "of the whole file")

@outside("figure", "somebody 2020")
def test_one(): ...

@pytest.mark.parametrize("x", [
    check("worked example", f, (1,), 2, 0.1, "a book"),
    check("own", f, (1,), 2, 0.1, "geometry"),
    pytest.param(1, marks=outside("standard", "a law")),
])
def test_rows(x): ...
"""


@pytest.mark.parametrize(("sort", "source"), [("opinion", "somebody 2020"), ("figure", ""), ("figure", "  x ")])
def test_a_mark_needs_a_sort_and_a_source(sort: str, source: str) -> None:
    with pytest.raises(ValueError, match=r"is no sort|names no source"):
        outside(sort, source)  # type: ignore[arg-type]


def test_a_test_counts_by_its_own_mark_alone() -> None:
    assert sort_of([outside("library", "scipy").mark]) == "library"
    assert sort_of([pytest.mark.parametrize("x", [1]).mark, pytest.mark.thorough.mark]) is None


@pytest.mark.parametrize("path", sorted(Path(__file__).parents[1].rglob("test_*.py")), ids=lambda path: path.name)
def test_no_file_marks_all_of_its_tests(path: Path) -> None:
    """A mark of the module is not counted; one that stands there only looks as if it were."""
    marks = [node for node in ast.parse(path.read_text("utf-8")).body if ast.unparse(node).startswith("pytestmark")]
    assert not [mark for mark in marks if "outside" in ast.unparse(mark)]


def test_marks_are_read_as_written() -> None:
    assert [sort for sort, _ in page.marks_of(MARKED)][1:] == ["figure", "worked example", "own", "standard"]


def test_the_page_adds_up() -> None:
    """Sorts, all of them, and folders tell one number."""
    cells = [
        [one.strip() for one in line.split("|")[1:-1]] for line in page.page().splitlines() if line.startswith("|")
    ]
    counts = {row[0]: int(row[2]) for row in cells if len(row) == 3 and row[2].isdigit()}
    assert sum(counts[sort] for sort in SORTS) == counts["all"]
    folders = [row for row in cells if row[0].startswith("`tests/")]
    assert sum(int(one) for row in folders for one in row[1:] if one) == counts["all"]
