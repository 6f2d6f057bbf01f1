"""Dates as people write them; one that can be read two ways is refused."""

from __future__ import annotations

import re
from datetime import date, timedelta

import polars as pl

from pipeline.common.faults import FaultKind, no_faults
from pipeline.profiles.style import Refused, Style, Understood
from pipeline.standardise.cells.distinct import Cells, completed

EARLIEST, LATEST = 1800, 2200
"""Years a record of a green can have; outside, a date was misread (common practice, no source)."""

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
    "Write the whole date (year-month-day, 2024-03-15).",
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
    'date = {{ from = ["Year", "Month", "Day"], join = "-" }}; else write the whole date.',
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
_YEAR_MONTH_DAY = re.compile(r"(\d{4})[-/. ]+([a-z]{3,9})[-/. ]+(\d{1,2})")
_MONTH_YEAR = re.compile(r"[a-z]{3,9}[-/. ']*\d{2,4}|\d{1,2}[-/]\d{1,4}|\d{4}-\d\d")
DAY_OF_YEAR = " day "
"""What a profile joins a year and a day of the year with: ``2003 day 60`` is 2003-03-01."""
_YEAR_DAY = re.compile(r"(\d{4}) day (\d{1,3})")
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
    cells = source.cells
    easy = cells.str.to_date("%Y-%m-%d", strict=False)
    in_form = cells.str.contains(r"^(?:1[89]|20|21)\d\d-\d\d-\d\d$").fill_null(False)
    rest = ~(in_form & easy.is_not_null()) & cells.is_not_null()
    if not rest.any():
        return Understood(pl.DataFrame({"value": easy}), no_faults(), as_written=True)
    return completed(pl.DataFrame({"value": easy}), rest, source, lambda text, _: (date_of(text, style),), style)


def date_of(text: str, style: Style) -> date:
    """The date a text stands for.

    Raises:
        Refused: it is none, or can be read two ways.
    """
    bare = _WEEKDAY.sub("", _TIME.sub("", text)).strip().casefold()
    number = _DAY_NUMBER.fullmatch(text.strip())
    if number and len(number.group(1)) != 8:
        return _from_day_number(int(number.group(1)), style)
    year_first = _YEAR_FIRST.fullmatch(bare)
    if year_first:
        year, month, day = (int(part) for part in year_first.group("y", "m", "d"))
        return _day(year, month, day)
    if ordinal := _YEAR_DAY.fullmatch(bare):
        return _of_year(int(ordinal.group(1)), int(ordinal.group(2)))
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
    if style.spreadsheet_dates:
        return from_day_number(number, style.spreadsheet_dates)
    if EARLIEST <= number < LATEST:
        raise Refused(NO_YEAR)
    try:
        readings = [from_day_number(number, system) for system in (1900, 1904)]
    except Refused:
        raise Refused(NOT_A_DATE) from None
    raise Refused(DAY_NUMBER, as_1900=readings[0].isoformat(), as_1904=readings[1].isoformat())


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


def _of_year(year: int, number: int) -> date:
    """The day of that number in a year, 1 January being 1."""
    first = _day(year, 1, 1)
    day = first + timedelta(days=number - 1)
    if day.year != year:
        raise Refused(NO_SUCH_DAY)
    return day


def _from_words(text: str, style: Style) -> date:
    for pattern, (day, month, year) in ((_DAY_MONTH, (1, 2, 3)), (_MONTH_DAY, (2, 1, 3)), (_YEAR_MONTH_DAY, (3, 2, 1))):
        match = pattern.fullmatch(text)
        if match and _month(match.group(month)):
            if not match.group(year):
                raise Refused(NO_YEAR)
            return _day(_full_year(match.group(year), style), _month(match.group(month)), int(match.group(day)))
    short = _MONTH_YEAR.fullmatch(text)
    if short and (not text[0].isalpha() or _month(re.match(r"[a-z]+", text).group())):  # type: ignore[union-attr]
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
