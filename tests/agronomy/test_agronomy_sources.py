"""Every public formula says where it comes from, and is held against something outside the project."""

import ast
import inspect
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest

import pipeline.agronomy

PUBLISHED = Path(__file__).parents[1] / "published"
HELPERS = {"maths", "reference"}


def public_members():
    for module in iter_modules(pipeline.agronomy.__path__):
        loaded = import_module(f"pipeline.agronomy.{module.name}")
        for name, member in inspect.getmembers(loaded):
            formula = inspect.isfunction(member) or inspect.isclass(member)
            if formula and member.__module__ == loaded.__name__ and not name.startswith("_"):
                yield module.name, name, member


MEMBERS = list(public_members())
FORMULAS = [(m, n, f) for m, n, f in MEMBERS if inspect.isfunction(f) and m not in HELPERS]


def names_used_in_published_tests():
    used = set()
    for path in PUBLISHED.glob("test_*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Name):
                used.add(node.id)
            elif isinstance(node, ast.Attribute):
                used.add(node.attr)
    return used


@pytest.mark.parametrize(("module", "name", "member"), MEMBERS, ids=[f"{m}.{n}" for m, n, _ in MEMBERS])
def test_every_public_formula_has_a_source_line(module, name, member):
    lines = [line.strip() for line in (inspect.getdoc(member) or "").splitlines()]
    sources = [line for line in lines if line.startswith("Source: ")]
    assert len(sources) == 1, f"{module}.{name} has {len(sources)} Source lines"
    assert len(sources[0]) > len("Source: ") + 5


@pytest.mark.parametrize(("module", "name", "function"), FORMULAS, ids=[f"{m}.{n}" for m, n, _ in FORMULAS])
def test_every_formula_names_each_of_its_inputs(module, name, function):
    documentation = inspect.getdoc(function) or ""
    for parameter in inspect.signature(function).parameters:
        assert f"\n    {parameter}: " in documentation, f"{module}.{name} does not say what {parameter} is"


def test_every_formula_has_a_check_against_something_outside():
    used = names_used_in_published_tests()
    unchecked = [f"{module}.{name}" for module, name, _ in FORMULAS if name not in used]
    assert unchecked == []


def test_the_look_for_checks_can_fail():
    assert "no_such_formula_anywhere" not in names_used_in_published_tests()
