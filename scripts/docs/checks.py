"""What holds each formula: the tests that try it, resolved to the functions they use.

The tests are read, not run: a name counts where it is imported from the module that makes it and used by a test, itself
or through what else stands in that file.
"""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[2]
FOLDERS = ("tests/published", "tests/statistics")
NOT_OUTSIDE = {"memory": "from memory", "own": "our own arithmetic"}
"""What `check()` of tests/published tries all the same and never counts: a figure whose source nobody has before him,
and one of our own making."""


@dataclass(frozen=True)
class Check:
    """One thing that is held: against something outside where it is marked so, by ourselves where not.

    Attributes:
        names: what it tries, as ``module.name`` (``pipeline.agronomy.dressing.depth_mm``).
        said: the figure and its source, or what the test says of itself.
        figure: True for a figure with a source, False for a test that speaks for itself.
        attributes: words the test asks of objects (methods of a class among them).
        outside: whether it counts as outside: by its own mark, or by the sort of its figure.
    """

    names: frozenset[str]
    said: str
    figure: bool
    attributes: frozenset[str] = frozenset()
    outside: bool = False


@cache
def every_check() -> tuple[Check, ...]:
    """Every check of the folders, file by file in the order written."""
    paths = [path for folder in FOLDERS for path in sorted((ROOT / folder).glob("test_*.py"))]
    return tuple(check for path in paths for check in checks_of(path.read_text("utf-8"), path.name))


@cache
def checks_by_name() -> dict[str, tuple[Check, ...]]:
    """The checks of each function and class."""
    found: dict[str, list[Check]] = {}
    for check in every_check():
        for name in sorted(check.names):
            found.setdefault(name, []).append(check)
    return {name: tuple(checks) for name, checks in found.items()}


def checks_of_member(name: str, methods: frozenset[str] = frozenset()) -> tuple[Check, ...]:
    """The checks of a function or class, ``module.name``; what a class can do is also tried on what functions return.

    Args:
        name: as in :class:`Check`.
        methods: public methods of a class.
    """
    own = checks_by_name().get(name, ())
    module = name.rpartition(".")[0] + "."
    asked = [
        one
        for one in every_check()
        if one not in own and one.attributes & methods and any(tried.startswith(module) for tried in one.names)
    ]
    return (*own, *asked)


def checks_of(source: str, file: str) -> Iterator[Check]:
    """The checks of one file of tests, in the order written: each figure of a table, else each test."""
    tree = ast.parse(source)
    names = _Names(tree)
    for test in tree.body:
        if not (isinstance(test, ast.FunctionDef) and test.name.startswith("test_")) or "refused" in test.name:
            continue  # what is refused says nothing of the figures
        figures = [one for one in ast.walk(test) if isinstance(one, ast.Call) and _called(one) == "check"]
        for figure in figures:
            counted = ast.literal_eval(figure.args[0]) not in NOT_OUTSIDE
            yield Check(names.tried(figure.args[1]), names.figure(figure), figure=True, outside=counted)
        if not figures:
            words = {
                one.attr for node in names.within(test) for one in ast.walk(node) if isinstance(one, ast.Attribute)
            }
            counted = any(_marked(node) for one in test.decorator_list for node in names.within(one))
            yield Check(names.tried(test), _said(test, file), False, frozenset(words), counted)


class _Names:
    """What the names of one file stand for."""

    def __init__(self, tree: ast.Module) -> None:
        self.imported: dict[str, object] = {}
        self.own: dict[str, ast.stmt] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("pipeline."):
                self._import(node)
        for statement in tree.body:
            if isinstance(statement, ast.FunctionDef | ast.ClassDef):
                self.own[statement.name] = statement
            elif isinstance(statement, ast.Assign):
                self.own |= {one.id: statement for one in statement.targets if isinstance(one, ast.Name)}

    def _import(self, node: ast.ImportFrom) -> None:
        module = import_module(str(node.module))
        for one in node.names:
            found = getattr(module, one.name, None) or import_module(f"{node.module}.{one.name}")
            self.imported[one.asname or one.name] = found

    def within(self, start: ast.AST) -> list[ast.AST]:
        """A piece of the file and every other piece of it that it uses, in turn."""
        found, seen, waiting = [], set[str](), [start]
        while waiting:
            node = waiting.pop()
            found.append(node)
            for name in {one.id for one in ast.walk(node) if isinstance(one, ast.Name)} & self.own.keys() - seen:
                seen.add(name)
                waiting.append(self.own[name])
        return found

    def tried(self, start: ast.AST) -> frozenset[str]:
        """Functions and classes of ours that a piece of the file uses."""
        found = set()
        for node in self.within(start):
            for one in ast.walk(node):
                thing = self._thing(one)
                if isinstance(thing, type) or inspect.isroutine(thing):
                    found.add(f"{thing.__module__}.{thing.__name__}")
        return frozenset(found)

    def _thing(self, node: ast.AST) -> object:
        if isinstance(node, ast.Name):
            return self.imported.get(node.id)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            module = self.imported.get(node.value.id)
            return getattr(module, node.attr, None) if isinstance(module, ModuleType) else None
        return None

    def figure(self, call: ast.Call) -> str:
        """A call with its figure, how near it must come, and who printed it."""
        sort, function, arguments, expected, tolerance, source = call.args
        inputs = ", ".join(
            f"{ast.literal_eval(key)}={ast.unparse(value)}" if key else ast.unparse(value)
            for key, value in _pairs(arguments)
        )
        made = f"`{ast.unparse(function)}({inputs})` = {ast.unparse(expected)} (± {ast.unparse(tolerance)})"
        said = NOT_OUTSIDE.get(ast.literal_eval(sort))
        return f"{made}: {f'{said}: ' if said else ''}{self._text(source)}"

    def _text(self, node: ast.AST) -> str:
        """A source as it reads: a string, a name of one, pieces of both, or a small function that makes one."""
        if isinstance(node, ast.Constant):
            return str(node.value)
        if isinstance(node, ast.JoinedStr):
            return "".join(self._text(one) for one in node.values)
        if isinstance(node, ast.FormattedValue):
            return self._text(node.value)
        if isinstance(node, ast.Name) and isinstance(given := self.own.get(node.id), ast.Assign):
            return self._text(given.value)
        if isinstance(node, ast.Call) and isinstance(maker := self.own.get(_called(node)), ast.FunctionDef):
            made = next(one.value for one in maker.body if isinstance(one, ast.Return) and one.value is not None)
            inner = dict(zip((one.arg for one in maker.args.args), node.args, strict=True))
            return _Filled(self, inner).text(made)
        return ast.unparse(node)


class _Filled:
    """The text of a small function with its arguments put in."""

    def __init__(self, names: _Names, inner: dict[str, ast.expr]) -> None:
        self.names, self.inner = names, inner

    def text(self, node: ast.AST) -> str:
        """The text, argument by argument."""
        if isinstance(node, ast.JoinedStr):
            return "".join(self.text(one) for one in node.values)
        if isinstance(node, ast.FormattedValue):
            return self.text(node.value)
        if isinstance(node, ast.Name) and node.id in self.inner:
            return self.names._text(self.inner[node.id])
        return self.names._text(node)


def _pairs(arguments: ast.expr) -> list[tuple[ast.expr | None, ast.expr]]:
    if isinstance(arguments, ast.Dict):
        return list(zip(arguments.keys, arguments.values, strict=True))
    if isinstance(arguments, ast.Call):  # dict(a=1)
        return [(ast.Constant(one.arg), one.value) for one in arguments.keywords]
    return [(None, one) for one in (arguments.elts if isinstance(arguments, ast.Tuple) else [arguments])]


def _marked(node: ast.AST) -> bool:
    """Whether a decorator, or a table of rows it uses, carries the mark of an outside check."""
    return any(isinstance(one, ast.Call) and _called(one) == "outside" for one in ast.walk(node))


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else ""


def _said(test: ast.FunctionDef, file: str) -> str:
    """A test in its own words: its name, and the first paragraph of its docstring."""
    name = test.name.removeprefix("test_").replace("_", " ")
    more = (ast.get_docstring(test) or "").split("\n\n")[0]
    return f"{name} (`{file}`)" + (f": {' '.join(more.split())}" if more else "")
