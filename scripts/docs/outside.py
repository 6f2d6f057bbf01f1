"""What the tests hold the tool against outside itself: the marks of tests/outside_checks.py as they are written."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator

from scripts.docs import markdown as md
from scripts.docs.checks import NOT_OUTSIDE, ROOT

OPENING = """\
A test counts as a check against something outside only where a mark stands at it, or at its row of a table, with the
sort and the source (`outside()` of `tests/outside_checks.py`; a row of `check()` in `tests/published/` has its own).
Nothing counts by the file it stands in or by its name. What is not outside carries no mark, however useful: figures of
our own making, identities and scaling, a refusal, the same call of a library as the code makes, a figure from memory.

Each mark is counted once here, however many seeds, sizes or rows it is tried with; the end of `make test` counts the
tests that ran. Formulas that nothing outside holds stand with the reason in `tests/agronomy/nothing_outside.py`."""

Mark = tuple[str, str]
"""Sort and source of a mark; the source as written in the test."""


def page() -> str:
    """docs/outside-checks.md."""
    from tests.outside_checks import SORTS

    marks = {path: list(marks_of(path.read_text("utf-8"))) for path in sorted((ROOT / "tests").rglob("test_*.py"))}
    total = Counter(sort for found in marks.values() for sort, _ in found)
    rows: list[tuple[str, str, int]] = [(sort, what, total[sort]) for sort, what in SORTS.items()]
    rows.append(("all", "", sum(total[sort] for sort in SORTS)))
    beside = [(what, "beside them, never counted", total[sort]) for sort, what in NOT_OUTSIDE.items()]
    by_folder: dict[str, Counter[str]] = {}
    for path, found in marks.items():
        counted = Counter(sort for sort, _ in found if sort in SORTS)
        by_folder.setdefault(path.relative_to(ROOT / "tests").parts[0], Counter()).update(counted)
    folders = [
        (f"`tests/{name}/`", *(count[sort] or "" for sort in SORTS)) for name, count in by_folder.items() if count
    ]
    return md.page(
        "Checks against something outside",
        OPENING,
        md.table(("sort", "what the tool is held against", "marks"), [*rows, *beside]),
        "## By folder",
        md.table(("folder", *SORTS), folders),
    )


def marks_of(source: str) -> Iterator[Mark]:
    """The marks written in a file of tests, in order: each ``outside(sort, source)`` and each ``check(sort, …)``."""
    for node in _outside_of_bodies(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.args:
            first = node.args[0]
            if node.func.id == "outside" and isinstance(first, ast.Constant):
                yield str(first.value), ast.unparse(node.args[1])
            if node.func.id == "check" and isinstance(first, ast.Constant):
                yield str(first.value), ast.unparse(node.args[5])


def _outside_of_bodies(tree: ast.Module) -> Iterator[ast.AST]:
    """Every piece of a file but the bodies of its functions, where a call marks nothing."""
    for statement in tree.body:
        pieces = statement.decorator_list if isinstance(statement, ast.FunctionDef) else [statement]
        yield from (node for piece in pieces for node in ast.walk(piece))
