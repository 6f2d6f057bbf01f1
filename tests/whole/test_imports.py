"""Who imports whom: the rooms of the house in their order, no circle, and nothing heavy before it is needed."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

LAYERS = (
    ("schemas",),
    ("pipeline.common",),
    ("pipeline.agronomy", "pipeline.statistics"),
    ("pipeline.workspace", "pipeline.read"),
    ("pipeline.profiles", "pipeline.store"),
    ("pipeline.standardise", "pipeline.indicators"),
    (
        "pipeline.validate",
        "pipeline.forms",
        "pipeline.draft",
        "pipeline.compare",
        "pipeline.summaries",
        "pipeline.plan",
        "pipeline.findings",
    ),
    ("pipeline.season",),
    ("pipeline.load", "pipeline.figures"),
    ("pipeline.verify",),
    ("pipeline.first_page",),
    ("pipeline.survey",),
    ("reports.page",),
    (
        "reports.condition",
        "reports.comparison",
        "reports.due",
        "reports.summary",
        "reports.survey",
        "reports.round_up",
        "reports.order",
        "reports.paper",
        "reports.programme",
    ),
    ("reports.handout",),
    ("pipeline.publish",),
    ("pipeline.forget", "pipeline.copies"),
    ("pipeline.cli",),
    ("scripts",),
)
"""Rooms, lowest first. A module imports from its own room and from rooms of lower lines, and from nowhere else."""
LAYER = {room: number for number, rooms in enumerate(LAYERS) for room in rooms}
HEAVY = {"weasyprint", "vl_convert", "scipy", "pandera"}
MADE_TO_WARM = {"pipeline.figures.warm", "pipeline.publish.due_warm", "pipeline.publish.warm"}
"""Imported by worker processes only, so that each starts warm."""
SLOW_TO_START = (*HEAVY, "polars", "duckdb", "jinja2", "rich", "pint", "pyarrow", "numpy")


def modules() -> dict[str, Path]:
    """Every module of ours: dotted name → file."""
    found = {}
    for package in ("pipeline", "schemas", "reports", "scripts"):
        for path in sorted((ROOT / package).rglob("*.py")):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    return found


KNOWN = modules()


def room(name: str) -> str:
    """The room a module stands in; schemas and scripts are one each."""
    parts = name.split(".")
    return parts[0] if parts[0] in {"schemas", "scripts"} else ".".join(parts[:2])


def imported(path: Path, *, at_once: bool = False) -> set[str]:
    """Modules of ours that this one imports: wherever in it, or only at once and not when something is called."""
    found: set[str] = set()
    tree = ast.parse(path.read_text("utf-8"))
    skipped: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            skipped |= {inner for part in node.body for inner in ast.walk(part)}
        if at_once and isinstance(node, ast.FunctionDef):
            skipped |= set(ast.walk(node))
        if node in skipped:
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are written in full"
            assert node.module is not None
            names = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= {name if name in KNOWN else node.module for name in names}
    return {name for name in found if name in KNOWN}


@cache
def imports() -> dict[str, set[str]]:
    """What each module of ours imports of ours."""
    return {name: imported(path) - {name} for name, path in KNOWN.items()}


def no_circle(edges: dict[str, set[str]]) -> None:
    """Fails with the circle, where there is one."""
    try:
        TopologicalSorter(edges).prepare()
    except CycleError as circle:
        pytest.fail(" → ".join(reversed(circle.args[1])))


def test_the_top_of_a_package_holds_rooms_and_nothing_loose() -> None:
    loose = {name for name in KNOWN if room(name) not in LAYER} - {"pipeline", "reports"}
    assert not loose, f"{sorted(loose)} stand in no room of LAYERS"
    assert not list((ROOT / "pipeline").glob("[!_]*.py")) + list((ROOT / "reports").glob("[!_]*.py"))


def test_nothing_imports_upward() -> None:
    """An import the other way ties the knot: then neither can be read, tested or changed by itself."""
    wrong = [
        f"{name} imports {other}"
        for name, others in imports().items()
        for other in others
        if room(name) in LAYER and room(other) in LAYER and room(other) != room(name)
        if LAYER[room(other)] >= LAYER[room(name)]
    ]
    assert wrong == []


def test_no_circle_between_folders_within_a_room() -> None:
    """Folders of one room, such as the families of indicators, import one way as well."""
    edges: dict[str, set[str]] = {}
    for name, others in imports().items():
        here = name.rsplit(".", 1)[0]
        there = {other.rsplit(".", 1)[0] for other in others if room(other) == room(name)}
        inner = {folder for folder in there - {here} if folder.count(".") > 1}
        if here.count(".") > 1:
            edges.setdefault(here, set()).update(inner)
    no_circle(edges)


def test_no_circle_between_modules() -> None:
    """Two modules that import each other are one module in two files."""
    no_circle({name: imported(path, at_once=True) - {name} for name, path in KNOWN.items()})


@pytest.mark.parametrize("low", ["pipeline.agronomy", "pipeline.statistics"])
def test_the_arithmetic_stands_alone(low: str) -> None:
    """Arithmetic that knows a frame, a file or the store cannot be held against a handbook."""
    for name, others in imports().items():
        if room(name) == low:
            assert all(room(other) in {"schemas", low} for other in others), name


def test_the_table_would_catch_one() -> None:
    """The rule itself: two rooms that import each other are seen."""
    with pytest.raises(pytest.fail.Exception, match=r"a → b → a|b → a → b"):
        no_circle({"a": {"b"}, "b": {"a"}})


@pytest.mark.parametrize("name", sorted(set(KNOWN) - MADE_TO_WARM))
def test_heavy_libraries_wait_until_they_are_needed(name: str) -> None:
    """--help that waits for a PDF renderer."""
    early = set()
    for node in ast.parse(KNOWN[name].read_text("utf-8")).body:
        if isinstance(node, ast.Import):
            early |= {one.name.split(".")[0] for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            early.add(node.module.split(".")[0])
    assert not early & HEAVY, f"{name} imports {sorted(early & HEAVY)} at once"


def test_the_command_line_starts_light() -> None:
    """--help answers at once only if nothing heavy is loaded for it."""
    code = f"import sys, pipeline.cli.app; print([m for m in {SLOW_TO_START} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout == "[]\n"
