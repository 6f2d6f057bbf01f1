"""What to do about a fault where there is no source profile to say it in: the cell is to be written anew."""

from __future__ import annotations

import re
from collections.abc import Mapping

import polars as pl

_DATE = "Write the day as year-month-day (2024-03-15), or as a date of the spreadsheet."
_PLAIN_NUMBER = "Write the number without a mark for thousands, with a point for the decimals."
IN_A_FORM: Mapping[str, str] = {
    "amount.no_unit": "Write the unit behind it.",
    "analyte.either": "Look at the laboratory's sheet, and choose what it is from the list of the column.",
    "bytes.unreadable": "Write the cell anew.",
    "cell.ditto": "Write the value.",
    "code.date_like": "Look it up (1-Nov may have been 11-1 or 0011-1) and write it, the cell formatted as text; if "
    "it is right, nothing need be done.",
    "code.scientific": "Look the code up and write all its digits, with the cell formatted as text.",
    "date.day_alone": _DATE,
    "date.day_number": _DATE,
    "date.order_undeclared": _DATE,
    "date.two_readings": _DATE,
    "header.nameless": "Write what it says into a column of the form, or into its note.",
    "header.repeated": "Leave the column names as the form has them, and write what this one says into its note.",
    "header.twice": "Leave the column names as the form has them.",
    "header.unused": "The form has no field for them: write what they say into a column of the form, or into its note.",
    "number.flag": "Take it off, and write what it says into the note.",
    "number.not": "Write a number, or leave the cell empty where there is none.",
    "number.two_readings": _PLAIN_NUMBER,
    "number.wrong_mark": _PLAIN_NUMBER,
    "rain.minus_one": "Ask the source. If it is a trace, write trace; if nothing was measured, leave the cell empty.",
    "reference.material": "Add it to the materials file; nothing need be loaded again then. If it is another name of "
    "one that is there, write that one, take the load back (undo LOAD) and load again.",
    "text.spellings": "If they are one, write one spelling in every form, take this load back and load again.",
    "time.colon": "Write it with its units (1 h 30 min).",
    "time.part_of_day": "Write the hours.",
    "unit.barrow": "Write litres.",
    "unit.hundredweight": "Write kg.",
    "unit.ton": "Write tonnes or kg.",
    "unit.working_day": "Say working_day_h = ... in settings.toml of the workspace, or write hours.",
    "unit.working_week": "Say working_week_h = ... in settings.toml of the workspace, or write hours.",
}
"""Kind of fault → what to do about it in a form, where all that is said of other files is about their profile."""
WITHOUT: Mapping[str, str] = {
    "choice.unknown": r", or map it in the source profile under [^()]*\([^()]*\)",
    "code.alike": r", or \[aliases\.[^\]]*\] of the source profile",
    "code.date": r"; or map it in the source profile .*(?=\.$)",
    "operation.amount": r"; or have the source profile .*(?=\.$)",
    "operation.several": r"; or have the source profile .*(?=\.$)",
    "reference.unknown": r", or map the name in the source profile .*(?=\.$)",
    "size.odd": r", or declare the column's in a source profile",
    "unit.missing": r", or under \[constants\] of the profile",
}
"""Kind of fault → the words about a profile that are left out of its hint."""


def of_a_form(faults: pl.DataFrame) -> pl.DataFrame:
    """The faults of a form that no profile reads (FAULT_SCHEMA), each with what to do in the form itself."""
    met = set(faults["code"])
    said = faults.select("code", "hint").unique().iter_rows() if met & {*IN_A_FORM, *WITHOUT} else ()
    hints = {hint: _hint(code, hint) for code, hint in said}
    return faults.with_columns(pl.col("hint").replace(hints))


IN_A_FILE = frozenset(
    {
        "amount.no_unit", "date.day_alone", "date.day_number", "date.order_undeclared", "date.two_readings",
        "number.flag", "number.two_readings", "number.wrong_mark", "time.colon", "time.part_of_day", "unit.barrow",
        "unit.hundredweight", "unit.ton",
    }
)  # fmt: skip
"""Kinds of fault of which a file without a profile may be mended in the cell, as a form is, or be given a profile."""


def of_plain_file(faults: pl.DataFrame) -> pl.DataFrame:
    """The faults of a file that no profile reads (FAULT_SCHEMA): what to write in the cell stands first."""
    met = IN_A_FILE & set(faults["code"])
    said = faults.filter(pl.col("code").is_in(list(met))).select("code", "hint").unique().iter_rows() if met else ()
    hints = {
        hint: f"{_in_the_cell(code)} Or draft a profile of the file (profile FILE), and {hint[:1].lower()}{hint[1:]}"
        for code, hint in said
    }
    return faults.with_columns(pl.col("hint").replace(hints)) if hints else faults


def _in_the_cell(code: str) -> str:
    if code.startswith("date."):
        return "Write the day in the cell as year-month-day (2026-04-01 is the first of April)."
    if IN_A_FORM[code] == _PLAIN_NUMBER:
        return "Write the number in the cell without a mark for thousands, with a point for the decimals (1369; 1.369)."
    return IN_A_FORM[code]


def _hint(code: str, hint: str) -> str:
    return IN_A_FORM.get(code) or re.sub(WITHOUT[code], "", hint) if code in {*IN_A_FORM, *WITHOUT} else hint
