"""US customary units of the turf trade for the SI units a figure may have.

Every factor is exact: it follows from the international foot and pound, the US gallon of 231 cubic inches and the short
ton of 2000 pounds (NIST Handbook 44, Appendix C; NIST Special Publication 811, Appendix B), as they stand in
``pipeline/agronomy/units.py``. Which unit is taken is the custom of the US turf trade: what is spread goes by pounds on
1000 square feet (nitrogen too; not by the acre), sand to fill holes by cubic feet on 1000 square feet, a laboratory's
mg/kg is called ppm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor, log10

from pipeline.agronomy.units import (
    KG_PER_LB,
    KG_PER_SHORT_TON,
    L_PER_US_GALLON,
    M2_PER_ACRE,
    M2_PER_FT2,
    M_PER_FOOT,
    MM_PER_INCH,
)

YEARLY = " a year"
FEWEST_DIGITS = 4
"""Significant digits that are never too many in a customary unit: 72.5 mm is 2.854 in."""
LEAST_DIGITS = 2
"""Significant digits of a quantity whose zeros the text leaves out: 2 m is 6.6 ft, and neither 7 nor 6.56 (NIST SP 811,
B.7: as many digits as the number turned, or one more)."""
ONE_OF = {"short tons": "short ton"}
"""Units in the plural → what one of them is called."""
LB_1000FT2, FT3_1000FT2 = "lb/1000 ft²", "ft³/1000 ft²"

_PER_1000FT2 = 1000 * M2_PER_FT2
"""m² in 1000 ft²."""
_L_PER_FT3 = 1000 * M_PER_FOOT**3
_L_PER_FL_OZ = L_PER_US_GALLON / 128
_M_S_PER_MPH = 5280 * M_PER_FOOT / 3600


@dataclass(frozen=True)
class Customary:
    """The customary unit of an SI unit: ``value · factor + offset``.

    Attributes:
        unit: the customary unit as printed.
        factor: customary units in one SI unit, exact.
        offset: what a reading of a thermometer has to be raised by; never a difference.
        most: most digits after the point.
    """

    unit: str
    factor: float
    offset: float = 0.0
    most: int = 9

    def value(self, si: float, *, difference: bool = False) -> float:
        """The value in the customary unit; a difference between two values goes by the factor alone."""
        return si * self.factor + (0.0 if difference else self.offset)

    def decimals(self, si: int) -> int:
        """Digits after the point for a figure that carries ``si`` of them in SI; below zero for tens and hundreds.

        The fewest whose step is at most twice the step of the SI figure, so that no uncertainty is hidden and hardly
        any figure lost (own choice, after the rounding rules of NIST SP 811, B.7).
        """
        return min(self.most, ceil(si - log10(2 * self.factor) - 1e-9))

    def least_places(self, value: float) -> int:
        """Digits after the point with which a quantity, in SI, has ``LEAST_DIGITS`` in this unit."""
        return LEAST_DIGITS - _before_point(self.value(value)) if value else 0

    def places(self, value: float, carries: int, printed: int) -> int:
        """Digits after the point for one quantity: as ``decimals``, yet no more digits than it has in SI.

        A unit that is smaller than its step would else give 87,900 l as 23,220.7 gal. Fewer than ``FEWEST_DIGITS`` are
        never too many (own choice, after the same rules: as many digits as the number turned, or one more).

        Args:
            value: the quantity in SI.
            carries: digits after the point that it carries in SI.
            printed: digits after the point that are printed of it in SI.
        """
        told = self.decimals(carries)
        most = max(FEWEST_DIGITS, _before_point(value) + printed)
        return max(min(told, most - _before_point(self.value(value))), min(told, 0))


CUSTOMARY = {
    "mm": Customary("in", 1 / MM_PER_INCH),
    "mm/h": Customary("in/h", 1 / MM_PER_INCH),
    "m": Customary("ft", 1 / M_PER_FOOT),
    "m²": Customary("ft²", 1 / M2_PER_FT2),
    "kg": Customary("lb", 1 / KG_PER_LB),
    "t": Customary("short tons", 1000 / KG_PER_SHORT_TON),
    "kg/m²": Customary(LB_1000FT2, _PER_1000FT2 / KG_PER_LB),
    "g/m²": Customary(LB_1000FT2, _PER_1000FT2 / KG_PER_LB / 1000),
    "kg/ha": Customary(LB_1000FT2, _PER_1000FT2 / KG_PER_LB / 10_000),
    "g N/m²": Customary("lb N/1000 ft²", _PER_1000FT2 / KG_PER_LB / 1000),
    "kg N": Customary("lb N", 1 / KG_PER_LB),
    "m²/h": Customary("ft²/h", 1 / M2_PER_FT2),
    "km": Customary("miles", 1000 / M_PER_FOOT / 5280),
    "l": Customary("gal", 1 / L_PER_US_GALLON),
    "l/m²": Customary(FT3_1000FT2, _PER_1000FT2 / _L_PER_FT3),
    "ml/m²": Customary("fl oz/1000 ft²", _PER_1000FT2 / _L_PER_FL_OZ / 1000),
    "holes/m²": Customary("holes/ft²", M2_PER_FT2),
    "mm/m": Customary("%", 0.1),
    "°C": Customary("°F", 1.8, 32.0),
    "°C d": Customary("°F d", 1.8),
    "m/s": Customary("mph", 1 / _M_S_PER_MPH),
    "mg/kg": Customary("ppm", 1.0),
    "t/m³": Customary("g/cm³", 1.0),
}
"""SI unit as printed → its customary unit."""

AGAIN = {"g/m²": Customary("lb/acre", M2_PER_ACRE / KG_PER_LB / 1000)}
"""Where the figure beside it is in the unit above already, and the SI text says it in a second one."""

PRICES = {"m²": Customary("1000 ft²", _PER_1000FT2, most=2), "kg": Customary("lb", KG_PER_LB, most=2)}
"""What a price is per → the same in customary units, and how many of the former are in one of the latter."""

STAY = frozenset({
    "", "%", "percentage points", "h", "s", "days", "weeks", "gravities", "dS/m", "meq/100 g", "mg/l", "m/s²", "pH",
    "packs",
})  # fmt: skip
"""Units of figures that are the same for a US reader. Green speed stays in seconds: Stimpmeter feet are another
measurement, not another unit. mg/l of an extract is not mg/kg, so not called ppm. Limits of vibration are laid down
in m/s²."""


def _before_point(value: float) -> int:
    """Digits before the point; below zero for zeros right behind it."""
    return floor(log10(abs(value)) + 1e-12) + 1 if value else 0


def called(unit: str, number: str) -> str:
    """What a unit is called beside a number as printed: 1 short ton, 1.1 short tons."""
    return ONE_OF.get(unit, unit) if number in ("1", "−1") else unit


def customary(unit: str) -> Customary | None:
    """The customary unit of an SI unit, of it by the year, or of a price; None where the unit stays."""
    if unit.endswith(YEARLY) and (found := customary(unit.removesuffix(YEARLY))):
        return replace(found, unit=found.unit + YEARLY, offset=0.0)
    money, _, per = unit.partition("/")
    if per in PRICES and money and money == money.upper():
        return replace(PRICES[per], unit=f"{money}/{PRICES[per].unit}")
    return CUSTOMARY.get(unit)
