"""The picture of imports in DEVELOPERS.md: nothing imports upward, nothing heavy is imported before it is needed."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEAVY = {"weasyprint", "vl_convert", "scipy", "pandera"}

LAYERS = {
    "schemas": ("schemas",),
    "pipeline.agronomy": ("pipeline.agronomy", "schemas"),
    "pipeline.statistics": ("pipeline.statistics", "pipeline.agronomy", "schemas"),
    "reports": (
        "reports",
        "schemas",
        "pipeline.indicators.base.green_season",
        "pipeline.compare.comparison",
        "reports.page.units",
        "pipeline.summaries",
        "pipeline.common.words",
        "pipeline.survey",
        "pipeline.agronomy",
    ),
}
"""Part of the code → what of ours it may import."""
ABOVE_INDICATORS = (
    "reports",
    "pipeline.read",
    "pipeline.standardise",
    "pipeline.load.load",
    "pipeline.validate.validate",
)
MAY_RENDER = {
    "pipeline.publish.documents", "pipeline.publish.comparison", "pipeline.publish.survey", "pipeline.publish.branding", "pipeline.publish.render_cache",
    "scripts.docs.indicators", "scripts.docs.house_style",
}  # fmt: skip
MADE_TO_WARM = {"pipeline.publish.warm"}
"""Imported by worker processes only, so that each starts warm."""
MAY_CALL_THE_COMMAND_LINE = {"scripts.docs.commands"}


def modules() -> Iterator[tuple[str, ast.Module]]:
    """Every module of ours with its syntax tree."""
    for folder in ("pipeline", "schemas", "reports"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
            yield name, ast.parse(path.read_text("utf-8"))


MODULES = dict(modules())


def imported(tree: ast.AST) -> set[str]:
    """Dotted names that a tree imports; ``from a import b`` is both a and a.b."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
    return names


def within(name: str, parts: tuple[str, ...]) -> bool:
    """Whether a dotted name is one of these or inside one."""
    return any(name == part or name.startswith(f"{part}.") for part in parts)


@pytest.mark.parametrize("part", LAYERS)
def test_a_lower_layer_knows_nothing_of_a_higher_one(part: str) -> None:
    """Arithmetic that knows the store cannot be held against a handbook."""
    for name, tree in MODULES.items():
        if within(name, (part,)):
            ours = {one for one in imported(tree) if within(one, ("pipeline", "schemas", "reports"))}
            parents = {".".join(allowed.split(".")[:n]) for allowed in LAYERS[part] for n in (1, 2)}
            wrong = {one for one in ours if not within(one, LAYERS[part])} - parents
            assert not wrong, f"{name} imports {sorted(wrong)}"


def test_indicators_read_no_files_and_draw_no_pages() -> None:
    """An indicator that parses a file or places a chart is in the wrong folder."""
    for name, tree in MODULES.items():
        if within(name, ("pipeline.indicators",)):
            wrong = {one for one in imported(tree) if within(one, ABOVE_INDICATORS)}
            assert not wrong, f"{name} imports {sorted(wrong)}"


def test_pages_are_drawn_and_commands_called_from_one_place() -> None:
    """A stage that imports the command line or the renderer makes a circle."""
    for name, tree in MODULES.items():
        names = imported(tree)
        if name.startswith("pipeline") and name not in MAY_RENDER:
            assert not {one for one in names if within(one, ("reports",))}, f"{name} imports reports"
        if name not in MAY_CALL_THE_COMMAND_LINE:
            assert not {one for one in names if within(one, ("pipeline.cli.app",))}, f"{name} imports the command line"


@pytest.mark.parametrize("name", sorted(set(MODULES) - MADE_TO_WARM))
def test_heavy_libraries_wait_until_they_are_needed(name: str) -> None:
    """--help that waits for a PDF renderer."""
    top = [node for node in MODULES[name].body if isinstance(node, ast.Import | ast.ImportFrom)]
    early = {one.split(".")[0] for node in top for one in imported(node)} & HEAVY
    assert not early, f"{name} imports {sorted(early)} at once"
