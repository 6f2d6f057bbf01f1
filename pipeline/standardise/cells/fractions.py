"""Fractions told from "2 or 3": ``2/3 of a bag`` and ``3/4 in`` are fractions, ``2/3 bags`` may be two or three."""

from __future__ import annotations

import re
from math import gcd

from pipeline.common.faults import FaultKind
from pipeline.profiles.style import Refused, Style
from pipeline.standardise.cells import units

FRACTION_OR_TWO = FaultKind(
    "number.fraction_or_two",
    "fraction, or one number or another?",
    "{value} can be the fraction {fraction}, which is {number}, or {low} or {high} (or from {low} to {high}); nothing "
    "says which.",
    'Write inches with their unit ("3/4 in"), "3/4 of a bag" of what is counted, any other fraction with decimals '
    '("0.75"), and a range with "to" ("3 to 4").',
)
PACKS = r"(?:bag|pack|packet|sack|tub|drum|can|bottle|box|carton|container)(?:s|es)?"
"""Pattern of the words for a pack."""
_INCH_PARTS = frozenset({2, 3, 4, 8, 16, 32, 64})
_QUARTERS = frozenset({"1/2", "1/4", "3/4"})
_PARTS = _QUARTERS | {"1/3", "2/3"}
"""Parts that are written of one thing, and of hours but for thirds: common practice, no source."""
_ONE_THING = re.compile(
    r"(?:bag|pack|packet|sack|tub|drum|can|bottle|box|carton|container|(?:wheel)?barrow|(?:(?:wheel)?barrow ?)?load|"
    r"lb|pound|oz|ounce|ton|cwt|gallon|gal|pint|quart)\b(?!\s*loads)",
    re.IGNORECASE,
)
_METRIC = re.compile(r"(?:kg|kilo|kilogram(?:me)?|t|te|tonne|l|lit(?:re|er)|ltr)(?=$|\s*/|\s+per\b)", re.IGNORECASE)
_HALF = frozenset({"1/2", "1/4"})
"""Parts of one metric unit that are no "1 or 2": half a kilogram, a quarter of a tonne; "3/4 t" may be three or four
(common practice, no source)."""
_HOUR = re.compile(r"(?:working )?day|hour|hr|h", re.IGNORECASE)


def refuse_unusual(fractions: tuple[str, ...], behind: str, style: Style, column: str = "") -> None:
    """Refuses a fraction without a whole number before it where nobody writes one of that unit.

    Inches and feet have parts down to the sixty-fourth, in lowest terms; one bag, load, pound or gallon has halves,
    thirds and quarters, an hour or day halves and quarters, one kilogram, tonne or litre a half and a quarter. Other
    metric units, counts and plain numbers have decimals.

    Args:
        fractions: as written, ``2/3``.
        behind: what is written behind, "" where nothing is.
        style: how the source writes units.
        column: unit of the column, which holds where nothing is written behind; "" where it has none.

    Raises:
        Refused: with the fraction and the other reading.
    """
    for fraction in fractions:
        if fraction in _HALF and _METRIC.match(behind.strip()):
            continue
        if not _is_usual(fraction, (behind or _of_column(column)).strip().rstrip("."), style):
            low, high = fraction.split("/")
            number = f"{int(low) / int(high):.3g}"
            raise Refused(FRACTION_OR_TWO, fraction=fraction, number=number, low=low, high=high)


def of_one(text: str) -> str:
    """``2/3 of a bag`` as ``2/3 bag``; any other text as it is."""
    return re.sub(r"^(\d+\s*[/⁄]\s*\d+)\s+(?:of\s+)?(?:an?|one)\s+", r"\1 ", text, flags=re.IGNORECASE)


def _of_column(unit: str) -> str:
    """The column's unit, hours in the singular: "hours" over a column does not say that a cell holds several."""
    return "h" if unit == units.WORKED or unit in {"hours", "hrs"} else unit


def _is_usual(fraction: str, unit: str, style: Style) -> bool:
    top, bottom = map(int, fraction.split("/"))
    if not unit or gcd(top, bottom) > 1:
        return False
    if _ONE_THING.match(unit):
        return fraction in _PARTS
    if _HOUR.fullmatch(unit):
        return fraction in _QUARTERS
    return units.is_known(unit, style) and units.named(unit, style) in {"inch", "foot"} and bottom in _INCH_PARTS
