"""What was done and when, as printed: every work by itself, or repeated works drawn together."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from pipeline.common.grouped import grouped
from pipeline.indicators.base.green_season import Work
from reports.page import text
from reports.page.effort import PARTIAL, part_sum, places

OFTEN = 4
MOST_WAYS = 2
"""Ways a work was done that are printed of works drawn together."""
_UNIT = r"(?:mm|cm|m|km|in|ft|kg|g|lb|t|L|l|gal|%|h|kg/m²|g/m²|kg/ha|L/m²|lb/1000 ft²|ml/m²|packs|passes|holes/m²)"
_NUMBER = r"\d[\d,]*(?:\.\d+)?"
_QUANTITY = re.compile(rf"(?<![\w/.,–−-]){_NUMBER}(?=[ \u00a0\u202f]{_UNIT}(?![\w/²]))")
"""A number right before a unit, which alone may stand as a range: not one of a product's name ("70/30", "9-4-6")."""
_TONNES = re.compile(rf"{_NUMBER}[ \u00a0\u202f]t")
_KILOGRAMS = re.compile(rf"^({_NUMBER})[ \u00a0\u202f]kg$")
STROKES_WIDTH = 200.0
Span = tuple[date, date]
"""First and last day of a season."""


@dataclass(frozen=True)
class Strokes:
    """The days of a line's works as places on the season's line, in the units of the mark's view box."""

    places: tuple[float, ...]
    title: str


@dataclass(frozen=True)
class WorkLine:
    """One printed line: a work, or several of one kind with their count.

    ``when`` is the day or the range of days; ``single`` is True for a work that stands by itself.
    """

    when: str
    single: bool
    strokes: Strokes
    operation: str
    times: str
    detail: str
    amount: str
    hours: str
    cost: str


@dataclass(frozen=True)
class WorkList:
    """The printed lines and what the reader must know about how they were drawn together."""

    lines: tuple[WorkLine, ...]
    note: str
    together: bool
    months: tuple[float, ...]
    span: str
    with_hours: bool
    with_cost: bool
    cost_heading: str = "Cost"


def work_list(works: tuple[Work, ...], span: Span, most: int, most_text: int = 120, currency: str = "") -> WorkList:
    """Works in order of their first day.

    Up to ``most`` works stand by themselves. Past that, works that come ``OFTEN`` or more with the same
    operation and detail are drawn together, then those of the same operation, then all of one operation;
    whatever still does not fit is left to the attachment.
    """
    ordered = sorted(works, key=lambda w: (w.date, w.operation, w.evidence))
    groups = [[work] for work in ordered]
    steps: tuple[tuple[Callable[[Work], object], int], ...] = (
        (lambda w: (w.operation, w.detail), OFTEN),
        (lambda w: w.operation, OFTEN),
        (lambda w: w.operation, 1),
    )
    for key, least in steps:
        if len(groups) <= most:
            break
        groups = _grouped(ordered, key, least)
    lines = tuple(_line(group, span, most_text) for group in groups[:most])
    return WorkList(
        lines,
        _note(len(works), groups, lines),
        len(groups) < len(works),
        month_starts(span),
        span_words(span),
        any(w.hours is not None for w in works),
        any(w.cost is not None for w in works),
        text.cost_heading(currency),
    )


def _grouped(works: list[Work], key: Callable[[Work], object], least: int) -> list[list[Work]]:
    """Groups by key where a group has at least ``least`` members, single works otherwise; by first day."""
    groups: list[list[Work]] = []
    for members in grouped(works, key).values():
        groups += [members] if len(members) >= least else [[work] for work in members]
    return sorted(groups, key=lambda group: (group[0].date, group[0].operation))


def _note(number: int, groups: list[list[Work]], lines: tuple[WorkLine, ...]) -> str:
    partial = any(PARTIAL in line.hours + line.cost for line in lines)
    doubt = f" {PARTIAL} not recorded for every one of these works, so the sum is a part." if partial else ""
    return (_drawn_together(number, groups, len(lines)) + doubt).strip()


def _drawn_together(number: int, groups: list[list[Work]], shown: int) -> str:
    left = sum(len(group) for group in groups[shown:])
    if left:
        return f"{left:,} of {number:,} works: further jobs are in the attached works.csv, which holds every one."
    if len(groups) < number:
        return (
            f"{number:,} works are drawn together here into {len(groups)} lines; works.csv, attached, holds every one."
        )
    return ""


def _line(group: list[Work], span: Span, most: int) -> WorkLine:
    first = group[0]
    return WorkLine(
        when=text.when(first.date, first.date_to) if len(group) == 1 else text.day_range(first.date, _last(group)),
        single=len(group) == 1,
        strokes=strokes_of([w.date for w in group if not w.date_to], span, text.clean(first.operation, 60)),
        operation=text.clean(first.operation, 60),
        times=f"×{text.NARROW}{len(group)}" if len(group) > 1 else "",
        detail=_shared([w.detail for w in group], most if len(group) == 1 else 40),
        amount=_amount([w.amount for w in group], most),
        hours=_sum([w.hours for w in group], places([w.hours for w in group], least=1)),
        cost=_sum([w.cost for w in group], 2),
    )


def _last(works: list[Work]) -> date:
    """The last day that any of these works can have been on."""
    return max(w.date_to or w.date for w in works)


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


def _shared(details: list[str], most: int) -> str:
    """The ways a work was done: those that differ in quantities alone as one, with their range."""
    kinds = dict.fromkeys(text.clean(d, most) for d in details if d.strip())
    ways = [_ranged(alike) for alike in grouped(kinds, lambda kind: _QUANTITY.sub("#", kind)).values()]
    left = len(ways) - MOST_WAYS
    return "; ".join(ways[:MOST_WAYS]) + (f"; {text.count(left, 'more way')} in works.csv" if left > 0 else "")


def _ranged(alike: Sequence[str]) -> str:
    """Texts that are the same but for their quantities, as one: "cut at 5–8 mm"."""
    columns = iter(zip(*(_QUANTITY.findall(one) for one in alike), strict=True))

    def span(_: re.Match[str]) -> str:
        values = sorted(next(columns), key=_value)
        return values[0] if _value(values[0]) == _value(values[-1]) else f"{values[0]}–{values[-1]}"

    return _QUANTITY.sub(span, alike[0])


def _value(written: str) -> float:
    return float(written.replace(",", ""))


def _amount(amounts: list[str], most: int) -> str:
    kinds = list(dict.fromkeys(text.clean(a, most) for a in amounts if a.strip()))
    if not kinds:
        return ""
    if len(amounts) == 1:
        return kinds[0]
    return f"{kinds[0]} each" if len(kinds) == 1 else _total(amounts)


def _total(amounts: Sequence[str]) -> str:
    """The amounts added up, and of how many works they are, where all say the same quantities; else where they stand.

    Tonnes and kilograms are one quantity.
    """
    said = [text.clean(one) for one in amounts if one.strip()]
    if any(_TONNES.fullmatch(one) for one in said):
        said = [_KILOGRAMS.sub(lambda found: f"{_value(found[1]) / 1000:.4g}{text.NARROW}t", one) for one in said]
    if len({_QUANTITY.sub("#", one) for one in said}) > 1 or not _QUANTITY.search(said[0]):
        return "amounts in works.csv"
    columns = iter(zip(*(_QUANTITY.findall(one) for one in said), strict=True))

    def added(_: re.Match[str]) -> str:
        written = next(columns)
        return text.number(sum(map(_value, written)), max(len(one.partition(".")[2]) for one in written))

    total = _QUANTITY.sub(added, said[0])
    return f"{total} in all" if len(said) == len(amounts) else f"{total} in {len(said)} of {len(amounts)}"


def _sum(values: Sequence[float | Decimal | None], decimals: int) -> str:
    known = [v for v in values if v is not None]
    total: Any = sum(known) if known else None  # all of one sort: hours, or money
    return part_sum(total, len(known), len(values), decimals)
