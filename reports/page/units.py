"""A season as a page shows it: in the units the workspace asks for. The store and the attached data stay in SI."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal
from typing import Any, TypeVar

from pipeline.agronomy.units import KG_PER_LB, L_PER_US_GALLON, M_PER_FOOT
from pipeline.common.amounts import Amount, AmountText
from pipeline.indicators.base.first_page import FirstPage
from pipeline.indicators.base.green_season import GreenSeason, Indicator, Running, Series
from pipeline.indicators.base.judgement import judgement
from pipeline.indicators.families import DESCRIBED
from pipeline.workspace.customary import AGAIN, Customary, called, customary
from reports.page import text
from reports.page.house_style import Units

Record = TypeVar("Record")

KM_PER_MILE = 5280 * M_PER_FOOT / 1000
_PRICED_BY = {"kg": ("lb", KG_PER_LB), "l": ("gallon", L_PER_US_GALLON), "km": ("mile", KM_PER_MILE)}
"""SI unit that a price is of one of → the customary unit, and how many of the former are in it, exact."""


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
        works=tuple(reworded(one) for one in season.works),
        due=tuple(rescaled(reworded(one), "low", "high", "applied") for one in season.due),
        cautions=tuple(reworded(one) for one in season.cautions),
        data_notes=tuple(reworded(one) for one in season.data_notes),
        questions=tuple(reworded(one) for one in season.questions),
        first=_first(season.first) if season.first else None,
    )


def said(amount: Amount) -> str:
    """A quantity of a text in US customary units."""
    found = AGAIN.get(amount.unit) if amount.again else customary(amount.unit)
    if found is None:
        return str(amount)
    places = found.places(amount.value, amount.decimals, amount.printed)
    if amount.form.endswith("g") and amount.carries is None:
        places = max(places, found.least_places(amount.value))
    number = f"{round(found.value(amount.value), places):,.{max(places, 0)}f}"
    if amount.form.endswith("g") and "." in number:
        number = number.rstrip("0").rstrip(".")
    return number if amount.bare else f"{number}{text.NARROW}{text.glued(called(found.unit, number))}"


def price_each(each: Decimal, per: str, units: Units) -> tuple[Decimal, str]:
    """A price of one kg, l or km as the price of one of its customary unit, and what that is called."""
    if units == "metric":
        return each, {"l": "litre"}.get(per, per)
    name, si = _PRICED_BY[per]
    return each * Decimal(repr(si)), name


def distance(km: float, units: Units) -> str:
    """A distance driven, in whole kilometres or miles."""
    value, unit = (km, "km") if units == "metric" else (km / KM_PER_MILE, "miles")
    return f"{value:,.0f}{text.NARROW}{unit}"


def in_customary(text: str, units: Units) -> str:
    """A text with its quantities in these units."""
    return text if units == "metric" else _told(text)


def _told(text: str) -> str:
    return text.said(said) if isinstance(text, AmountText) else text


def reworded(record: Record) -> Record:
    """The record with the quantities of its texts in US customary units."""
    texts = {field.name: getattr(record, field.name) for field in fields(record)}  # type: ignore[arg-type]
    changed: dict[str, Any] = {name: _told(text) for name, text in texts.items() if isinstance(text, AmountText)}
    return replace(record, **changed) if changed else record  # type: ignore[type-var]


def rescaled(record: Record, *names: str) -> Record:
    """The record in the customary unit of its ``unit``, these fields too; as it is where there is none."""
    found = customary(record.unit)  # type: ignore[attr-defined]
    return replace(_scaled(record, found, *names), unit=found.unit) if found else record  # type: ignore[type-var]


def _scaled(record: Record, found: Customary, *names: str, difference: bool = False) -> Record:
    """The record with the figures of some fields, as far as they are known, in a customary unit."""
    known = {name: value for name in names if (value := getattr(record, name)) is not None}
    changed: dict[str, Any] = {name: found.value(value, difference=difference) for name, value in known.items()}
    return replace(record, **changed)  # type: ignore[type-var]


def _indicator(one: Indicator) -> Indicator:
    what = DESCRIBED.get(one.name)
    told = replace(reworded(one), label=(what and what.label_us) or one.label)
    found = None if what and what.si_only else customary(one.unit)
    if found is None:
        return told
    difference = what is not None and what.difference
    shown = _scaled(told, found, "value", "low", "high", "target_low", "target_high", difference=difference)
    if one.unsure is not None:
        shown = replace(shown, unsure=found.value(one.unsure, difference=True))
    decimals = found.places(one.value, one.decimals, one.decimals) if one.value else found.decimals(one.decimals)
    return replace(shown, unit=found.unit, decimals=decimals, judged_as=judgement(one))


def _running(one: Running) -> Running:
    if found := customary(one.unit):
        points, plan = (tuple(_scaled(at, found, "total") for at in line) for line in (one.points, one.plan))
        one = replace(one, points=points, plan=plan)
    return rescaled(reworded(one), "target_low", "target_high")


def _series(one: Series) -> Series:
    if found := customary(one.unit):
        scaled = [_scaled(sample, found, "value", "low", "high") for sample in one.samples]
        samples = tuple(replace(s, readings=tuple(found.value(r) for r in s.readings)) for s in scaled)
        one = replace(one, samples=samples)
    return rescaled(reworded(one), "target_low", "target_high")


def amount_in(amount: Amount, units: Units) -> str:
    """A quantity with its unit in these units."""
    return str(amount) if units == "metric" else said(amount)


def quantity_in(value: float | None, unit: str, decimals: int, units: Units, *, signed: bool = False) -> str:
    """A quantity as printed in these units; "not recorded" where there is none.

    Args:
        value: in ``unit``.
        unit: SI unit as printed.
        decimals: digits after the point that it carries in SI.
        units: units of display.
        signed: whether it has its sign, being a difference.
    """
    if value is None:
        return text.MISSING
    number, unit, places = turned(value, unit, decimals, units, difference=signed)
    shown = text.signed(number, places) if signed else text.number(number, places)
    return text.with_unit(shown, called(unit, shown))


def turned(value: float, unit: str, decimals: int, units: Units, *, difference: bool = False) -> tuple[float, str, int]:
    """A quantity in these units: its value, its unit and the digits after the point that it carries there."""
    found = None if units == "metric" else customary(unit)
    if found is None:
        return value, unit, decimals
    return found.value(value, difference=difference), found.unit, found.places(value, decimals, decimals)


def unit_in(unit: str, units: Units) -> str:
    """What a unit is called in these units."""
    return turned(0.0, unit, 0, units)[1]


def figure_in(one: Indicator, units: Units) -> Indicator:
    """A figure in these units, as a season shows it."""
    return one if units == "metric" else _indicator(one)


def _first(page: FirstPage) -> FirstPage:
    """The figures of a first page in customary units; amounts are turned where they are worded."""

    def shown(one: Indicator | None) -> Indicator | None:
        return None if one is None else _indicator(one)

    return replace(
        page,
        found=tuple(replace(one, figure=_indicator(one.figure), last=shown(one.last)) for one in page.found),
        measures=tuple(replace(one, figure=shown(one.figure), last=shown(one.last)) for one in page.measures),
        checks=tuple(
            replace(
                one,
                question=reworded(one.question),
                now=tuple(_indicator(each) for each in one.now),
                without=tuple(_indicator(each) for each in one.without),
            )
            for one in page.checks
        ),
    )
