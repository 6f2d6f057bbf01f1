"""What to do, in words: amount, months, cost and what is open of an action, as every document prints it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Literal

from pipeline.common.amounts import Amount
from pipeline.common.money import rounded
from pipeline.common.words import listed
from pipeline.first_page.standing import NUMBERS
from pipeline.indicators.base.first_page import Action, Amounts
from reports.page import text
from reports.page.house_style import Units
from reports.page.units import amount_in

MOST_MONTHS = 15
"""Characters of a span of months that stand in one line."""
NO_PRICE = "no price for this work on record"
UNFIT: dict[Literal["deep", "much", "step", ""], str] = {
    "deep": "too deep to fill by dressing",
    "much": "more fill than dressing can give",
    "step": "one part of the survey is in doubt",
}
"""Why no dressing is ordered for low ground."""
NUTRIENT = {"N": "nitrogen"}
"""What an amount is of that is no mass of a product → its word."""
NOT_PRICED, NOT_KNOWN, WAITS, NO_SUM = "not priced", "not known", "waits", "–"


def to_tens(cost: Decimal) -> Decimal:
    """Money as it is printed: to tens, below ten to units."""
    return rounded(cost, -1 if abs(cost) >= 10 else 0)


def in_tens(every: Iterable[Action]) -> Iterator[Action]:
    """The actions with their costs as printed, before some are told together: every page then comes to the same sum."""
    return (one if one.cost is None else replace(one, cost=to_tens(one.cost)) for one in every)


def total_of(shown: Sequence[Action], currency: str) -> tuple[str, str]:
    """The sum of what is printed, and of how many rows it is and by what."""
    label, total = sum_of(shown, currency)
    return (f"{label}, by the rates and prices loaded" if total not in ("", NO_SUM) else label), total


def sum_of(shown: Sequence[Action], currency: str) -> tuple[str, str]:
    """The sum of what is printed, and of how many rows it is."""
    priced = [to_tens(one.cost) for one in shown if one.cost is not None and not one.waits]
    whole = sum(one.cost is not None and one.priced == one.of and not one.waits for one in shown)
    if not priced:
        return ("Nothing of this is priced", NO_SUM) if shown else ("", "")
    number = NUMBERS[len(shown)] if len(shown) < len(NUMBERS) else str(len(shown))
    if whole == len(shown):
        label = {1: "In all", 2: "Both priced"}.get(len(shown), f"All {number} priced")
    else:
        label = f"Priced so far ({whole} of {len(shown)} in full)"
    least = "from " if any(at_least(one) for one in shown if one.cost is not None and not one.waits) else ""
    return label, f"{least}{text.money(sum(priced, Decimal(0)), currency)}"


def cost_of(one: Action, currency: str) -> str:
    """Money to tens; from so much on, where it is of the least amount, or not of every work."""
    if one.waits:
        return WAITS
    if one.cost is None:
        return NOT_PRICED
    return f"{'from ' if at_least(one) else ''}{text.money(to_tens(one.cost), currency)}"


def at_least(one: Action) -> bool:
    """Whether what an action costs is the least it costs."""
    return one.at_least or one.priced < one.of


def amount_of(one: Action, units: Units) -> str:
    """How much of it, or how often."""
    if one.waits:
        return WAITS
    if one.amounts:
        return ", ".join(_span(each, units) for each in one.amounts).replace(text.HARD, " ")
    if one.as_this_season:
        return text.count(one.as_this_season, "job")
    if amount_unknown(one):
        return NOT_KNOWN
    if not one.lines:
        return "–"
    return "once" if one.lines == 1 else f"{one.lines} jobs"


def amount_unknown(one: Action) -> bool:
    """Whether of no line of an action an amount is known."""
    return not one.amounts and one.lines > 0 and max(one.unsized, one.unsure) == one.lines


def _span(one: Amounts, units: Units) -> str:
    return f"{_range(one, units)}{f' of {NUTRIENT[one.of]}' if one.of else ''}"


def _range(one: Amounts, units: Units) -> str:
    if one.high is None:
        return f"from {_size(one.low, one.unit, units)}"
    if one.high == one.low:
        return _size(one.low, one.unit, units)
    return f"{_size(one.low, one.unit, units, bare=True)}–{_size(one.high, one.unit, units)}"


def _size(value: float, unit: str, units: Units, *, bare: bool = False) -> str:
    """An amount with the digits that it is told with, in any units; in SI without the zeros behind."""
    carries = text.places_of_three(value)
    return text.clean(amount_in(Amount(round(value, carries), unit, ",g", bare, carries), units))


def details(one: Action, units: Units) -> Iterator[str]:
    """What is late or not known of it, then how it is put on and of what."""
    if one.hollows is not None:
        if one.waits:
            yield "once the heights under a warning are checked"
        yield _lifts(one, units)
        yield from [NO_PRICE] if one.cost is None and one.amounts else []
    elif one.as_this_season:
        yield "as often as this season"
    else:
        yield from doubts(one)
        yield from _how(one)


def less_of(one: Action) -> str:
    """Which findings ask for less of an action; "" where none does."""
    if not one.less:
        return ""
    single = len(one.less) == 1
    return f"finding{'' if single else 's'} {listed(list(map(str, one.less)))} ask{'s' if single else ''} for less"


def doubts(one: Action) -> Iterator[str]:
    """What of an action is late, asked for less of, or not known."""
    yield from filter(None, [less_of(one)])
    if one.overdue:
        yield "overdue"
    if one.unsure:
        yield f"{one.unsure} of {one.lines} maybe done"
    if one.waits:
        yield "once the entry above is settled"
    elif amount_unknown(one) and one.lacking:
        yield text.clean(one.lacking, 200)
    elif one.unsized and one.unsized < one.lines:
        yield f"{one.unsized} of {one.lines} without an amount"
    elif 0 < one.priced < one.of:
        yield f"{one.priced} of {one.of} priced"
    elif not one.priced and one.why:
        yield text.clean(one.why, 200)


def _how(one: Action) -> Iterator[str]:
    """In how many goes it is put on, and of what."""
    if one.lines > 1 and one.amounts:
        yield f"in {NUMBERS[one.lines] if one.lines < len(NUMBERS) else one.lines} goes"
    if len(one.materials) == 1 and one.materials[0] not in one.lacking:
        yield text.clean(one.materials[0], 200)
    elif len(one.materials) > 1:
        yield f"{len(one.materials)} products"


def _lifts(one: Action, units: Units) -> str:
    assert one.hollows is not None
    if not one.amounts:
        return UNFIT.get(one.hollows.unfit, "not to be filled by dressing")
    lift = text.clean(amount_in(Amount(one.hollows.lift_mm, "mm", "g"), units))
    number = NUMBERS[one.hollows.lifts] if one.hollows.lifts < len(NUMBERS) else one.hollows.lifts
    deep = f"; {one.hollows.deep} too deep for that" if one.hollows.deep else ""
    return f"in {number} layers of {lift} at most{deep}"


def when(one: Action) -> str:
    """In which months."""
    if one.overdue:
        return f"now–{_month(one.last)}" if one.last is not None and one.lines > 1 else "now"
    if one.first is not None and one.last is not None:
        return _months_between(one.first, one.last)
    if one.first is not None:
        return f"from {_month(one.first)}"
    if one.last is not None:
        return f"by {_month(one.last)}"
    if one.months:
        return ", ".join(month_runs(sorted(set(one.months))))
    return f"season {text.clean(one.season, 20)}" if one.season else "no set month"


def _month(day: date) -> str:
    return text.MONTHS[day.month - 1]


def _months_between(first: date, last: date) -> str:
    if (first.year, first.month) == (last.year, last.month):
        return _month(first)
    return _between(_month(first), _month(last))


def _between(first: str, last: str) -> str:
    """Two months as a span, cut to three letters where they would not stand in one line."""
    said = f"{first}–{last}"
    return said if len(said) <= MOST_MONTHS else f"{first[:3]}–{last[:3]}"


def month_runs(months: Sequence[int]) -> Iterator[str]:
    """Months in words, those that follow each other as a span; short where there are several spans."""
    runs: list[list[int]] = []
    for month in months:
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    several = len(runs) > 1
    for run in runs:
        first, last = (text.MONTHS[month - 1][: 3 if several else None] for month in (run[0], run[-1]))
        yield first if len(run) == 1 else _between(first, last)
