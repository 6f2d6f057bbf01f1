"""What was done on a club's greens and when, a row a kind of work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.common.grouped import grouped
from pipeline.summaries.club_season import ClubSeason, Days
from pipeline.summaries.effort import total_effort
from reports.page import season_line, text
from reports.page.effort import SumDigits, digits_of, effort_cells

MOST_COLUMNS = 4
"""Greens that have a column of their own in the calendar."""


@dataclass(frozen=True)
class CalendarCell:
    """One kind of work on one green, or on all: its days on the season's line, and how often."""

    times: str
    strokes: season_line.Strokes | None


@dataclass(frozen=True)
class CalendarRow:
    """One kind of work through the season."""

    work: str
    cells: tuple[CalendarCell, ...]
    hours: str


@dataclass(frozen=True)
class Calendar:
    """What was done: a row a kind of work, a column a green, or one column for all greens where they are many."""

    columns: tuple[str, ...]
    rows: tuple[CalendarRow, ...]
    months: tuple[float, ...]
    span: str
    note: str


def calendar_of(club: ClubSeason, most: int) -> Calendar:
    """A column for each green as far as ``MOST_COLUMNS``, else one for all of them together."""
    span = (club.season_start, club.season_end)
    by_work = grouped(club.calendar, lambda days: days.operation)
    apart = len(club.greens) <= MOST_COLUMNS
    columns = [[green.green] for green in club.greens] if apart else [[green.green for green in club.greens]]
    names = [text.name(green.green_name, 48) for green in club.greens] if apart else ["All greens"]
    digits = digits_of(total_effort(one.effort for one in found) for found in by_work.values())
    rows = [_row(work, found, list(zip(names, columns, strict=True)), span, digits) for work, found in by_work.items()]
    note = "" if apart else "All greens are drawn together; works.csv, attached, holds every work, by green."
    left = text.more(len(by_work) - most, "kind of work", "works.csv", "kinds of work")
    return Calendar(
        tuple(names),
        tuple(rows[:most]),
        season_line.month_starts(span),
        season_line.span_words(span),
        f"{note} {left}".strip(),
    )


def _row(
    work: str,
    found: Sequence[Days],
    columns: Sequence[tuple[str, list[str]]],
    span: season_line.Span,
    digits: SumDigits,
) -> CalendarRow:
    hours = effort_cells(total_effort(one.effort for one in found), digits)["hours"]
    return CalendarRow(
        text.clean(work, 60),
        tuple(_cell(work, name, [one for one in found if one.green in greens], span) for name, greens in columns),
        hours,
    )


def _cell(work: str, name: str, found: Sequence[Days], span: season_line.Span) -> CalendarCell:
    days = [day for one in found for day in one.days]
    undated = sum(one.undated for one in found)
    also = f"{undated:,} without a day" if undated else ""
    if not days:
        return CalendarCell(also or "–", None)
    return CalendarCell(
        f"{len(days):,}{f' + {also}' if also else ''}",
        season_line.strokes_of(days, span, f"{text.clean(work, 60)}, {name}"),
    )
