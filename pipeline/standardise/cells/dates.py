"""Dates as people write them; one that can be read two ways is refused."""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import replace
from datetime import date, timedelta

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.years import EARLIEST, LATEST
from pipeline.profiles.style import Refused, Style, Understood
from pipeline.standardise.cells.distinct import Cells, completed
from pipeline.standardise.cells.short_years import far_from_others
from pipeline.standardise.cells.swapped import swapped

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

NOT_A_DATE = FaultKind(
    "date.not",
    "not a date",
    "This is not a date: {value}",
    "Write it as year-month-day (2024-03-15), or leave the cell empty.",
)
NO_SUCH_DAY = FaultKind(
    "date.no_such_day",
    "day that does not exist",
    "There is no such day: {value}",
    "Mend the date (year-month-day, 2024-03-15).",
)
TWO_READINGS = FaultKind(
    "date.two_readings",
    "date that can be read two ways",
    "{value} can be read as {readings}; nothing says which.",
    'Say date_order = "dmy", "mdy" or "ymd" in [values] of the profile.',
)
ORDER_UNDECLARED = FaultKind(
    "date.order_undeclared",
    "order of day and month not declared",
    "{value} can only be {reading}, but the order is not declared, and other dates of the column depend on it.",
    'Say date_order = "{order}" in [values] of the profile if all dates of the column are written so.',
)
OTHER_ORDER = FaultKind(
    "date.other_order",
    "date in another order than declared",
    "The declared order is {declared}; {value} fits only {fits}.",
    "Mend this date, or the declared order if all dates are written so.",
)
NO_YEAR = FaultKind(
    "date.no_year",
    "date without a day or a year",
    "The date lacks its day or its year: {value}",
    "Write the whole date (year-month-day, 2024-03-15). A month or a year alone (Nov 2024, 2024-11, 2024) is "
    "kept as such of jobs, of soil tests, and of when a green was laid or closed, and a month as what weather by month "
    "is of.",
)
PERIOD = FaultKind(
    "date.period",
    "Month or year where a day is usual",
    "Column {column}: {number} of a month or a year alone ({value} is the first; {where}), kept as such. Such a "
    "record counts only where that holds whichever day it was, and is named where it is left out.",
    "Write the whole date (year-month-day, 2024-03-15), if somebody knows it.",
    severity="note",
)
YEAR_OUT = FaultKind(
    "date.year",
    "year that cannot be",
    "The year {year} cannot be right: {value}",
    "Mend the date (year-month-day, 2024-03-15).",
)
DAY_NUMBER = FaultKind(
    "date.day_number",
    "number where a date should be",
    "{value} may be a spreadsheet's day number ({as_1900} or {as_1904}), but the profile does not say so.",
    "Say spreadsheet_dates = 1900 or 1904 in [values] of the profile, or format the column as dates and export again.",
)
DAY_ALONE = FaultKind(
    "date.day_alone",
    "day of the month where a date should be",
    "{value} is a day of a month or of a year, without the year.",
    "Where year, month and day stand in columns of their own, join them in the profile: "
    'date = {{ from = ["Year", "Month", "Day"], join = "-" }}, a year and the day of the year by join = " day "; else '
    "write the whole date.",
)

WEEKDAY = FaultKind(
    "date.weekday",
    "weekday that is not the date's",
    "{value} says {said}, and {day} is a {weekday}.",
    "Look which of the two is right, and mend the other.",
)
YEAR_OR_NUMBER = FaultKind(
    "date.year_or_number",
    "number that is a year or a day number",
    "{value} is the year {value}, or as a spreadsheet's day number {day}.",
    "Write the whole date (year-month-day, 2024-03-15).",
)

_TIME = re.compile(
    r"[T ,]\s*\d{1,2}[:.]\d\d(?:[:.]\d\d(?:[.,]\d+)?)?\s*(?:[ap]\.?m\.?)?\s*(?:Z|UTC|[+-]\d\d:?\d\d)?$", re.IGNORECASE
)
_WEEKDAY = re.compile(r"^(?:mon|tue|tues|wed|weds|thu|thur|thurs|fri|sat|sun)(?:[a-z]*day)?\.?,?\s+", re.IGNORECASE)
_YEAR_FIRST = re.compile(r"(?P<y>\d{4})(?P<mark>[-/. ]?)(?P<m>(?<!\d)\d{1,2}|\d\d)(?P=mark)(?P<d>(?<!\d)\d{1,2}|\d\d)")
_NUMBERS = re.compile(r"(\d{1,4})\s?[-/. ]\s?(\d{1,2})\s?[-/. ]\s?(\d{1,4})")
_DAY_NUMBER = re.compile(r"(\d{1,7})(?:[.,]\d+)?")
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-/. ]*(?:of )?([a-z]{3,9})\.?(?:[-/., ']*(\d{2}|\d{4}))?")
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.?[-/ ]*(\d{1,2})(?:st|nd|rd|th)?(?:[-/, ]+(\d{4}))?")
_DAY_OF_YEAR = re.compile(r"(\d{4})(?:-(?=\d{3}$)| day )(\d{1,3})")
"""ISO 8601 with three digits (2024-032), or in words (2024 day 32), as a profile joins two columns."""
_YEAR_ALONE = re.compile(r"\d{4}")
_MONTH_OF_YEAR = re.compile(r"(?:(?P<m>\d{1,2})[-/. ]|(?P<word>[a-z]{3,9})\.?[-/, ]+)(?P<y>\d{4})")
_YEAR_MONTH = re.compile(r"(?P<y>\d{4})(?:[-/.](?P<m>\d{1,2})|[-/, ]+(?P<word>[a-z]{3,9})\.?)")
_YEAR_POINT = re.compile(r"\d{4}\.\d{1,2}")
_YEAR_MONTH_DAY = re.compile(r"(\d{4})[-/. ]+([a-z]{3,9})[-/. ]+(\d{1,2})")
_MONTH_YEAR = re.compile(r"[a-z]{3,9}[-/. ']*\d{2,4}|\d{1,2}[-/]\d{1,4}|\d{4}-\d\d")
_SEASONS = frozenset({"spring", "summer", "autumn", "fall", "winter"})
DAY_OF_YEAR = " day "
"""What a profile joins a year and a day of the year with: ``2003 day 60`` is 2003-03-01."""
_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
ORDERS = {"dmy": "day-month-year", "mdy": "month-day-year", "ymd": "year-month-day"}
"""Orders of the parts of a date, as a profile names them and in words."""
_EPOCHS = {1900: date(1899, 12, 30), 1904: date(1904, 1, 1)}
_LEAP_SLIP = 60
_LONGEST_MONTH, _LONGEST_YEAR = 31, 366


def date_column(source: Cells, style: Style) -> Understood:
    """``value`` (Date); one row a cell. A time behind the date is left out."""
    days, rest = _written_out(source.cells)
    if not rest.any():
        return Understood(days, no_faults(), as_written=True)
    done = completed(days, rest, source, lambda text, _: (date_of(text, style),), style)
    return _held_against_others(done, source, style)


def period_column(source: Cells, style: Style) -> Understood:
    """``value`` and ``last`` (Date): a day and null, or the first and last day of a month or year; one row a cell."""
    days, rest = _written_out(source.cells)
    days = days.with_columns(pl.lit(None, dtype=pl.Date).alias("last"))
    if not rest.any():
        return Understood(days, no_faults(), as_written=True)
    done = completed(days, rest, source, lambda text, _: period_of(text, style), style)
    return _held_against_others(done, source, style)


def _held_against_others(done: Understood, source: Cells, style: Style) -> Understood:
    """The dates without those whose short year is far from the others, and a warning of days and months swapped."""
    faults = [done.faults, swapped(source)]
    if not style.date_order:
        return replace(done, faults=concat(faults))
    odd, told = far_from_others(
        source, done.values["value"], lambda text: _readings(text, style), style.date_order, ORDERS
    )
    values = done.values.select(pl.when(~odd).then(name).alias(name) for name in done.values.columns)
    return replace(done, values=values if odd.any() else done.values, faults=concat([*faults, told]))


def _readings(text: str, style: Style) -> dict[str, date]:
    """The dates that a text in numbers is in each order, by the order."""
    numbers = _NUMBERS.fullmatch(_WEEKDAY.sub("", _TIME.sub("", text)).strip().casefold())
    if numbers is None:
        return {}
    return {order: day for order in ORDERS if (day := _reading(numbers.groups(), order, style))}


def month_column(source: Cells, style: Style) -> Understood:
    """``value`` (Date): a month's first day where the cell says the month alone, as the day it says elsewhere."""

    def parse(text: str, _: object) -> tuple[date]:
        first, last = period_of(text, style)
        if last is not None and last.month != first.month:
            raise Refused(NO_YEAR)
        return (first,)

    days, rest = _written_out(source.cells)
    done = completed(days, rest, source, parse, style)
    return replace(done, as_written=not rest.any())


def _written_out(cells: pl.Series) -> tuple[pl.DataFrame, pl.Series]:
    """``value`` (Date) of the cells that are dates as the store writes them, and which of the others are to be read."""
    days = cells.str.to_date("%Y-%m-%d", strict=False)
    in_form = cells.str.contains(r"^(?:1[89]|20|21)\d\d-\d\d-\d\d$").fill_null(False)
    return pl.DataFrame({"value": days}), ~(in_form & days.is_not_null()) & cells.is_not_null()


def period_of(text: str, style: Style) -> tuple[date, date | None]:
    """The day a text stands for and None, or the first and last day of its month (``May 1926``) or year (``1926``).

    A year of two digits is none here: ``May 26`` is a day to some.

    Raises:
        Refused: it is none of them, or can be read two ways.
    """
    bare = text.strip().casefold()
    if _YEAR_ALONE.fullmatch(bare) and style.spreadsheet_dates is None:
        return _day(int(bare), 1, 1), _day(int(bare), 12, 31)
    match = _MONTH_OF_YEAR.fullmatch(bare) or _YEAR_MONTH.fullmatch(bare)
    if style.spreadsheet_dates and _YEAR_POINT.fullmatch(bare):
        match = None  # 2026.05 as a day number has a time of day behind it
    month = (int(match["m"]) if match["m"] else _month(match["word"])) if match else 0
    if match is None or (match["word"] and not month):
        return date_of(text, style), None
    first = _day(int(match["y"]), month, 1)
    return first, _day(first.year, month, monthrange(first.year, month)[1])


def date_of(text: str, style: Style) -> date:
    """The date a text stands for.

    Raises:
        Refused: it is none, can be read two ways, or names another weekday than its own.
    """
    day = _without_weekday(text, style)
    if said := _WEEKDAY.match(text.strip()):
        name = next(name for name in _WEEKDAYS if name[:3].casefold() == said.group()[:3].casefold())
        if name != (own := _WEEKDAYS[day.weekday()]):
            raise Refused(WEEKDAY, said=name, day=day.isoformat(), weekday=own)
    return day


def _without_weekday(text: str, style: Style) -> date:
    """The date a text stands for, whatever weekday it names."""
    bare = _WEEKDAY.sub("", _TIME.sub("", text)).strip().casefold()
    number = _DAY_NUMBER.fullmatch(text.strip())
    if number and len(number.group(1)) != 8:
        return _from_day_number(int(number.group(1)), style)
    if of_year := _DAY_OF_YEAR.fullmatch(bare):
        return _of_year(int(of_year.group(1)), int(of_year.group(2)))
    year_first = _YEAR_FIRST.fullmatch(bare)
    if year_first:
        year, month, day = (int(part) for part in year_first.group("y", "m", "d"))
        return _day(year, month, day)
    numbers = _NUMBERS.fullmatch(bare)
    if numbers:
        return _from_numbers(numbers.groups(), style)
    return _from_words(bare, style)


def from_day_number(number: int, system: int) -> date:
    """The date of a spreadsheet's day number.

    The 1900 system counts 1900-01-01 as 1 and believes in 29 February 1900 (number 60, refused); the 1904 system
    counts 1904-01-01 as 0.

    Source: ECMA-376 (Office Open XML), part 1, 18.17.4.1.

    Raises:
        Refused: no such day.
    """
    if system == 1900 and (number < 1 or number == _LEAP_SLIP):
        raise Refused(NO_SUCH_DAY)
    shift = 1 if system == 1900 and number < _LEAP_SLIP else 0
    try:
        day = _EPOCHS[system] + timedelta(days=number + shift)
    except OverflowError:
        raise Refused(NOT_A_DATE) from None
    return _day(day.year, day.month, day.day)


def _from_day_number(number: int, style: Style) -> date:
    if number <= (_LONGEST_MONTH if style.spreadsheet_dates else _LONGEST_YEAR):
        raise Refused(DAY_ALONE)  # as a day number it would be of 1900: what became of a column "Day"
    if style.spreadsheet_dates and EARLIEST <= number < LATEST:
        raise Refused(YEAR_OR_NUMBER, day=from_day_number(number, style.spreadsheet_dates).isoformat())
    if style.spreadsheet_dates:
        return from_day_number(number, style.spreadsheet_dates)
    if EARLIEST <= number < LATEST:
        raise Refused(NO_YEAR)
    try:
        readings = [from_day_number(number, system) for system in (1900, 1904)]
    except Refused:
        raise Refused(NOT_A_DATE) from None
    raise Refused(DAY_NUMBER, as_1900=readings[0].isoformat(), as_1904=readings[1].isoformat())


def _of_year(year: int, number: int) -> date:
    """The date of a day of the year, 1 January being 1."""
    if number < 1:
        raise Refused(NO_SUCH_DAY)
    day = _day(year, 1, 1) + timedelta(days=number - 1)
    if day.year != year:
        raise Refused(NO_SUCH_DAY)
    return day


def _from_numbers(parts: tuple[str, ...], style: Style) -> date:
    readings = {order: _reading(parts, order, style) for order in ORDERS}
    if style.date_order:
        chosen = readings[style.date_order]
        if chosen:
            return _day(chosen.year, chosen.month, chosen.day)
        fits = [ORDERS[order] for order, found in readings.items() if found]
        if fits:
            raise Refused(OTHER_ORDER, declared=ORDERS[style.date_order], fits=" or ".join(fits))
        raise Refused(NO_SUCH_DAY)
    found = {order: day for order, day in readings.items() if day}
    if not found:
        raise Refused(NO_SUCH_DAY)
    if len(set(found.values())) > 1:
        both = " or ".join(f"{day.isoformat()} ({ORDERS[order]})" for order, day in found.items())
        raise Refused(TWO_READINGS, readings=both)
    order, day = next(iter(found.items()))
    raise Refused(ORDER_UNDECLARED, reading=day.isoformat(), order=order)


def _reading(parts: tuple[str, ...], order: str, style: Style) -> date | None:
    """The date under one order, or None where the parts do not fit it."""
    named = dict(zip(order, parts, strict=True))
    if len(named["d"]) > 2 or len(named["m"]) > 2 or len(named["y"]) not in {2, 4}:
        return None
    try:
        return date(_full_year(named["y"], style), int(named["m"]), int(named["d"]))
    except ValueError:
        return None


def _from_words(text: str, style: Style) -> date:
    for pattern, (day, month, year) in ((_DAY_MONTH, (1, 2, 3)), (_MONTH_DAY, (2, 1, 3)), (_YEAR_MONTH_DAY, (3, 2, 1))):
        match = pattern.fullmatch(text)
        if match and _month(match.group(month)):
            if not match.group(year):
                raise Refused(NO_YEAR)
            return _day(_full_year(match.group(year), style), _month(match.group(month)), int(match.group(day)))
    short = _MONTH_YEAR.fullmatch(text)
    word = re.match(r"[a-z]*", text).group()  # type: ignore[union-attr]
    if short and (not word or _month(word) or word in _SEASONS):
        raise Refused(NO_YEAR)
    raise Refused(NOT_A_DATE)


def _month(word: str) -> int:
    """Number of a month's English name or its first letters, 0 where it is none."""
    word = "sep" if word == "sept" else word
    found = [number for number, name in enumerate(_MONTHS, 1) if name == word or (len(word) == 3 and name[:3] == word)]
    return found[0] if found else 0


def _full_year(year: str, style: Style) -> int:
    if len(year) == 4:
        return int(year)
    start = style.two_digit_years
    full = start - start % 100 + int(year)
    return full if full >= start else full + 100


def _day(year: int, month: int, day: int) -> date:
    if not EARLIEST <= year < LATEST:
        raise Refused(YEAR_OUT, year=year)
    try:
        return date(year, month, day)
    except ValueError:
        raise Refused(NO_SUCH_DAY) from None
