"""With what and how works of one kind were done, and how much of it, as printed: ranges, and sums of what is logged."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from pipeline.common.amounts import T_PLACES, Amount
from pipeline.common.grouped import grouped
from pipeline.common.words import listed, logged_for
from pipeline.indicators.base.green_season import Work
from reports.page import text
from reports.page.effort import places
from reports.page.house_style import Units
from reports.page.units import amount_in

SUMMED = ("kg", "l", "packs")
"""Units of what is logged that add up; a rate does not."""
NOT_GIVEN = "not given"
MOST_RANGE = 200
"""Characters of a list of products, or of ways in which one kind of work was done."""
_UNIT = r"(?:mm|cm|m|km|in|ft|kg|g|lb|t|L|l|gal|%|h|kg/m²|g/m²|kg/ha|L/m²|lb/1000 ft²|ml/m²|packs|passes|holes/m²)"
_NUMBER = r"\d[\d,]*(?:\.\d+)?"
_QUANTITY = re.compile(rf"(?<![\w/.,–−-]){_NUMBER}(?=[ \u00a0\u202f]{_UNIT}(?![\w/²]))")
"""A number right before a unit, which alone may stand as a range: not one of a product's name ("70/30", "9-4-6")."""
_ONE_PASS = re.compile(r"^1 pass$")


def range_of(works: Sequence[Work], units: Units) -> str:
    """With what and how: products with the amount of each, quantities that differ as a range.

    What a long list of products or ways has beyond ``MOST_RANGE`` characters is counted, and stands in works.csv.
    """
    products, ways = _some(list(_products(works, units))), _some(_ways(works))
    return "; ".join(filter(None, (products, ways, _each_time(works, units), _dry(works, units))))


def _some(parts: Sequence[str]) -> str:
    """The first of a list in so many characters, one at least, and how many more there are."""
    kept = [text.clean(one, MOST_RANGE) for one in parts[:1]]
    for one in parts[1:]:
        if len(", ".join((*kept, one))) > MOST_RANGE:
            break
        kept.append(one)
    left = len(parts) - len(kept)
    return ", ".join(kept) + (f" and {left} more in works.csv" if left else "")


def _products(works: Sequence[Work], units: Units) -> Iterator[str]:
    """The products in the order they were first used; where there are several, how much of each."""
    named = grouped((one for one in works if one.material), lambda one: text.clean(one.material))
    for material, same in named.items():
        much = _summed(same, units) or _rates(same, units) if len(named) > 1 else ""
        yield f"{material} {much}".rstrip()
    if len(named) > 1 and (rest := [one for one in works if not one.material]) and (sums := _summed(rest, units)):
        yield f"product not named {sums}"


def _ways(works: Sequence[Work]) -> list[str]:
    """How it was done, the parts of each work's words: those that differ in quantities alone as one, with the range."""
    parts = [_ONE_PASS.sub("1 passes", text.clean(part)) for one in works for part in _parts(one)]
    kinds = grouped(dict.fromkeys(parts), lambda part: _QUANTITY.sub("#", part)).values()
    return ["1 pass" if ranged == "1 passes" else ranged for ranged in map(_ranged, kinds)]


def _parts(of: Work) -> list[str]:
    """The words on how a work was done, without its product, part by part."""
    how = of.detail[len(of.material) :] if of.material and of.detail.startswith(of.material) else of.detail
    return [part.strip() for part in how.split(", ") if part.strip()]


def _ranged(alike: Sequence[str]) -> str:
    """Texts that are the same but for their quantities, as one: "cut at 5–8 mm"."""
    columns = iter(zip(*(_QUANTITY.findall(one) for one in alike), strict=True))

    def span(_: re.Match[str]) -> str:
        values = sorted(next(columns), key=_value)
        return values[0] if _value(values[0]) == _value(values[-1]) else f"{values[0]}–{values[-1]}"

    return _QUANTITY.sub(span, alike[0])


def _value(number: str) -> float:
    return float(number.replace(",", ""))


def _each_time(works: Sequence[Work], units: Units) -> str:
    """How much at a time, of a work done several times with one product; a rate also where it was done once."""
    given = [one.given for one in works if one.given]
    taken_off = any(part.endswith(" off") for one in works for part in _parts(one))
    several = len({one.material for one in works}) > 1
    if not given or taken_off or several or len({one.unit for one in given}) > 1:
        return ""
    if rates := _rates(works, units):
        return rates
    if len(given) == 1:
        return ""
    low, high = min(one.value for one in given), max(one.value for one in given)
    unit = given[0].unit
    scaled = (low / 1000, high / 1000, "t") if unit == "kg" and high >= 1000 else (low, high, unit)
    return f"{_between(*scaled, units)} at a time"


def _rates(works: Sequence[Work], units: Units) -> str:
    """The rates logged of these works as a range, where all of them are rates of one unit; "" else."""
    given = [one.given for one in works if one.given]
    if not given or given[0].unit in SUMMED or len({one.unit for one in given}) > 1:
        return ""
    return f"at {_between(min(one.value for one in given), max(one.value for one in given), given[0].unit, units)}"


def _between(low: float, high: float, unit: str, units: Units) -> str:
    digits = places([low, high])
    if low == high:
        return _size(low, unit, digits, units)
    return f"{amount_in(replace(_amount(low, unit, digits), bare=True), units)}–{_size(high, unit, digits, units)}"


def _dry(works: Sequence[Work], units: Units) -> str:
    """The dry mass of all of it, where some was logged moist."""
    if not any(one.dry_t is not None for one in works):
        return ""
    masses = [one.dry_t if one.dry_t is not None else _tonnes(one) for one in works]
    known = [mass for mass in masses if mass is not None]
    if len(known) < len(masses):
        return ""
    return f"{_size(sum(known), 't', 2, units)} dry in all"


def _tonnes(of: Work) -> float | None:
    return of.given.value / 1000 if of.given and of.given.unit == "kg" else None


def amount_of(works: Sequence[Work], units: Units, *, put_on: bool) -> str:
    """How much in all, by unit, and for how many of the jobs it is logged; products are not added to each other."""
    given = [one for one in works if one.given]
    if not given:
        return NOT_GIVEN if put_on else ""
    products = {one.material for one in given}
    lacks = logged_for(len(given), len(works))
    said = f"{len(products)} products" if len(products) > 1 else _summed(given, units) or "as a rate"
    return f"{said}, {lacks}" if lacks else said


def _summed(works: Sequence[Work], units: Units) -> str:
    """What is logged of these works added up from unrounded amounts, by unit; "" of rates alone."""
    by_unit = grouped((one.given for one in works if one.given), lambda one: one.unit)
    return listed([_total([one.value for one in by_unit[unit]], unit, units) for unit in SUMMED if unit in by_unit])


def _total(values: Sequence[float], unit: str, units: Units) -> str:
    total = sum(values)
    if unit == "kg" and total >= 1000:
        return _size(total / 1000, "t", places([value / 1000 for value in values]), units)
    return _size(total, unit, places(values), units)


def _size(value: float, unit: str, digits: int, units: Units) -> str:
    return text.clean(amount_in(_amount(value, unit, digits), units))


def _amount(value: float, unit: str, digits: int) -> Amount:
    return Amount(value, unit, f",.{digits}f", carries=max(digits, T_PLACES) if unit == "t" else None)
