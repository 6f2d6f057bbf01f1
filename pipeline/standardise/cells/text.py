"""Words and codes: cleaned of what cannot be seen, else kept as written."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.profiles.style import Problem, Understood
from pipeline.standardise.cells.distinct import Cells, completed

LONGEST_TEXT = 400
"""Characters; common practice, no source. A longer cell would burst the page it is printed on."""

TOO_LONG = FaultKind(
    "text.too_long",
    "text cut short",
    "The text is longer than {longest} characters; it was cut there: {value}",
    "Shorten it if the end matters; the cell is kept as written beside it.",
    "warning",
)
RUINED_DATE = FaultKind(
    "code.date",
    "code that a spreadsheet made into a date",
    "The other codes look like {example}; a spreadsheet seems to have made this one into a date: {value}",
    "Look the code up and write it back (1-Nov may have been 11-1 or 0011-1).",
    "warning",
)
RUINED_NUMBER = FaultKind(
    "code.scientific",
    "code that a spreadsheet made into a number",
    "The other codes look like {example}; a spreadsheet has shortened this one and digits are lost: {value}",
    "Look the code up and write all its digits.",
    "warning",
)

_MONTHS = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
_DATE = rf"^(?:\d{{1,2}}-(?:{_MONTHS})(?:-\d{{2,4}})?|(?:{_MONTHS})-\d{{2,4}}|\d{{1,2}}/\d{{1,2}}/\d{{2,4}}|"
_DATE += r"(?:19|20)\d\d-\d\d-\d\d(?:[ T]00:00:00)?)$"
_PARTS = r"^\d{1,6}-\d{1,4}(?:-\d{1,4})?$"
_SCIENTIFIC = r"^\d(?:[.,]\d+)?E\+\d{2,}$"
_LONG = r"^\d{6,}$"
_PLAIN = r"^[!-~]+(?: [!-~]+)*$"


def text_column(source: Cells) -> Understood:
    """``value``: the text as :func:`plain` gives it, at most ``LONGEST_TEXT`` characters; one row a cell."""
    cells = source.cells
    easy = cells.is_null() | (cells.str.contains(_PLAIN) & (cells.str.len_bytes() <= LONGEST_TEXT))
    return completed(pl.DataFrame({"value": cells}), ~easy, source, _cleaned)


def code_column(source: Cells) -> Understood:
    """``value``: an identifier kept as written (``01`` is not ``1``); one row a cell.

    Warned of are codes a spreadsheet has ruined, where the column's other codes make that plain: dates among codes of
    parted numbers (``1-Nov`` among ``0012-1``), shortened numbers (``1.23E+11``) among long ones.
    """
    clean = text_column(source)
    codes = clean.values["value"]
    if not codes.str.contains(f"{_DATE}|{_SCIENTIFIC}").any():
        return clean
    distinct = codes.unique(maintain_order=True).drop_nulls()
    faults = [clean.faults]
    for kind, ruined, sound in ((RUINED_DATE, _DATE, _PARTS), (RUINED_NUMBER, _SCIENTIFIC, _LONG)):
        bad = distinct.filter(distinct.str.contains(ruined))
        good = distinct.filter(distinct.str.contains(sound) & ~distinct.str.contains(ruined)) if len(bad) else bad
        if len(good) > 0 and len(bad) < len(distinct):
            some = codes.is_in(bad.to_list()).fill_null(False)
            faults.append(kind.frame(source.lines.filter(some), codes.filter(some), source.header, example=good[0]))
    return Understood(clean.values, concat(faults))


def _cleaned(value: str, notes: list[Problem]) -> tuple[str | None]:
    if len(value) > LONGEST_TEXT:
        notes.append(Problem.of(TOO_LONG, longest=LONGEST_TEXT))
        value = value[:LONGEST_TEXT].rstrip()
    return (value or None,)
