"""Sets of targets shipped with the tool, each figure with its source; what a club or association sets comes first."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files

STANDARD = "standard"
"""The set that stands with the descriptions of the indicators; the others are data files beside this module."""


@cache
def target_sets() -> tuple[str, ...]:
    """Names of the shipped sets."""
    names = (entry.name for entry in files("pipeline.workspace.targets").iterdir())
    return tuple(sorted([STANDARD, *(name.removesuffix(".csv") for name in names if name.endswith(".csv"))]))


@cache
def shipped_targets(name: str) -> tuple[dict[str, str], ...]:
    """Targets of a set that is a data file: fields as in schemas/target.py (grain: target)."""
    text = files("pipeline.workspace.targets").joinpath(f"{name}.csv").read_text("utf-8")
    return tuple(csv.DictReader(text.splitlines()))
