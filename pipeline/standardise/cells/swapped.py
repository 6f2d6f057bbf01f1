"""Dates of which a spreadsheet read day and month the wrong way round wherever it could, and left the rest as text."""

from __future__ import annotations

import re
from typing import NamedTuple

import polars as pl

from pipeline.common.faults import FaultKind, no_faults
from pipeline.standardise.cells.distinct import Cells

SWAPPED = FaultKind(
    "date.swapped",
    "Day and month that a spreadsheet swapped",
    "Column {column}: all {reals} dates written like {value} lie on or before the 12th of a month (lines "
    "{real_lines}), and all {texts} written like {text} after it (lines {text_lines}). A spreadsheet that takes the "
    "month for the day leaves just that behind: what it could not read stays text, and what it could is another day "
    "now.",
    "Hold the dates of those lines against the source. If they are swapped, take the load back (undo LOAD) and "
    "export again with the order of dates that the source has.",
    severity="warning",
)
CHANCE = 0.05
"""Chance under which two forms of dates do not part at the 12th by luck (common practice)."""
_EARLY = 12 / 30.4
"""Share of a month's days that could be a month as well: 12 of 30.4."""
_DATE = re.compile(r"(\d{1,4})([-/. ])(\d{1,2})\2(\d{1,4})(?:[T ].*)?")
_SHOWN = 3


class _Form(NamedTuple):
    """Dates of one form: lines and texts of those that could be read either way, and of those that could not."""

    early: list[tuple[int, str]]
    late: list[tuple[int, str]]


def swapped(source: Cells) -> pl.DataFrame:
    """The warning of a column in which one form of dates is always early in the month and another always late.

    Only distinct texts are looked at: a date that stands in many rows was written once.
    """
    rows = pl.DataFrame({"cell": source.cells, "line": source.lines}).drop_nulls()
    first = rows.unique("cell", keep="first", maintain_order=True)
    forms: dict[str, _Form] = {}
    for cell, line in first.iter_rows():
        if found := _form_of(cell):
            form, could_be_either = found
            forms.setdefault(form, _Form([], []))[0 if could_be_either else 1].append((line, cell))
    if any(form.early and form.late for form in forms.values()):
        return no_faults()  # there days before and after the 12th were read, so these were too
    real = sorted(one for form in forms.values() for one in form.early)
    text = sorted(one for form in forms.values() for one in form.late)
    if not real or not text or _EARLY ** len(real) * (1 - _EARLY) ** len(text) >= CHANCE:
        return no_faults()
    facts = {"reals": len(real), "texts": len(text), "text": text[0][1]}
    lines = {"real_lines": _lines(real), "text_lines": _lines(text)}
    return SWAPPED.at(real[0][0], real[0][1], source.header, **facts, **lines)


def _form_of(cell: str) -> tuple[str, bool] | None:
    """How a date in figures is written, and whether its day could be a month; None where it is no such date."""
    match = _DATE.fullmatch(cell.strip())
    if match is None:
        return None
    first, mark, middle, last = match.groups()
    if len(first) > 2:
        return f"year{mark}", int(last) <= 12
    return f"{mark}{'year' if len(last) > 2 else 'short'}", max(int(first), int(middle)) <= 12


def _lines(dates: list[tuple[int, str]]) -> str:
    shown = ", ".join(str(line) for line, _ in dates[:_SHOWN])
    return shown if len(dates) <= _SHOWN else f"{shown} …"
