"""A comparison as a page shows it, in the units the workspace asks for; the attached data stay in SI."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, TypeVar

from pipeline.compare.comparison import Association, Cell, Comparison, OverSeasons, Own, Topic, YearChange
from pipeline.workspace.customary import customary
from reports.page.house_style import Units
from reports.page.units import in_customary

Record = TypeVar("Record", Cell, Own, YearChange, OverSeasons, Association)

ROUNDING = 1e-9
"""What a computer's last bits may be off by."""
_OF_CELL = ("low", "quarter", "median", "three_quarters", "high", "mean", "spread")
_OF_OWN = ("value", "low", "high", "estimate", "estimate_low", "estimate_high", "funnel_low", "funnel_high")
_OF_CHANGE = ("mean", "low", "high", "quarter", "median", "three_quarters")
_OF_SEASONS = ("slope", "low", "high")


def in_units(comparison: Comparison, units: Units) -> Comparison:
    """The comparison with every figure in these units; places, counts and limits are the same."""
    if units == "metric":
        return comparison
    cells = {cell: _outward(_turned(cell, *_OF_CELL)) for cell in comparison.cells}
    return replace(
        comparison,
        cells=tuple(cells.values()),
        own=tuple(
            replace(_turned(one, *_OF_OWN), cell=cells.get(one.cell) if one.cell else None) for one in comparison.own
        ),
        changes=tuple(_turned(one, *_OF_CHANGE) for one in comparison.changes),
        over_seasons=tuple(_turned(one, *_OF_SEASONS) for one in comparison.over_seasons),
        associations=tuple(
            replace(one, programme=in_customary(one.programme, units), text=in_customary(one.text, units))
            for one in comparison.associations
        ),
    )


def _outward(cell: Cell) -> Cell:
    """The group with the ends of its range rounded outwards to the digits they are printed with."""
    one = 10.0**-cell.topic.decimals
    return replace(
        cell, low=math.floor(cell.low / one + ROUNDING) * one, high=math.ceil(cell.high / one - ROUNDING) * one
    )


def _turned(record: Record, *names: str) -> Record:
    """The record in the customary unit of its topic, these figures too; none of them is of a temperature."""
    topic = record.topic
    found = customary(topic.unit)
    if found is None:
        return record
    known = {name: value for name in names if (value := getattr(record, name)) is not None}
    changed: dict[str, Any] = {name: found.value(value) for name, value in known.items()}
    unit, decimals = found.unit, found.decimals(topic.decimals)
    return replace(record, topic=_topic(topic, unit, found.value(topic.step), decimals), **changed)


def _topic(topic: Topic, unit: str, step: float, decimals: int) -> Topic:
    return replace(topic, unit=unit, step=step, decimals=decimals)
