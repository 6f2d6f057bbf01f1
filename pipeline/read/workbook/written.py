"""Cells of a workbook as text: what is seen of them, with every digit that is stored."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from pipeline.read.workbook import cell_formats

_DAY_NOUGHT, _FIRST_DAYS, _LEAP_SLIP = (
    datetime.fromisoformat(day) for day in ("1899-12-30", "1899-12-31", "1900-03-01")
)
"""What a spreadsheet counts days from; up to February 1900 it is a day later (ECMA-376 part 1, 18.17.4.1)."""
_FIRST_DATES = datetime.fromisoformat("1901-01-01")
"""From here on a stored time is taken for a day, not for many hours (common practice, no source)."""
_LENGTH_OF_TIME = re.compile(r"PT(\d+)H(\d+)M([\d.]+)S")


def seen(value: object, code: str) -> object:
    """A stored cell as its format shows it: text where that is another figure, day or time than is stored."""
    if isinstance(value, bool):
        return value
    if isinstance(value, date) and (alone := cell_formats.months_or_years(code)):
        return _without_day(value, alone)
    if cell_formats.clock(code):
        return _by_the_clock(_as_time(value), code)
    return (cell_formats.as_shown(value, code) or value) if isinstance(value, float | int) else value


def _without_day(value: date, form: str) -> object:
    """The month or year of a cell that shows no more, where its day is the first: what a spreadsheet makes of them.

    ``Nov 2024`` typed into a cell is stored as its first day; any other day was typed as one.
    """
    first = value.day == 1 and (value.month == 1 or "m" in form)
    return value.strftime(form) if first else value


def _by_the_clock(value: object, code: str) -> object:
    """A time of which its format leaves days or hours out, as what is seen and what is stored; others as they are."""
    if isinstance(value, datetime) and value < _FIRST_DATES:
        stored = value - (_FIRST_DAYS if value < _LEAP_SLIP else _DAY_NOUGHT)
    elif isinstance(value, time):
        stored = datetime.combine(_DAY_NOUGHT, value) - _DAY_NOUGHT
    elif isinstance(value, timedelta):
        stored = value
    else:
        return value
    shown = stored % timedelta(hours=24 if cell_formats.hours_seen(code) else 1)
    return value if shown == stored else cell_formats.two_figures(written(shown), written(stored))


def _as_time(value: object) -> object:
    """What the library gives as text of an ODS cell from 24 hours on, as a length of time, or as the day it is of."""
    found = _LENGTH_OF_TIME.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        return value
    hours, minutes, seconds = map(float, found.groups())
    length = timedelta(hours=hours, minutes=minutes, seconds=round(seconds, 3))
    return length if _DAY_NOUGHT + length < _FIRST_DATES else _DAY_NOUGHT + length


def written(value: object) -> str:
    """A stored cell as text: numbers with every digit they have and no exponent, dates as ISO.

    A date without a time of day stays a date; yes and no are TRUE and FALSE, as a spreadsheet shows them.
    """
    value = _as_time(value)
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return _number(float(value)) if not isinstance(value, int) else str(value)
    if isinstance(value, datetime):
        return value.isoformat(" ", "seconds") if value.time() != time() else value.date().isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return _hours(round(value.total_seconds()))
    return str(value).replace("\r\n", "\n").replace("\r", "\n").strip()


def _hours(seconds: int) -> str:
    return f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"


def _number(value: float) -> str:
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    if "e" not in text:
        return text
    digits = f"{value:.17f}" if abs(value) < 1 else f"{value:.0f}"
    return text if float(digits) != value else re.sub(r"(\.\d*?)0+$", r"\1", digits).rstrip(".")
