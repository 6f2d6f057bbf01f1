"""A season as a page shows it: in the units the workspace asks for. The store and the attached data stay in SI."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any, Literal, TypeVar

from pipeline.common.amounts import Amount, AmountText
from pipeline.indicators.base.green_season import Due, GreenSeason, Indicator, Running, RunningPoint, Sample, Series
from pipeline.indicators.families import DESCRIBED
from pipeline.workspace.customary import AGAIN, Customary, customary

Units = Literal["metric", "US"]
Record = TypeVar("Record")

NARROW, HARD = "\u202f", "\u00a0"
"""Spaces that do not break a line: before a unit and inside it."""


def in_units(season: GreenSeason, units: Units) -> GreenSeason:
    """The season with every figure, and every quantity its texts hold, in these units.

    Standings, order and evidence are the same. Names of layers ("0–20 mm"), which say what was sampled, and sentences
    on method stay as they are.
    """
    if units == "metric":
        return season
    return replace(
        season,
        indicators=tuple(_indicator(one) for one in season.indicators),
        running=tuple(_running(one) for one in season.running),
        series=tuple(_series(one) for one in season.series),
        facts=tuple((label, _told(value)) for label, value in season.facts),
        works=tuple(_reworded(one) for one in season.works),
        due=tuple(_due(one) for one in season.due),
        cautions=tuple(_reworded(one) for one in season.cautions),
        data_notes=tuple(_reworded(one) for one in season.data_notes),
    )


def converted(value: float, unit: str, decimals: int, *, difference: bool = False) -> tuple[float, str, int]:
    """A figure in US customary units: value, unit and the digits after the point that its uncertainty carries.

    Args:
        value: the figure in ``unit``.
        unit: SI unit as printed; one without a customary unit stays.
        decimals: digits after the point it carries in SI.
        difference: whether it is a difference: 10 °C is 50 °F, a difference of 10 °C is one of 18 °F.
    """
    found = customary(unit)
    if found is None:
        return value, unit, decimals
    return found.value(value, difference=difference), found.unit, found.decimals(decimals)


def said(amount: Amount) -> str:
    """A quantity of a text in US customary units."""
    found = AGAIN.get(amount.unit) if amount.again else customary(amount.unit)
    if found is None:
        return str(amount)
    places = found.decimals(amount.decimals)
    number = f"{round(found.value(amount.value), places):,.{max(places, 0)}f}"
    if amount.form.endswith("g") and "." in number:
        number = number.rstrip("0").rstrip(".")
    return number if amount.bare else f"{number}{NARROW}{found.unit.replace(' ', HARD)}"


def _told(text: str) -> str:
    return text.said(said) if isinstance(text, AmountText) else text


def _reworded(record: Record) -> Record:
    """The record with the quantities of its texts in US customary units."""
    texts = {field.name: getattr(record, field.name) for field in fields(record)}  # type: ignore[arg-type]
    changed: dict[str, Any] = {name: _told(text) for name, text in texts.items() if isinstance(text, AmountText)}
    return replace(record, **changed) if changed else record  # type: ignore[type-var]


def _indicator(one: Indicator) -> Indicator:
    what = DESCRIBED.get(one.name)
    one = replace(_reworded(one), label=(what and what.label_us) or one.label)
    found = None if what and what.si_only else customary(one.unit)
    if found is None:
        return one
    difference = what is not None and what.difference
    ends = ("value", "low", "high", "target_low", "target_high")
    changed: dict[str, Any] = {end: _value(found, getattr(one, end), difference=difference) for end in ends}
    return replace(one, **changed, unit=found.unit, decimals=found.decimals(one.decimals))


def _due(one: Due) -> Due:
    one, found = _reworded(one), customary(one.unit)
    if found is None:
        return one
    low, high, applied = (_value(found, end) for end in (one.low, one.high, one.applied))
    return replace(one, low=low, high=high, applied=applied, unit=found.unit)


def _running(one: Running) -> Running:
    one, found = _reworded(one), customary(one.unit)
    if found is None:
        return one

    def points(given: tuple[RunningPoint, ...]) -> tuple[RunningPoint, ...]:
        return tuple(replace(point, total=found.value(point.total)) for point in given)

    goals = (_value(found, one.target_low), _value(found, one.target_high))
    return Running(one.name, found.unit, points(one.points), points(one.plan), *goals, one.target_source)


def _series(one: Series) -> Series:
    one, found = _reworded(one), customary(one.unit)
    if found is None:
        return one

    def sample(given: Sample) -> Sample:
        ends = (found.value(given.value), _value(found, given.low), _value(found, given.high))
        readings = tuple(found.value(reading) for reading in given.readings)
        return Sample(given.date, *ends, given.n, readings, given.method, given.comparable)

    goals = (_value(found, one.target_low), _value(found, one.target_high))
    return Series(one.name, one.band, found.unit, tuple(map(sample, one.samples)), *goals, one.target_source)


def _value(found: Customary, given: float | None, *, difference: bool = False) -> float | None:
    return None if given is None else found.value(given, difference=difference)
