"""The published tables that the formulas are held against: data files beside the code, each with its source."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any, Literal

Table = Literal["mlsn", "slan", "uk_index", "root_zone", "dressing", "layer_match"]


@cache
def table(name: Table) -> dict[str, Any]:
    """The sets of one shipped table by name, as its TOML file has them.

    Args:
        name: which table.

    Source: each set names its own in the file.
    """
    text = files("pipeline.agronomy.soil").joinpath("bands", f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def one_set(name: Table, version: str) -> dict[str, Any]:
    """One set of a shipped table.

    Args:
        name: which table.
        version: which set of it.

    Raises:
        ValueError: naming the sets there are, when that one is not there.

    Source: the set names its own in the file.
    """
    sets = table(name)
    if version not in sets:
        raise ValueError(f"there is no {name} set {version!r}; there are {', '.join(sets)}")
    chosen: dict[str, Any] = sets[version]
    return chosen


def guideline(name: Literal["mlsn", "slan"], version: str) -> dict[str, float]:
    """The minimum soil levels of one published version by element, mg/kg.

    Args:
        name: MLSN, or the conventional sufficiency levels.
        version: the year that names it.

    Source: the set names its own in the file (MLSN 2014 and 2016; Carrow et al. 2004).
    """
    return {key: float(value) for key, value in one_set(name, version).items() if not isinstance(value, str)}
