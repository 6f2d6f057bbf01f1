"""The order of day, month and year: only where the cells prove it."""

from __future__ import annotations

import re
from collections.abc import Iterable

from pipeline.draft.document import UNDECIDED, Ask, Entry, Part
from pipeline.draft.headings import Column
from pipeline.profiles.style import Problem, Refused, Style
from pipeline.standardise.cells.dates import DAY_NUMBER, ORDER_UNDECLARED, TWO_READINGS, date_of
from pipeline.standardise.cells.text import plain

_NUMBERS = re.compile(r"(\d{1,2})\s?[-/. ]\s?(\d{1,2})\s?[-/. ]\s?(\d{2}|\d{4})(?!\d)")
_SHORT_YEAR = re.compile(
    r"(?:^|\D)\d{1,2}(?:st|nd|rd|th)?[-/. ]*(?:\d{1,2}|[a-z]{3,9})[-/. ,']*\d{2}(?!\d)", re.IGNORECASE
)
_ORDERS = {"dmy": "day-month-year", "mdy": "month-day-year", "ymd": "year-month-day"}
_TWO_DIGITS = 1950


def date_part(columns: Iterable[Column]) -> Part:
    """Entries of [values] for the dates of these columns: order, two-digit years, a spreadsheet's day numbers."""
    open_cells: list[tuple[int, str]] = []
    numbers: list[tuple[int, str, Problem]] = []
    short = ""
    for column in columns:
        for line, text in column.filled.unique("text", keep="first", maintain_order=True).iter_rows():
            bare = plain(text)
            problem = _problem(bare)
            if problem and problem.kind in {TWO_READINGS, ORDER_UNDECLARED}:
                open_cells.append((line, bare))
            elif problem and problem.kind is DAY_NUMBER:
                numbers.append((line, bare, problem))
            if not short and _SHORT_YEAR.fullmatch(bare.split(",")[0].strip()):
                short = f"line {line}: {bare}"
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
    said = "; ".join(f"line {line}: {text} can only be {_ORDERS[order]}" for order, (line, text) in proofs.items())
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
