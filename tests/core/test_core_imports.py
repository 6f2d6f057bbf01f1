"""Who imports whom: one way down, and nothing heavy before it is needed."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

# Lower number = lower layer. A module may import from its own layer and below it.
LAYERS = {
    "schemas": 0,
    "pipeline.common.refusal": 0,
    "pipeline.common.faults": 1,
    "pipeline.common.words": 1,
    "pipeline.common.progress": 1,
    "pipeline.cli.doctor": 1,
    "pipeline.agronomy": 1,
    "pipeline.statistics": 1,
    "pipeline.workspace.targets": 1,
    "pipeline.store.register": 1,
    "pipeline.workspace.method_options": 1,
    "pipeline.common.amounts": 1,
    "pipeline.workspace.customary": 1,
    "pipeline.workspace.settings": 2,
    "pipeline.store.store": 2,
    "pipeline.indicators": 3,
    "pipeline.summaries": 3,
    "reports.page.units": 3,
    "reports": 4,
    "pipeline": 4,  # the stages
    "demo_data": 4,
    "pipeline.cli.printing": 5,
    "pipeline.cli.app": 6,
    "scripts.docs": 7,  # pages made from all the others
}


def layer(name: str) -> int:
    parts = name.split(".")
    return next(LAYERS[part] for n in range(len(parts), 0, -1) if (part := ".".join(parts[:n])) in LAYERS)


def modules() -> dict[str, Path]:
    found = {}
    for package in ("pipeline", "schemas", "reports"):
        for path in (ROOT / package).rglob("*.py"):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    return found


def imported(path: Path, known: dict[str, Path], *, at_once: bool = False) -> set[str]:
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
            found |= {name if name in known else node.module for name in names}
    return {name for name in found if name in known}


def test_nothing_imports_upward() -> None:
    """cli → stages → indicators → statistics, agronomy → schemas; an import the other way ties the knot."""
    known = modules()
    upward = [
        f"{name} imports {other}"
        for name, path in known.items()
        for other in imported(path, known)
        if layer(other) > layer(name)
    ]
    assert upward == []


@pytest.mark.parametrize("low", ["pipeline.agronomy", "pipeline.statistics", "schemas"])
def test_the_ground_floor_stands_alone(low: str) -> None:
    """The arithmetic of the trade knows no frame, file or store."""
    known = modules()
    for name, path in known.items():
        if name.startswith(low):
            assert all(other.split(".")[0] == "schemas" or other.startswith(low) for other in imported(path, known))


def test_no_cycles() -> None:
    """Two modules that import each other are one module in two files."""
    known = modules()
    edges = {name: imported(path, known, at_once=True) - {name} for name, path in known.items()}
    done: set[str] = set()

    def walk(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " → ".join((*trail[trail.index(name) :], name))
        if name in done:
            return
        for other in edges[name]:
            walk(other, (*trail, name))
        done.add(name)

    for name in edges:
        walk(name, ())


def test_the_command_line_starts_light() -> None:
    """--help answers at once only if nothing heavy is loaded for it."""
    heavy = [
        "weasyprint",
        "scipy",
        "vl_convert",
        "pandera",
        "polars",
        "duckdb",
        "jinja2",
        "rich",
        "pint",
        "pyarrow",
        "numpy",
    ]
    code = f"import sys, pipeline.cli.app; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout == "[]\n"
