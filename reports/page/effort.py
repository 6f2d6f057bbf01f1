"""Hours and cost as printed: sums that say what they lack."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from typing import TypeVar

from pipeline.common.money import rounded
from pipeline.common.words import logged_for
from pipeline.summaries.club_season import Effort
from reports.page import text

NO_HOURS, NO_COST = "No hours are logged.", "No cost is logged."
Amount = TypeVar("Amount", float, Decimal)
PARTIAL = "†"
"""Beside a sum that some of the works do not add to, because nothing is recorded for them."""
MOST_PLACES = 2
"""Digits after the point of a sum: a penny, and a hundredth of an hour."""
WHOLE = 1e-6
"""What a sum may be off by, as a computer adds."""


@dataclass(frozen=True)
class SumDigits:
    """Digits after the point that hours and costs of one table are printed with, so that its rows add up."""

    hours: int
    cost: int


def digits_of(parts: Iterable[Effort]) -> SumDigits:
    """Hours to the digit logged, one at least; money to the penny where any sum has pennies."""
    every = list(parts)
    hours = places([part.hours for part in every], least=1)
    return SumDigits(hours, MOST_PLACES if places([part.cost for part in every]) else 0)


def places(values: Iterable[float | Decimal | None], least: int = 0) -> int:
    """Digits after the point with which every one of the known values is printed whole, ``MOST_PLACES`` at most."""
    known = [value for value in values if value is not None]
    for digits in range(least, MOST_PLACES):
        if all(abs(float(value) - round(float(value), digits)) < WHOLE for value in known):
            return digits
    return MOST_PLACES


def adding_up(parts: Iterable[Decimal | None], choices: Sequence[int] = (0, MOST_PLACES)) -> int:
    """The first of these digits after the point with which the known parts, as printed, add up to their sum as printed.

    Where none does it is the last.
    """
    known = [part for part in parts if part is not None]
    return next((one for one in choices if _printed_sum(known, one)), choices[-1])


def _printed_sum(known: Sequence[Decimal], digits: int) -> bool:
    return sum((rounded(part, digits) for part in known), Decimal(0)) == rounded(sum(known, Decimal(0)), digits)


def part_sum(value: float | Decimal | None, given: int, jobs: int, decimals: int) -> str:
    """A sum, marked where some of the jobs add nothing to it; a dash where none does."""
    if value is None:
        return "–"
    return text.number(value, decimals) + (PARTIAL if given < jobs else "")


def effort_cells(effort: Effort, digits: SumDigits) -> dict[str, str]:
    """``jobs``, ``hours`` and ``cost`` of a row of a table."""
    return {
        "jobs": f"{effort.jobs:,}",
        "hours": part_sum(effort.hours, effort.with_hours, effort.jobs, digits.hours),
        "cost": part_sum(effort.cost, effort.with_cost, effort.jobs, digits.cost),
    }


def rounded_apart(parts: Iterable[Effort], total: Effort, digits: SumDigits) -> str:
    """What is said where the hours of the rows, as printed, do not add up to those of their sum; "" where they do."""
    shown = sum(round(part.hours, digits.hours) for part in parts if part.hours is not None)
    if total.hours is None or abs(shown - round(total.hours, digits.hours)) < WHOLE:
        return ""
    return "Hours are rounded, so the rows do not add up to the last digit."


def effort_note(total: Effort) -> str:
    """What the marked sums lack; "" where they lack nothing. What no job gives has no sum, and no mark."""
    of = (("hours", total.with_hours), ("cost", total.with_cost))
    parts = [f"{what} {logged_for(known, total.jobs)} jobs" for what, known in of if 0 < known < total.jobs]
    said = (
        f"{PARTIAL} {text.sentence('; '.join(parts))[:-1]}: what is marked is a part of the true sum." if parts else ""
    )
    none = [
        words for words, known in ((NO_HOURS, total.with_hours), (NO_COST, total.with_cost)) if total.jobs and not known
    ]
    return " ".join(filter(None, (said, *none)))


def effort_words(total: Effort, currency: str, hours: str = "hours") -> list[str]:
    """Hours and cost for a sentence, as far as they are known; "at least" where some jobs give none.

    They have the digits that tables have, so that a sentence and a table say the same.
    """
    parts, digits = [], digits_of([total])
    if total.hours is not None:
        exact = 0 if places([total.hours]) == 0 else digits.hours
        least, known = _least(total.hours, total.with_hours, total, exact)
        parts.append(f"{least}{text.number(known, exact)} {hours}")
    if total.cost is not None:
        least, paid = _least(total.cost, total.with_cost, total, digits.cost)
        parts.append(f"{least}{text.money(paid, currency, digits.cost)} of cost")
    return parts


def _least(known: Amount, given: int, total: Effort, digits: int) -> tuple[str, Amount]:
    """A sum with so many digits; of jobs of which some give none it is a lower bound, which is never rounded up."""
    if given >= total.jobs:
        return "", known
    if isinstance(known, Decimal):
        return "at least ", known.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_DOWN)
    return "at least ", math.floor(round(known * 10**digits, 6)) / 10**digits
