"""[units] of a source profile: one name for the unit of several columns, so that it is decided once for all of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any


def with_shared_units(profile: Mapping[str, Any]) -> dict[str, Any]:
    """A profile's tables with each name of [units] replaced by the unit it stands for; without [units].

    Names are looked for where a profile says a unit: in [fields], [columns], [[long]], its ``set``, and [constants].

    Raises:
        ValueError: [units] is no table of texts, or nothing uses one of its names.
    """
    named = profile.get("units", {})
    rest = {key: part for key, part in profile.items() if key != "units"}
    if not isinstance(named, dict) or not all(isinstance(unit, str) for unit in named.values()):
        raise ValueError('units: write name = "unit", one a line')
    used = set(_said(rest))
    for name in named:
        if name not in used:
            raise ValueError(f"units: no column says that its unit is {name!r}")
    return {key: _replaced(part, named) for key, part in rest.items()}


def _said(part: object) -> Iterator[str]:
    """Every unit that a part of the profile says."""
    if isinstance(part, dict):
        if isinstance(part.get("unit"), str):
            yield part["unit"]
        for inner in part.values():
            yield from _said(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from _said(inner)


def _replaced(part: Any, named: Mapping[str, str]) -> Any:
    if isinstance(part, dict):
        unit = part.get("unit")
        own = {"unit": named[unit]} if isinstance(unit, str) and unit in named else {}
        return {key: _replaced(inner, named) for key, inner in part.items()} | own
    return [_replaced(inner, named) for inner in part] if isinstance(part, list) else part
