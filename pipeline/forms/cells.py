"""What a cell of a form may hold, from its field: width, format, the check a spreadsheet makes, the drop-down."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from schemas import Kind
from schemas.codes import code_list
from schemas.field import Field

FIRST_DAY, LAST_DAY = date(1907, 1, 1), date(2199, 12, 31)
"""Days that a number in a cell may stand for: the year 2199 typed alone is the day number of one in 1906, and later
ones are refused in loading. An earlier day is written as text, which a cell for a day is."""
YES_NO = "yes_no"
"""List of a flag's words."""
_TITLE, _SAID = 32, 255
"""Characters that a spreadsheet takes of the title and the text of a message (ECMA-376 part 1, 18.3.1.32)."""
_TEXT, _NUMBER = "@", "General"


@dataclass(frozen=True)
class Offered:
    """Words of a drop-down: a column of the sheet of lists.

    Attributes:
        name: the list's defined name.
        words: its words.
    """

    name: str
    words: tuple[str, ...]


def number_format(field: Field) -> str:
    """Format of a field's cells: all that is not a number is text, so that nothing typed becomes another.

    So is a day: in a cell formatted as a date a year typed alone (2026) becomes a day of 1905, "Nov 2024" the first of
    that month, and what 3/4/2026 becomes is up to the machine.
    """
    return _NUMBER if field.numeric else _TEXT


def list_of(kind: Kind, field: Field) -> str:
    """Name of the list a field's cells are chosen from, a register's in the plural; "" where there is none."""
    if field.refers and field.refers != kind.name:
        return f"{field.refers}s"
    return field.choices or (YES_NO if field.type == "flag" else "")


def defined_name(list_name: str) -> str:
    """A list's name as formulas say it; with an ending, so that none looks like a cell."""
    return f"{re.sub(r'[^a-z0-9_]', '_', list_name)}_list"


def words_of(list_name: str) -> tuple[str, ...]:
    """Words of a shipped list as a person reads them, each of which loading knows."""
    return ("yes", "no") if list_name == YES_NO else tuple(code.label for code in code_list(list_name).values())


def check_of(kind: Kind, field: Field, cell: str, lists: Mapping[str, Offered]) -> dict[str, Any] | None:
    """The check of a field's cells, as XlsxWriter takes it; None where any text may stand.

    Args:
        kind: the kind of record.
        field: the field.
        cell: the first of the cells, as a formula says it (``C8``).
        lists: what drop-downs offer, by list.
    """
    offered = lists.get(list_of(kind, field))
    if offered and offered.words:
        how: dict[str, Any] = {"validate": "list", "source": f"={offered.name}"}
        if field.open:
            how["error_type"] = "warning"
    elif field.type == "date":
        how = {"validate": "custom", "value": _date_check(field, cell)}
    elif field.numeric:
        how = _number_check(kind, field, cell)
    else:
        return None
    title = field.heading if len(field.heading) <= _TITLE else field.heading[: _TITLE - 1] + "…"
    return {**how, "error_title": title, "error_message": said_of(kind, field)[:_SAID]}


def _number_check(kind: Kind, field: Field, cell: str) -> dict[str, Any]:
    """Numbers within the field's limits; a laboratory's result may also be "less than" a number."""
    less_than = field.name == kind.value_field and "below_limit" in kind.by_name
    if field.above is None and not less_than and field.low is not None and field.high is not None:
        sort = "integer" if field.type == "whole" else "decimal"
        return {"validate": sort, "criteria": "between", "minimum": field.low, "maximum": field.high}
    tests = [f"ISNUMBER({cell})"]
    tests += [f"{cell}>{field.above:.15g}"] if field.above is not None else []
    tests += [f"{cell}>={field.low:.15g}"] if field.low is not None else []
    tests += [f"{cell}<={field.high:.15g}"] if field.high is not None else []
    tests += [f"{cell}=INT({cell})"] if field.type == "whole" else []
    whole = f"AND({','.join(tests)})" if len(tests) > 1 else tests[0]
    return {"validate": "custom", "value": f'=OR({whole},LEFT({cell},1)="<")' if less_than else f"={whole}"}


def _date_check(field: Field, cell: str) -> str:
    """A date of the spreadsheet, or text: with a month's name, or year-month-day; shorter where the field says so."""
    first, last = ((day - date(1899, 12, 30)).days for day in (FIRST_DAY, LAST_DAY))
    number = f"AND({cell}>={first},{cell}<={last})"
    named = f"NOT(EXACT(UPPER({cell}),LOWER({cell})))"
    month = bool(field.month or field.fills)
    whole = f"LEN({cell})>{5 if month else 7}"
    ordered = f'AND(MID({cell},5,1)="-",{whole},ISNUMBER(DATEVALUE({cell}&IF(LEN({cell})<8,"-01",""))))'
    year = f",AND(LEN({cell})=4,ISNUMBER(VALUE({cell})))" if field.fills else ""
    return f"=IF(ISNUMBER({cell}),{number},OR({named},{ordered}{year}))"


def said_of(kind: Kind, field: Field) -> str:
    """What may stand in a field's cells, in a sentence or two."""
    if list_of(kind, field):
        more = " A name that is not there yet may be written too." if field.open else ""
        return f"{field.meaning} Choose from the list.{more}"
    if field.type == "date":
        return f"{field.meaning} Write a day as year-month-day, such as 2026-03-16."
    limits = f" {field.limits[:1].upper()}{field.limits[1:]}." if field.limits else ""
    return f"{field.meaning}{limits}"


def width_of(kind: Kind, field: Field, lists: Mapping[str, Offered]) -> float:
    """Width of a field's column, in characters."""
    wide = {"text": 12.0, "code": 9.0, "shorthand": 10.0, "date": 11.0, "flag": 6.0}.get(field.type, 7.0)
    wide = 16.0 if field.name == "note" else wide
    offered = lists.get(list_of(kind, field))
    if offered and field.type != "flag":
        longest = max((len(word) for word in offered.words), default=0)
        wide = min(max(8.0, longest + 2.0), 16.0)
    longest_word = max(len(word) for word in field.heading.split())
    return max(wide, longest_word + 1.5)
