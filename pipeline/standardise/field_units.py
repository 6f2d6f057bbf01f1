"""Whether a unit is of the sort that a field holds."""

from __future__ import annotations

import re
from functools import cache

from pipeline.profiles.style import Refused
from pipeline.standardise.cells import units
from pipeline.standardise.cells.header_units import ANY_STYLE
from pipeline.standardise.cells.powers import RADIATION
from pipeline.standardise.fields import AMOUNTS
from schemas import Kind
from schemas.field import Field

_PER_AREA = {"rate": ("g/m2", "ml/m2")}
_PER_PERIOD = {
    period: re.compile(rf"(?:\s*/\s*|\s+per\s+|\s+)(?:{words})(?:-1|⁻¹)?$|(?:\s*/\s*|\s+){short}(?:-1|⁻¹)$")
    for period, words, short in (("day", "day", "d"), ("month", "month", "mo"))
}
"""Of a kind whose every figure is of one period: ``mm month-1`` over a month's rain is its mm. ``mm day-1`` over it is
not: a thirtieth would be stored as the whole."""


def unit_fits(one: Field, unit: str) -> bool:
    """Whether figures in this unit can go to the field."""
    if not unit:
        return False
    if one.name in AMOUNTS:
        return any(converts(unit, to) for to in _PER_AREA.get(one.name, ("kg", "l")))
    if one.unit:
        return converts(unit, one.unit)
    return one.name == "value"


def without_period(said: str, kind: Kind, name: str) -> str:
    """A unit of a units row without the period that a record of the kind is of anyhow (``mm month-1`` of a month)."""
    if not kind.period or name not in kind.by_name:
        return said
    return _PER_PERIOD["day" if kind.by_name[name].unit == RADIATION else kind.period].sub("", said)


@cache
def converts(unit: str, to: str) -> bool:
    """Whether figures in one unit can be turned into another; a temperature only into a temperature."""
    try:
        names = [units.named(one, ANY_STYLE) for one in (unit, to)]
        if len({name.startswith("deg") for name in names}) == 1:
            units.scale(unit, to, ANY_STYLE)
            return True
    except Refused:
        pass
    return False
