"""Small changes of a module's text that a test ought to notice: made by cosmic-ray's operators, one place at a time.

``cosmic-ray`` is imported where it is used only: it is no part of the ordinary environment (requirements.txt here).
"""

from __future__ import annotations

import ast
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

ROOT = Path(__file__).parents[2]
BORDER = {
    "Lt": "LtE",
    "LtE": "Lt",
    "Gt": "GtE",
    "GtE": "Gt",
    "Eq": "NotEq",
    "NotEq": "Eq",
    "Is": "IsNot",
    "IsNot": "Is",
}
"""Each comparison's nearest other one: at a limit it alone tells which side is meant."""
ORDER = {"Lt", "LtE", "Gt", "GtE", "Eq", "NotEq"}
ARITHMETIC = {"Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Pow"}
"""Bitwise operators in the place of these stop on any float and would be killed by anything."""
MASKS = {"BitAnd", "BitOr"}


@dataclass(frozen=True)
class Mutant:
    """One change.

    Attributes:
        module: dotted name of the module changed.
        line: number of the line changed, from 1.
        change: the line as it stands and as changed, stripped, with " → " between.
        nth: which of the equal changes in the module it is, from 0.
        source: the whole text of the module as changed.
    """

    module: str
    line: int
    change: str
    nth: int
    source: str


def mutants(module: str) -> list[Mutant]:
    """The mutants of a module, in order of line: of each place one of each sort, chosen by the text, not at random.

    A comparison is changed twice: to its neighbour (``<`` to ``<=``) and to another. A number goes one up or down, an
    operator of arithmetic becomes another. What changes only annotations or documentation is no mutant.
    """
    path = ROOT / f"{module.replace('.', '/')}.py"
    text = path.read_text("utf-8")
    seen: Counter[str] = Counter()
    found = []
    for line, change, source in sorted(_chosen(module, text)):
        found.append(Mutant(module, line, change, seen[change], source))
        seen[change] += 1
    return found


def _chosen(module: str, text: str) -> Iterator[tuple[int, str, str]]:
    plain = meaning(text)
    for (line, column, family), operators in _places(text).items():
        for operator, occurrence in _of_place(operators, crc32(f"{module} {line} {column} {family}".encode())):
            source = _mutated(text, operator, occurrence)
            if source and meaning(source) not in {plain, None}:
                yield line, _change(text, source), source


def _places(text: str) -> dict[tuple[int, int, str], list[tuple[str, int]]]:
    """At each place and for each family of operators, the operators that fit and which occurrence each is there."""
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.plugins import get_operator, operator_names

    nodes = list(ast_nodes(get_ast(text)))
    places = defaultdict(list)
    for name in sorted(operator_names()):
        if not get_operator(name).arguments():
            operator = get_operator(name)()
            positions = (start for node in nodes for start, _ in operator.mutation_positions(node))
            for occurrence, (line, column) in enumerate(positions):
                places[line, column, name.split("_")[0]].append((name, occurrence))
    return places


def _of_place(operators: list[tuple[str, int]], draw: int) -> Iterator[tuple[str, int]]:
    """Those tried at a place."""
    family = operators[0][0].split("_")[0]
    kept = [one for one in operators if _fits(*one[0].split("_"))]
    if family == "core/ReplaceComparisonOperator":
        near = [one for one in kept if BORDER.get(one[0].split("_")[1]) == one[0].split("_")[2]]
        yield from near
        kept = [one for one in kept if one not in near]
    if kept:
        yield kept[draw % len(kept)]


def _fits(family: str, old: str = "", new: str = "") -> bool:
    """Whether a replacement is one a person might write by mistake, not one that stops at once."""
    if family == "core/ReplaceComparisonOperator" and old in ORDER:
        return new in ORDER
    if family == "core/ReplaceBinaryOperator":
        return new in (MASKS if old in MASKS else ARITHMETIC)
    return new not in {"Invert", "UAdd"}


def _mutated(text: str, name: str, occurrence: int) -> str | None:
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    changed: str | None = mutate_code(text, get_operator(name)(), occurrence)
    return changed


def _change(text: str, source: str) -> str:
    old, new = text.splitlines(), source.splitlines()
    first = next((i for i, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), min(len(old), len(new)) - 1)
    return f"{' '.join(old[first].split())} → {' '.join(new[first].split())}"


class _Bare(ast.NodeTransformer):
    """Takes away what is not computed: annotations and documentation."""

    def visit_arg(self, node: ast.arg) -> ast.arg:
        node.annotation = None
        return node

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        node.returns = None
        self.generic_visit(node)
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AnnAssign:
        node.annotation = ast.Constant(None)
        self.generic_visit(node)
        return node

    def visit_Expr(self, node: ast.Expr) -> ast.Expr | None:
        return None if isinstance(node.value, ast.Constant) else node


def meaning(text: str) -> str | None:
    """What a module's text computes, whatever its layout, annotations and documentation; None if it is no Python."""
    try:
        return ast.dump(_Bare().visit(ast.parse(text)))
    except SyntaxError:
        return None
