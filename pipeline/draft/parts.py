"""A date that stands in columns of its own for year, month and day."""

from __future__ import annotations

import re
from collections.abc import Sequence

from pipeline.draft.headings import Column, bare
from pipeline.standardise.cells.dates import EARLIEST, LATEST
from schemas import Kind

_WORDS = {"year": {"year", "yyyy", "yr"}, "month": {"month", "mm", "mon", "mth", "mo"}, "day": {"day", "dd", "dom"}}
_MONTH = re.compile(r"0?[1-9]|1[0-2]|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?", re.IGNORECASE)
_DAY = re.compile(r"0?[1-9]|[12]\d|3[01]")
_DAY_OF_MONTH = re.compile(r"\bday of (?:the )?month\b")


def date_parts(columns: Sequence[Column], kind: Kind) -> tuple[Column, ...]:
    """The columns of year, month and day, in this order; () where there are none.

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
        if kind.period == "month" and {"year", "month"} <= set(found):
            return found["year"], found["month"]
    return ()


def origin_of(parts: Sequence[Column]) -> dict[str, object]:
    """What a profile says of a date joined from these columns."""
    first = {"end": "-01"} if len(parts) == 2 else {}
    return {"from": [column.header for column in parts], "join": "-", **first}


def is_day_of_month(column: Column) -> bool:
    """Whether the cells are days of a month alone: no dates, and no spreadsheet's day numbers of January 1900."""
    return bool(column.words) and all(_DAY.fullmatch(word) for word in column.words)


def _part(column: Column) -> tuple[str, str]:
    """Which part of a date a header names, and its other words (``sample year`` goes with ``sample month``)."""
    words = _DAY_OF_MONTH.sub("day", bare(column.header)).split()
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
    pattern = _MONTH if part == "month" else _DAY
    return bool(words) and all(pattern.fullmatch(word) for word in words)
