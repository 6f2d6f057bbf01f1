"""Which rate holds for a work, what its hours come to by it, and the hours of a planned work."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal, Protocol

from pipeline.common.money import rounded
from pipeline.common.words import long_date
from pipeline.plan.works import HOW_OFTEN, Planned

RateOf = Literal["labour", "machine", "mileage", "output"]
How = Literal["logged", "planned", "by rate", "not known"]

MOST_YEAR_H = 960.0
"""Hours a year that one green takes, all people: a council green kept to a good standard (Howell 1968, Bowling Greens,
as quoted by a UK advice site)."""


class Rate(Protocol):
    """What is asked of a rate; those of the store (``pipeline.plan.market.Rate``) are such."""

    @property
    def of(self) -> RateOf:
        """What it is the rate of."""

    @property
    def operation(self) -> str:
        """Work it holds for; "" for any that has none of its own."""

    @property
    def machine(self) -> str:
        """Machine it holds for; "" for any."""

    @property
    def amount(self) -> Decimal | None:
        """Money an hour, or a kilometre of mileage."""

    @property
    def output_m2_h(self) -> float | None:
        """Area an hour's work does."""

    @property
    def holds_from(self) -> date | None:
        """First day it holds; None from the start."""


@dataclass(frozen=True)
class Figure:
    """Hours or money of one work, and where they come from.

    Attributes:
        value: the hours, or the money: as logged, or rounded where it is made by a rate; None where it is not known.
        how: from the log, from the plan, or by rate.
        why: by which rate and what it leaves out, or why it is not known.
    """

    value: Decimal | None
    how: How
    why: str = ""

    @property
    def known(self) -> bool:
        """Whether there is a value."""
        return self.value is not None


def unknown(why: str) -> Figure:
    """A figure that is not known, for a reason."""
    return Figure(None, "not known", why)


def exact(number: Decimal | float) -> Decimal:
    """A number as the decimal that was written: sums of these are exact."""
    return number if isinstance(number, Decimal) else Decimal(repr(float(number)))


def rate_for(rates: Iterable[Rate], of: RateOf, operation: str, day: date) -> tuple[Rate | None, str]:
    """The rate that holds for a work on a day, and where none does why: one of the work before one of any.

    Where none holds on any day, the reason names none: it is the same for all works.

    A log and a programme name no machine: a rate of one holds where it is the only one of its work.

    Args:
        rates: of all days.
        of: what it is to be the rate of.
        operation: the work.
        day: the day it is done.
    """
    rates = tuple(rates)
    held = [one for one in rates if one.of == of and (one.holds_from or date.min) <= day]
    of_work = {_named(one): one for one in sorted(held, key=_since) if one.operation == operation}
    of_any = {_named(one): one for one in sorted(held, key=_since) if not one.operation}
    for found in (of_work, of_any):
        if "" in found:
            return found[""], ""
        if len(found) == 1:
            return next(iter(found.values())), ""
        if found:
            machines = ", ".join(sorted(found))
            return None, f"several machines have {_A[of]} on {long_date(day)}: {machines}"
    ever = any(one.of == of and one.operation in ("", operation) for one in rates)
    return None, f"no {_NAMED[of]}{f' on {long_date(day)}' if ever else ''}"


_NAMED: dict[RateOf, str] = {
    "labour": "rate of labour",
    "machine": "rate of a machine",
    "mileage": "rate of mileage",
    "output": "output an hour",
}
_A: dict[RateOf, str] = {of: f"a{'n' if words[0] == 'o' else ''} {words}" for of, words in _NAMED.items()}


def _named(rate: Rate) -> str:
    return rate.machine


def _since(rate: Rate) -> date:
    """Later rates come last, and take the place of earlier ones."""
    return rate.holds_from or date.min


def priced(rates: Iterable[Rate], of: RateOf, amount: Decimal, operation: str, day: date) -> Figure:
    """What hours, or kilometres of mileage, cost by the rate that holds, rounded: every page adds up the same cells."""
    rate, why = rate_for(rates, of, operation, day)
    if rate is None or rate.amount is None:
        return unknown(why or f"the {_NAMED[of]} gives no amount")
    return Figure(rounded(amount * rate.amount), "by rate", f"{_NAMED[of]} {rate.amount}")


def planned_hours(planned: Planned, rates: Iterable[Rate], area_m2: float | None) -> Figure:
    """Hours of all people that a planned work takes: its own, else area by passes by times over the output an hour.

    A work that says no passes goes over the green once. A line counted in times takes as many as it asks for.

    Args:
        planned: the work.
        rates: of all days.
        area_m2: area of its green; None where it is not recorded.
    """
    if planned.hours is not None:
        return Figure(exact(planned.hours), "planned")
    if (times := times_of(planned)) is None:
        return unknown(HOW_OFTEN)
    rate, why = rate_for(rates, "output", planned.operation, planned.first)
    if rate is None or not rate.output_m2_h:
        return unknown(why or "the output an hour gives no area")
    if not area_m2:
        return unknown(f"the area of {planned.green} is not recorded")
    over = exact(area_m2) * exact(planned.passes or 1) * exact(times)
    return Figure(over / exact(rate.output_m2_h), "by rate", f"{rate.output_m2_h:g} m²/h")


def times_of(planned: Planned) -> float | None:
    """How often a planned work is to be done; None where it is not said."""
    return planned.size if planned.unit == "times" and planned.size is not None else planned.times
