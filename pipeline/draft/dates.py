"""Dates of a draft: the order of day, month and year where the cells prove it, and a date in columns of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from pipeline.common.years import EARLIEST, LATEST
from pipeline.draft.columns import Column, bare
from pipeline.draft.document import Ask, Entry, Part
from pipeline.profiles.profile import UNDECIDED
from pipeline.profiles.style import Problem, Refused, Style
from pipeline.standardise.cells.dates import (
    DAY_NUMBER,
    DAY_OF_YEAR,
    ORDER_UNDECLARED,
    ORDERS,
    TWO_READINGS,
    date_of,
)
from pipeline.standardise.cells.distinct import plain
from schemas import Kind

_NUMBERS = re.compile(r"(\d{1,2})\s?[-/. ]\s?(\d{1,2})\s?[-/. ]\s?(\d{2}|\d{4})(?!\d)")
_SHORT_YEAR = re.compile(
    r"(?:^|\D)\d{1,2}(?:st|nd|rd|th)?[-/. ]*(?:\d{1,2}|[a-z]{3,9})[-/. ,']*\d{2}(?!\d)", re.IGNORECASE
)
_TWO_DIGITS = 1950
_WORDS = {
    "year": {"year", "yyyy", "yr"},
    "month": {"month", "mm", "mon", "mth", "mo"},
    "day": {"day", "dd", "dom"},
    "ordinal": {"doy"},
}
_MONTH = re.compile(r"0?[1-9]|1[0-2]|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?", re.IGNORECASE)
_DAY = re.compile(r"0?[1-9]|[12]\d|3[01]")
_DAY_OF_MONTH = re.compile(r"\bday of (?:the )?month\b")
_DAY_OF_YEAR = re.compile(r"\b(?:day of (?:the )?year|julian day|day number|jday|yday)\b")
_ORDINAL = re.compile(r"\d{1,3}")
_LONGEST_YEAR = 366


def date_part(columns: Iterable[Column]) -> Part:
    """Entries of [values] for the dates of these columns: order, two-digit years, a spreadsheet's day numbers."""
    open_cells: list[tuple[int, str]] = []
    numbers: list[tuple[int, str, Problem]] = []
    short = ""
    for column in columns:
        for line, text in column.filled.unique("text", keep="first", maintain_order=True).iter_rows():
            cell = plain(text)
            problem = _problem(cell)
            if problem and problem.kind in {TWO_READINGS, ORDER_UNDECLARED}:
                open_cells.append((line, cell))
            elif problem and problem.kind is DAY_NUMBER:
                numbers.append((line, cell, problem))
            if not short and _SHORT_YEAR.fullmatch(cell.split(",")[0].strip()):
                short = f"line {line}: {cell}"
    return _order(open_cells) + _years(short) + _day_numbers(numbers)


def _problem(text: str) -> Problem | None:
    try:
        date_of(text, Style())
    except Refused as refused:
        return refused.problem
    return None


def _order(cells: list[tuple[int, str]]) -> Part:
    if not cells:
        return Part()
    proofs: dict[str, tuple[int, str]] = {}
    for line, text in cells:
        if order := _proven(text):
            proofs.setdefault(order, (line, text))
    said = "; ".join(f"line {line}: {text} can only be {ORDERS[order]}" for order, (line, text) in proofs.items())
    if len(proofs) == 1:
        return Part((Entry("date_order", next(iter(proofs)), said),))
    if proofs:
        why = f"two orders in one file ({said}): mend the odd ones, then write the order of the rest"
    else:
        line, text = cells[0]
        why = f'no date proves the order (line {line}: {text}): write "dmy", "mdy" or "ymd"'
    return Part((Entry("date_order", UNDECIDED, why),), (Ask("values.date_order", why),))


def _proven(text: str) -> str:
    """The only order a date in numbers can have, "" where it has none or several.

    A first part of 13 to 31 before a year at the end is a day: that a year of two digits stands first is held to be
    proven only by a part over 31 (common practice, no source).
    """
    match = _NUMBERS.match(text)
    if not match:
        return ""
    first, second = int(match.group(1)), int(match.group(2))
    if first > 31:
        return "ymd"
    if first > 12 and second <= 12:
        return "dmy"
    return "mdy" if second > 12 and first <= 12 else ""


def _years(short: str) -> Part:
    if not short:
        return Part()
    said = f"years of two digits ({short}) are read as {_TWO_DIGITS} to {_TWO_DIGITS + 99}: check"
    return Part((Entry("two_digit_years", _TWO_DIGITS, said),))


def _day_numbers(numbers: list[tuple[int, str, Problem]]) -> Part:
    if not numbers:
        return Part()
    line, text, problem = numbers[0]
    facts = dict(problem.facts)
    why = (
        f"line {line}: {text} is a spreadsheet's day number: write 1900 if it is {facts['as_1900']}, "
        f"1904 if it is {facts['as_1904']}"
    )
    return Part((Entry("spreadsheet_dates", UNDECIDED, why),), (Ask("values.spreadsheet_dates", why),))


def date_parts(columns: Sequence[Column], kind: Kind) -> tuple[Column, ...]:
    """The columns of year, month and day, or of year and day of the year, in this order; () where there are none.

    Of a kind whose date is the first of a month, year and month are enough. Years of two digits are no proof.
    """
    if "date" not in kind.by_name:
        return ()
    groups: dict[str, dict[str, Column]] = {}
    for column in columns:
        part, rest = _part(column)
        if part and _holds(column, part):
            groups.setdefault(rest, {}).setdefault(part, column)
    for found in groups.values():
        if {"year", "month", "day"} <= set(found):
            return found["year"], found["month"], found["day"]
        if kind.period != "month" and {"year", "ordinal"} <= set(found):
            return found["year"], found["ordinal"]
        if kind.period == "month" and {"year", "month"} <= set(found):
            return found["year"], found["month"]
    return ()


def year_column(columns: Sequence[Column]) -> Column | None:
    """The column of years, None where there is none."""
    return next((one for one in columns if _part(one)[0] == "year" and _holds(one, "year")), None)


def origin_of(parts: Sequence[Column]) -> dict[str, object]:
    """What a profile says of a date joined from these columns."""
    headers = [column.header for column in parts]
    if _part(parts[-1])[0] == "ordinal":
        return {"from": headers, "join": DAY_OF_YEAR}
    first = {"end": "-01"} if len(parts) == 2 else {}
    return {"from": headers, "join": "-", **first}


def is_day_of_month(column: Column) -> bool:
    """Whether the cells are days of a month alone: no dates, and no spreadsheet's day numbers of January 1900."""
    return bool(column.words) and all(_DAY.fullmatch(word) for word in column.words)


def _part(column: Column) -> tuple[str, str]:
    """Which part of a date a header names, and its other words (``sample year`` goes with ``sample month``)."""
    words = _DAY_OF_YEAR.sub("doy", _DAY_OF_MONTH.sub("day", bare(column.header))).split()
    named = [(part, word) for part, some in _WORDS.items() for word in words if word in some]
    if len(named) != 1:
        return "", ""
    part, word = named[0]
    return part, " ".join(other for other in words if other != word)


def _holds(column: Column, part: str) -> bool:
    words = column.words
    if part == "year":
        return bool(words) and all(
            len(word) == 4 and word.isdigit() and EARLIEST <= int(word) < LATEST for word in words
        )
    if part == "ordinal":
        return bool(words) and all(_ORDINAL.fullmatch(word) and 1 <= int(word) <= _LONGEST_YEAR for word in words)
    pattern = _MONTH if part == "month" else _DAY
    return bool(words) and all(pattern.fullmatch(word) for word in words)
