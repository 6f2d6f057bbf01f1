"""Hours and cost as printed: sums that say what they lack."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import TypeVar

from pipeline.common.words import logged_for
from pipeline.summaries.club_season import Effort
from reports.page import text

Amount = TypeVar("Amount", float, Decimal)
PARTIAL = "†"
"""Beside a sum that some of the works do not add to, because nothing is recorded for them."""


def part_sum(value: float | Decimal | None, given: int, jobs: int, decimals: int) -> str:
    """A sum, marked where some of the jobs add nothing to it; a dash where none does."""
    if value is None:
        return "–"
    return text.number(value, decimals) + (PARTIAL if given < jobs else "")


def effort_cells(effort: Effort) -> dict[str, str]:
    """``jobs``, ``hours`` and ``cost`` of a row of a table."""
    return {
        "jobs": f"{effort.jobs:,}",
        "hours": part_sum(effort.hours, effort.with_hours, effort.jobs, 1),
        "cost": part_sum(effort.cost, effort.with_cost, effort.jobs, 0),
    }


def effort_note(total: Effort) -> str:
    """What the marked sums lack; "" where they lack nothing."""
    of = (("Hours", logged_for(total.with_hours, total.jobs)), ("cost", logged_for(total.with_cost, total.jobs)))
    parts = [f"{what} {said} jobs" for what, said in of if said]
    return (
        f"{PARTIAL} {text.sentence('; '.join(parts))[:-1]}: what is marked is a part of the true sum." if parts else ""
    )


def effort_words(total: Effort, currency: str, hours: str = "hours") -> list[str]:
    """Hours and cost for a sentence, as far as they are known; "at least" where some jobs give none."""
    parts = []
    if total.hours is not None:
        least, known = _least(total.hours, total.with_hours, total)
        parts.append(f"{least}{text.number(known, 0)} {hours}")
    if total.cost is not None:
        least, paid = _least(total.cost, total.with_cost, total)
        parts.append(f"{least}{text.money(paid, currency)} of cost")
    return parts


def _least(known: Amount, given: int, total: Effort) -> tuple[str, Amount]:
    """A sum in whole units; of jobs of which some give none it is a lower bound, which is never rounded up."""
    return ("at least ", type(known)(math.floor(round(known, 6)))) if given < total.jobs else ("", known)
