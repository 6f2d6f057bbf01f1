"""What a spreadsheet makes of a year, or a day of the month, typed alone into a cell formatted as a date."""

from __future__ import annotations

from datetime import date

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.forms.cells import FIRST_DAY

DAY_NUMBER = FaultKind(
    "form.day_number",
    "Number where a form asks for a day",
    "{value} is what a spreadsheet makes of the number {number} in a cell formatted as a date: a year or a day typed "
    "alone, perhaps.",
    "Format the cell as text, and write the day as year-month-day (2024-03-15), or the month or year alone where the "
    "column takes it. If {value} is meant, write it there with the name of the month ({in_words}).",
)
_FIRST, _FIRST_OF_MARCH = date(1899, 12, 31), 60
"""Day 0 of a spreadsheet's calendar; from March 1900 on it is one day ahead, for it believes in 29 February 1900.

Source: ECMA-376 (Office Open XML), part 1, 18.17.4.1.
"""


def day_numbers(cells: pl.DataFrame, name: str, header: str = "") -> pl.DataFrame:
    """A fault for each cell of this column (``line`` beside it) that holds what was made of a small number."""
    days = cells.select("line", pl.col(name).alias("cell"), _day_of(name).alias("day"))
    return concat(
        DAY_NUMBER.at(line, cell, header, number=_number_of(day), in_words=f"{day.day} {day:%B} {day.year}")
        for line, cell, day in days.filter(pl.col("day") < FIRST_DAY).iter_rows()
    )


def _day_of(column: str) -> pl.Expr:
    """The day that a cell of a date comes to as text; null of any other."""
    return pl.col(column).str.extract(r"^((?:1899|19\d\d)-\d\d-\d\d)(?:$|[ T])").str.to_date("%Y-%m-%d", strict=False)


def _number_of(day: date) -> int:
    """The number that stands behind a day in a spreadsheet's cell."""
    days = (day - _FIRST).days
    return days + (days >= _FIRST_OF_MARCH)
