"""Which formulas the product uses: what the rest of it reaches of pipeline/agronomy/ and pipeline/statistics/.

The code is read, not run. Outside the two packages an import counts (an unused one fails the lint), or the attribute
asked of an imported module; inside them what a reached definition uses is reached in turn. The generators of the
documentation do not count, tests neither.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDERS = ("pipeline", "reports", "schemas")
OF_FORMULAS = ("pipeline.agronomy.", "pipeline.statistics.")


@cache
def reached() -> frozenset[str]:
    """What the product uses of the two packages: names such as ``pipeline.agronomy.dressing.depth_mm``."""
    known = defined()
    waiting = [name for tree in _modules(formulas=False).values() for name in _imported(tree)]
    found: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name in known and name not in found:
            found.add(name)
            waiting.extend(known[name])
    return frozenset(found)


def unreached() -> frozenset[str]:
    """Public functions, classes and constants of the two packages that nothing of the product uses."""
    return frozenset(name for name in defined().keys() - reached() if not name.rpartition(".")[2].startswith("_"))


@cache
def defined() -> dict[str, frozenset[str]]:
    """Each function, class and constant of the two packages, with what it uses of them."""
    return {
        f"{module}.{name}": _used(node, module, tree)
        for module, tree in _modules(formulas=True).items()
        for node in tree.body
        for name in _names(node)
    }


def _modules(*, formulas: bool) -> dict[str, ast.Module]:
    """The modules of formulas, or those of the product around them."""
    paths = [path for folder in FOLDERS for path in sorted((ROOT / folder).rglob("*.py"))]
    dotted = {".".join(path.relative_to(ROOT).with_suffix("").parts): path for path in paths}
    return {
        name: ast.parse(path.read_text("utf-8"))
        for name, path in dotted.items()
        if name.startswith(OF_FORMULAS) is formulas
    }


def _names(node: ast.stmt) -> Iterator[str]:
    """What a statement of a module defines."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        yield node.name
    targets = node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
    yield from (one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name))


def _imports(tree: ast.AST) -> dict[str, str]:
    """Each imported name and the dotted name it stands for."""
    return {
        one.asname or one.name: f"{node.module}.{one.name}"
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        for one in node.names
    }


def _imported(tree: ast.AST) -> set[str]:
    """Dotted names that a tree imports, or asks of a module it imports."""
    names = _imports(tree)
    return set(names.values()) | set(_asked(tree, names))


def _asked(tree: ast.AST, names: dict[str, str]) -> Iterator[str]:
    for one in ast.walk(tree):
        if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name) and one.value.id in names:
            yield f"{names[one.value.id]}.{one.attr}"


def _used(node: ast.stmt, module: str, tree: ast.Module) -> frozenset[str]:
    """Dotted names that a definition uses; an input of a function's name is not the function."""
    names = _imports(tree)
    inputs = {one.arg for one in ast.walk(node) if isinstance(one, ast.arg)}
    loads = {one.id for one in ast.walk(node) if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Load)}
    return frozenset({*(names.get(name, f"{module}.{name}") for name in loads - inputs), *_asked(node, names)})
