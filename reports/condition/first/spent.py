"""What was spent, as printed: money, hours, for each square metre, and beside last season or the budget."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pipeline.common.words import logged_for
from pipeline.indicators.base.first_page import LoggedSum, Spent
from pipeline.workspace.customary import customary
from reports.page import text
from reports.page.effort import SumDigits
from reports.page.house_style import Units

NOT_LOGGED = "not logged"
WHOLE_MONEY = SumDigits(hours=1, cost=0)


@dataclass(frozen=True)
class SpentCell:
    """One sum: what it is, the sum, the word behind it, and what stands below."""

    label: str
    value: str
    unit: str
    below: str


def cells(of: Spent, currency: str, units: Units, digits: SumDigits = WHOLE_MONEY) -> tuple[SpentCell, ...]:
    """The four sums; none where no job of the season is logged.

    Args:
        of: what the season took.
        currency: of all money.
        units: units of display.
        digits: after the point, of this season's money and of hours that are not whole.
    """
    if not of.cost.jobs:
        return ()
    so_far = " so far" if of.so_far else ""
    hours, hours_unit = hours_of(of.hours, digits.hours)
    each, per = _per_m2(of.per_m2, currency, units)
    last_each, _ = _per_m2(of.last_per_m2, currency, units)
    last = money_of(of.last_cost, currency), hours_of(of.last_hours)[0]
    begins = logged_from(of.log_begins) if of.log_begins else ""
    return (
        SpentCell(
            f"Spent on the green{so_far}",
            money_of(of.cost, currency, digits.cost),
            "",
            below(of.cost, of.last_cost, last[0], begins),
        ),
        SpentCell(f"Hours worked{so_far}", hours, hours_unit, below(of.hours, of.last_hours, last[1], begins)),
        SpentCell(f"For each {per}", each, "", below(of.cost, of.last_cost, last_each, begins)),
        _beside(of, currency),
    )


def logged_from(day: date) -> str:
    """From when on jobs are logged."""
    return f"logged from {text.short_day(day)}"


def nothing_logged(of: Spent) -> str:
    """That nothing of the season is logged, where that is so; "" else."""
    return "" if of.cost.jobs else "No job of this season is logged: money and hours are not known."


def below(this: LoggedSum, last: LoggedSum, said: str, begins: str = "") -> str:
    """Of how many jobs a sum is, or from when on, where it is not of all; else the last season's, and of how many.

    Args:
        this: the sum.
        last: that of the season before.
        said: the same as printed.
        begins: from when on jobs are logged, where that is late in the season; "" else.
    """
    if this.known < this.jobs:
        told = f"{logged_for(this.known, this.jobs)} jobs"
        return f"{told}, {begins}" if begins else told
    if begins:
        return begins
    if not last.jobs:
        return "last season not logged"
    part = "" if last.known == last.jobs or last.value is None else f" ({last.known} of {last.jobs} jobs)"
    return f"last season {said}{part}"


def money_of(of: LoggedSum, currency: str, places: int = 0) -> str:
    """A sum of money with so many digits after the point."""
    return NOT_LOGGED if of.value is None else text.money(of.value, currency, places)


def hours_of(of: LoggedSum, places: int = 1) -> tuple[str, str]:
    """A sum of hours and its unit; digits after the point where it is not whole."""
    if of.value is None:
        return NOT_LOGGED, ""
    return text.number(of.value, 0 if of.value == of.value.to_integral_value() else places), "hours"


def _per_m2(value: Decimal | None, currency: str, units: Units) -> tuple[str, str]:
    """Money for a square metre, or for what a US reader tells areas by, and what that is called."""
    found = customary(f"{currency}/m²") if units == "US" else None
    per = "1000 ft²" if found else "square metre"
    if value is None:
        return "not known", per
    shown = float(value) if found is None else found.value(float(value))
    return text.with_unit(text.number(shown, 2), text.clean(currency, 12)), per


def _beside(of: Spent, currency: str) -> SpentCell:
    if of.budget is not None:
        value = "not known" if of.less_budget is None else _difference(of.less_budget, currency, "over", "under")
        return SpentCell("Beside the budget", value, "", f"budget {text.money(of.budget, currency)}")
    if of.less_last is not None:
        return SpentCell(
            "Beside last season", _difference(of.less_last, currency, "more", "less"), "", "no budget given"
        )
    return SpentCell("Beside last season", "not compared", "", _why(of))


def _why(of: Spent) -> str:
    """Why two seasons are not set beside each other, in a few words."""
    if not of.last_cost.jobs:
        return "last season not logged"
    if of.cost.whole and of.last_cost.whole:
        return "this season still runs"
    this, last = not of.cost.whole, not of.last_cost.whole
    both = "both logs lack some" if this and last else ""
    return (
        both
        or ("rejected rows are missing" if this and of.cost.short else "")
        or ("this log lacks some sums" if this else "last season’s log lacks some")
    )


def _difference(value: Decimal, currency: str, more: str, less: str) -> str:
    amount = text.money(abs(value), currency)
    return "the same" if not round(value) else f"{amount} {more if value > 0 else less}"
