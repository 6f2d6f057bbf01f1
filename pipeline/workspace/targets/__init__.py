"""Sets of targets shipped as data, each figure with its source; what a club or association sets itself comes first."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def target_sets() -> tuple[str, ...]:
    """Names of the shipped sets."""
    names = (entry.name for entry in files("pipeline.workspace.targets").iterdir())
    return tuple(sorted(name.removesuffix(".csv") for name in names if name.endswith(".csv")))


@cache
def shipped_targets(sets: tuple[str, ...]) -> tuple[dict[str, str], ...]:
    """Targets of the sets chosen, those of a later set first: fields as in schemas/target.py (grain: target)."""
    rows: list[dict[str, str]] = []
    for name in reversed(sets):
        text = files("pipeline.workspace.targets").joinpath(f"{name}.csv").read_text("utf-8")
        rows += csv.DictReader(text.splitlines())
    return tuple(rows)
