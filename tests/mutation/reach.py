"""Which tests reach which line, measured by one run of the tests with coverage."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
TESTS = ("tests/published", "tests/statistics", "tests/agronomy")
"""Tests of the formulas themselves, in the order they are tried; what only a figure or a document would notice is not
asked."""


def measure(data: Path) -> None:
    """Run the tests once and write down which reach which line."""
    options = [f"--cov={one}" for one in ("pipeline/agronomy", "pipeline/statistics")]
    options += ["--cov-context=test", "--cov-report=", "--cov-fail-under=0", "-q", "-n", "0"]
    command = [sys.executable, "-m", "pytest", *TESTS, *options]
    env = os.environ | {"COVERAGE_FILE": str(data), "PYTHONPATH": str(ROOT)}
    if subprocess.run(command, cwd=ROOT, env=env, check=False).returncode:
        raise SystemExit("A mutation is told by a test that fails: all must pass before.")


class Reach:
    """The tests that reach a line, by what was measured.

    Args:
        data: the file :func:`measure` wrote.
    """

    def __init__(self, data: Path) -> None:
        from coverage import CoverageData

        self._data = CoverageData(str(data))
        self._data.read()

    @cache  # noqa: B019 — one object a run
    def _of(self, module: str) -> dict[int, set[str]]:
        path = ROOT / f"{module.replace('.', '/')}.py"
        lines = self._data.contexts_by_lineno(str(path))
        return {line: {one.rpartition("|")[0] for one in found if one} for line, found in lines.items()}

    def tests(self, module: str, line: int) -> list[str]:
        """The tests that run a line of a function; none for what runs when the module is loaded."""
        wanted = statement(module, line) or ()
        found = set().union(*(self._of(module).get(one, set()) for one in wanted))
        return [test for folder in TESTS for test in sorted(found) if test.startswith(f"{folder}/")]

    def files(self, module: str) -> set[str]:
        """The files of tests that run any line of a module, or import it (constants are not run), or look at all."""
        run = {test.partition("::")[0] for found in self._of(module).values() for test in found}
        paths = (path for folder in TESTS for path in (ROOT / folder).glob("test_*.py"))
        named = {module, "scripts.docs.method.modules"}
        return run | {str(path.relative_to(ROOT)) for path in paths if named & _imported(path)}


@cache
def _imported(path: Path) -> set[str]:
    """Dotted names that a file imports, modules and what is taken from them."""
    nodes = [node for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.ImportFrom)]
    return {str(node.module) for node in nodes} | {f"{node.module}.{one.name}" for node in nodes for one in node.names}


@cache
def _tree(module: str) -> ast.Module:
    return ast.parse((ROOT / f"{module.replace('.', '/')}.py").read_text("utf-8"))


def statement(module: str, line: int) -> range | None:
    """Lines of the statement of a function that a line belongs to; None where it runs at loading."""
    found = None
    waiting: list[tuple[ast.stmt, bool]] = [(one, False) for one in _tree(module).body]
    while waiting:
        node, inside = waiting.pop()
        if not node.lineno <= line <= (node.end_lineno or node.lineno):
            continue
        body = [one for one in ast.iter_child_nodes(node) if isinstance(one, ast.stmt | ast.ExceptHandler)]
        if inside:
            last = min((one.lineno for one in body), default=(node.end_lineno or node.lineno) + 1)
            found = range(node.lineno, max(last, node.lineno + 1))
        inside = inside or isinstance(node, ast.FunctionDef)
        waiting += [(one, inside) for one in body]  # type: ignore[misc]
    return found
