"""Dates whose year has two digits, and which the declared order puts far from the column's other years."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection
from datetime import date

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.standardise.cells.distinct import Cells

YEAR_OF_OTHERS = FaultKind(
    "date.year_of_others",
    "Date of two-digit numbers whose year is not that of the others",
    "{value} is {day} in the declared order ({declared}), and {other} as {order}, which is in the years of the other "
    "dates.",
    "Write the year with its four digits (2026-03-02).",
)
SHORT = r"^\s*\d{1,2}([-/. ])\s?\d{1,2}[-/. ]\s?\d{1,2}\b"
_SHORT = re.compile(SHORT)
_NEAR, _FAR = 1, 3
"""Years within which a date is among the others, and from which on it is far from them (common practice, no source)."""

Readings = Callable[[str], dict[str, date]]
"""The dates that a text is in each order of its parts, by the order."""


def far_from_others(
    source: Cells, days: pl.Series, readings: Readings, declared: str, words: dict[str, str]
) -> tuple[pl.Series, pl.DataFrame]:
    """Whether each date is refused, and the faults: ``26-03-02`` among dates of 2026 may be of 2026 or of 2002.

    Args:
        source: the cells.
        days: the dates they were taken for.
        readings: the dates that a text may be, by the order.
        declared: the order that is declared.
        words: orders in words.
    """
    none = pl.Series([False]).new_from_index(0, len(days))
    rows = pl.DataFrame({"cell": source.cells, "day": days}).drop_nulls().unique("cell", maintain_order=True)
    short = rows.filter(rows["cell"].str.contains(SHORT))
    if not short.height:
        return none, no_faults()
    years = {cell: day.year for cell, day in rows.iter_rows()}
    held = _years_of_column(years, short["cell"].to_list(), readings)
    odd, faults = [], []
    for cell, day in short.iter_rows():
        other = next(((order, one) for order, one in readings(cell).items() if abs(one.year - held) <= _NEAR), None)
        if abs(day.year - held) >= _FAR and other is not None:
            here = source.where(source.cells == cell)
            facts = {"day": day, "declared": words[declared], "other": other[1], "order": words[other[0]]}
            faults.append(YEAR_OF_OTHERS.frame(here.lines, here.cells, source.header, **facts))
            odd.append(cell)
    return source.cells.is_in(odd).fill_null(value=False) if odd else none, concat(faults)


def _years_of_column(years: dict[str, int], short: list[str], readings: Readings) -> int:
    """The year most of the column's dates are of; where every date is short, the one that most can be in one order."""
    counts = Counter(year for cell, year in years.items() if cell not in set(short)) or Counter(years.values())
    if len(short) == len(years):
        orders = {order for cell in short for order in readings(cell)}
        for order in sorted(orders):
            found = [readings(cell)[order].year for cell in short if order in readings(cell)]
            if len(found) == len(short) and max(found) - min(found) <= _NEAR < _FAR <= max(years.values()) - min(
                years.values()
            ):
                return found[0]
    return max(counts, key=lambda year: (counts[year], year))


def _spread(years: Collection[int]) -> int:
    return max(years) - min(years)
