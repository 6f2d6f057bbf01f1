"""Every public formula says where it comes from, and is held against something outside the project."""

import inspect
from textwrap import dedent

import pytest

import pipeline.agronomy
import pipeline.statistics
from scripts.docs.checks import checks_by_name, checks_of, checks_of_member
from scripts.docs.method import checks, modules, public_formulas, public_methods
from tests.agronomy.nothing_outside import NOTHING_OUTSIDE

LOOK_UPS = {"reference"}
"""Modules that read a shipped table: nothing is computed."""


def formulas(package):
    return [one for module in modules(package) for one in public_formulas(module)]


TRADE = formulas(pipeline.agronomy)
STATISTICS = formulas(pipeline.statistics)
OWN_CLASSES = [
    one
    for module in modules()
    for _, one in inspect.getmembers(module, inspect.isclass)
    if one.__module__ == module.__name__ and not one.__name__.startswith("_")
]


def name(one):
    return f"{one.__module__.removeprefix('pipeline.')}.{one.__name__}"


def sources(one):
    lines = [line.strip() for line in (inspect.getdoc(one) or "").splitlines()]
    return [line for line in lines if line.startswith("Source: ")]


@pytest.mark.parametrize("one", [*TRADE, *STATISTICS], ids=name)
def test_every_public_formula_has_a_source_line(one):
    found = sources(one)
    assert len(found) == 1, f"{name(one)} has {len(found)} Source lines"
    assert len(found[0]) > len("Source: ") + 5


@pytest.mark.parametrize("one", [one for one in OWN_CLASSES if "agronomy" in one.__module__], ids=name)
def test_every_class_of_the_trade_has_a_source_line(one):
    """What a formula gives back, and what goes in, has a definition too."""
    assert len(sources(one)) == 1


@pytest.mark.parametrize(
    "one", [one for one in [*TRADE, *STATISTICS] if not inspect.isclass(one) and "reference" not in name(one)], ids=name
)
def test_every_formula_names_each_of_its_inputs(one):
    documentation = inspect.getdoc(one) or ""
    for parameter in inspect.signature(one).parameters:
        assert f"\n    {parameter}: " in documentation, f"{name(one)} does not say what {parameter} is"


def outside(one):
    return [check for check in checks(one) if check.outside]


def test_every_formula_of_the_trade_is_held_by_something_outside_or_stands_in_the_list_of_those_that_are_not():
    """A function is held where a marked test imports it and uses it, not where its name stands."""
    computed = [one for one in TRADE if one.__module__.rpartition(".")[2] not in LOOK_UPS]
    assert {name(one) for one in computed if not outside(one)} == NOTHING_OUTSIDE.keys()


def test_every_formula_of_the_trade_is_tried_in_some_way():
    """By hand, on a known shape or turned round, where there is nothing outside."""
    assert [name(one) for one in TRADE if name(one) in NOTHING_OUTSIDE and not checks(one)] == []


def test_every_method_of_a_class_of_the_trade_is_asked_in_a_check():
    unasked = [
        f"{name(one)}.{method}"
        for one in TRADE
        if inspect.isclass(one)
        for method in public_methods(one)
        if not any(
            method in check.attributes
            for check in checks_of_member(f"{one.__module__}.{one.__name__}", frozenset({method}))
        )
    ]
    assert unasked == []


def test_every_statistic_is_checked():
    """Outside where there is something outside; by hand, by simulation or by turning it round where there is not."""
    assert [name(one) for one in STATISTICS if not checks(one)] == []
    held = [one for one in STATISTICS if outside(one)]
    assert len(held) >= 0.6 * len(STATISTICS)


FILE = '''
import pytest
from pipeline.agronomy import dressing
from pipeline.agronomy.dressing import depth_mm, mass_kg_m2 as mass, volume_m3
from published_checks import check
from tests.outside_checks import outside

pytestmark = outside("library", "a mark of the file")
WHO = "somebody"
ROWS = [pytest.param(1, marks=outside("figure", "a book, page 4"))]

def twice(kg):
    return depth_mm(2 * kg, 1.5)

def by_name(text):
    return f"{text}, page 3"

@pytest.mark.parametrize("x", [
    check("figure", twice, (1,), 1.33, 0.005, f"{WHO} 2020"),
    check("memory", mass, (1, 1.5), 1.5, 1e-9, by_name("a book")),
])
def test_figures(x):
    "Figures."

def test_module():
    """By another name."""
    assert dressing.packs(10, 25) == 0.4
    assert object().tray_depth_mm

@outside("library", "scipy")
def test_marked():
    pass

@pytest.mark.parametrize("x", ROWS)
def test_row(x):
    pass
'''


def test_a_name_counts_where_it_is_imported_and_used_only():
    """An import alone, an attribute of something else, and a bare word are no check."""
    first, second, third, *_ = checks_of(dedent(FILE), "test_file.py")
    assert first.names == {"pipeline.agronomy.dressing.depth_mm"}
    assert first.said == "`twice(1)` = 1.33 (± 0.005): somebody 2020"
    assert second.names == {"pipeline.agronomy.dressing.mass_kg_m2"}
    assert second.said == "`mass(1, 1.5)` = 1.5 (± 1e-09): from memory: a book, page 3"
    assert third.names == {"pipeline.agronomy.dressing.packs"}
    assert third.said == "module (`test_file.py`): By another name."
    assert "tray_depth_mm" in third.attributes


def test_what_counts_is_marked_at_the_test_or_the_row():
    """A mark of the whole file counts nothing; neither does a figure from memory."""
    assert [one.outside for one in checks_of(dedent(FILE), "test_file.py")] == [True, False, False, True, True]


def test_the_look_for_checks_can_fail():
    assert "pipeline.agronomy.dressing.no_such_formula" not in checks_by_name()
    assert not checks_of_member("pipeline.agronomy.no_such_module.Thing", frozenset({"no_such_method"}))
    assert next(checks_of("def test_x():\n    pass\n", "test_x.py")).outside is False
