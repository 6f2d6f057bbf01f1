"""Hours and cost as printed: sums that say what they lack."""

from __future__ import annotations

from pipeline.summaries.club_season import Effort
from reports.page import text

PARTIAL = "†"
"""Beside a sum that some of the works do not add to, because nothing is recorded for them."""


def part_sum(value: float | None, given: int, jobs: int, decimals: int) -> str:
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
    parts = []
    if total.with_hours < total.jobs:
        parts.append(f"{total.jobs - total.with_hours:,} of {total.jobs:,} jobs give no hours")
    if total.with_cost < total.jobs:
        parts.append(f"{total.jobs - total.with_cost:,} give no cost")
    return f"{PARTIAL} {'; '.join(parts)}: what is marked is a part of the true sum." if parts else ""


def effort_words(total: Effort, currency: str, hours: str = "hours") -> list[str]:
    """Hours and cost for a sentence, as far as they are known; "at least" where some jobs give none."""
    parts = []
    if total.hours is not None:
        parts.append(f"{_least(total.with_hours, total)}{text.number(total.hours, 0)} {hours}")
    if total.cost is not None:
        parts.append(f"{_least(total.with_cost, total)}{text.money(total.cost, currency)} of cost")
    return parts


def _least(given: int, total: Effort) -> str:
    return "at least " if given < total.jobs else ""
