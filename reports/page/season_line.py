"""Days of works as strokes on the line of a season, its months as ticks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from reports.page import text

STROKES_WIDTH = 200.0
Span = tuple[date, date]
"""First and last day of a season."""


@dataclass(frozen=True)
class Strokes:
    """The days of a line's works as places on the season's line, in the units of the mark's view box."""

    places: tuple[float, ...]
    title: str


def strokes_of(days: Sequence[date], span: Span, name: str) -> Strokes:
    """A stroke for each of the days inside the season; the title says how often it was and from when to when."""
    inside = sorted({day for day in days if span[0] <= day <= span[1]})
    title = f"{name}: {text.count(len(days), 'time')}, {text.day_range(min(days), max(days))}" if days else name
    return Strokes(tuple(_place(day, span) for day in inside), title)


def _place(day: date, span: Span) -> float:
    return round(STROKES_WIDTH * (day - span[0]).days / max((span[1] - span[0]).days, 1), 2)


def first_days(span: Span) -> list[date]:
    """The first day of each month of the season, that of its first month included."""
    months = range(span[0].year * 12 + span[0].month - 1, span[1].year * 12 + span[1].month)
    return [date(month // 12, month % 12 + 1, 1) for month in months]


def month_starts(span: Span) -> tuple[float, ...]:
    """Places of the first day of each month of the season."""
    return tuple(_place(start, span) for start in first_days(span) if start >= span[0])


def span_words(span: Span) -> str:
    """First and last month of the season."""
    return f"{span[0]:%B} to {span[1]:%B}"
