"""A programme of twelve months: what the findings ask for, when, and how much, beside what was done last year."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.findings.findings import Finding
from pipeline.indicators.base.green_season import Due
from schemas.codes import code_list


@dataclass(frozen=True)
class Line:
    """One operation through twelve months.

    Attributes:
        operation: code of the operation.
        label: as printed.
        asked: places (0 to 11) of the months in which a finding asks for it; empty where only done so far.
        done: how often it was done in the same month of the twelve before, a number for each month.
        why: ids of the rules that ask for it, gravest first.
        quantity: how much, where it is known.
    """

    operation: str
    label: str
    asked: tuple[int, ...]
    done: tuple[int, ...]
    why: tuple[str, ...]
    quantity: str


@dataclass(frozen=True)
class Programme:
    """First days of twelve months from the one after the visit; lines in the order in which a crew does them."""

    months: tuple[date, ...]
    lines: tuple[Line, ...]


NO_PROGRAMME = Programme((), ())
"""That of a survey of which nothing is asked yet."""


def programme(
    visit: date,
    found: Sequence[Finding],
    done: Iterable[tuple[date, str]],
    due: Iterable[Due] = (),
    extra: Iterable[tuple[str, str]] = (),
) -> Programme:
    """The calendar.

    Args:
        visit: day of the survey.
        found: its findings.
        done: day and operation code of every work of the twelve months up to the visit's month, inclusive.
        due: what the figures say is due, with quantities.
        extra: further quantities, operation code and text, such as dressing to fill the lows.

    Returns:
        A line for every operation that a finding asks for, that is due or that was done; months count from the one
        after the visit.
    """
    start = first_month(visit)
    first = start.year * 12 + start.month - 1
    months = tuple(date((first + i) // 12, (first + i) % 12 + 1, 1) for i in range(12))
    counts: dict[str, list[int]] = {}
    for day, operation in done:
        place = day.year * 12 + day.month - 1 - (first - 12)
        if 0 <= place < 12:
            counts.setdefault(operation, [0] * 12)[place] += 1
    due = tuple(due)
    quantities, wanting = _quantities(due, extra), {one.operation for one in due}
    lines = []
    for operation, code in code_list("operation").items():
        asking = [one for one in found if operation in one.rule.works and not one.rule.less]
        if not asking and operation not in counts and operation not in wanting:
            continue
        wanted = {m for one in asking for m in one.rule.months}
        asked = tuple(i for i, one in enumerate(months) if one.month in wanted)
        why = tuple(one.rule.id for one in asking)
        told = counts.get(operation, [0] * 12)
        lines.append(Line(operation, code.label, asked, tuple(told), why, quantities.get(operation, "")))
    return Programme(months, tuple(lines))


def first_month(visit: date) -> date:
    """First day of the month a programme begins with: the one after the visit."""
    return date(visit.year + visit.month // 12, visit.month % 12 + 1, 1)


def _quantities(due: Iterable[Due], extra: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Operation → how much."""
    parts: dict[str, list[str]] = {}
    for one in due:
        if one.quantity and one.operation:
            parts.setdefault(one.operation, []).append(f"{one.quantity}, {one.by}" if one.by else one.quantity)
    for operation, text in extra:
        parts.setdefault(operation, []).append(text)
    return {operation: "; ".join(texts) for operation, texts in parts.items()}
