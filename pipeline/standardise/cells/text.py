"""Words and codes: cleaned of what cannot be seen, else kept as written."""

from __future__ import annotations

from collections.abc import Container

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.profiles.style import Problem, Understood
from pipeline.standardise.cells.distinct import SHOWN, Cells, completed

LONG_TEXT = 400
"""Characters; common practice, no source. A longer text takes much of the page it is printed on."""

LONG = FaultKind(
    "text.too_long",
    "long text",
    "The text has {length} characters; it is kept whole: {value}",
    "Shorten it if it is to be printed: documents print it in full.",
    "note",
)
RUINED_DATE = FaultKind(
    "code.date",
    "code that a spreadsheet made into a date",
    "The other codes look like {example}; a spreadsheet seems to have made this one into a date: {value}",
    "Look the code up and write it back (1-Nov may have been 11-1 or 0011-1), with the column formatted as text; or "
    'map it in the source profile under [aliases.{field}], to itself ("1-Nov" = "1-Nov") where it is right.',
)
DATE_LIKE = FaultKind(
    "code.date_like",
    "code that looks like a date",
    "A spreadsheet may have made this code into a date: {value}",
    "Look it up (1-Nov may have been 11-1 or 0011-1); map it in the source profile under [aliases.{field}], to itself "
    '("1-Nov" = "1-Nov") where it is right.',
    "warning",
)
RUINED_NUMBER = FaultKind(
    "code.scientific",
    "code that a spreadsheet made into a number",
    "The other codes look like {example}; a spreadsheet has shortened this one and digits are lost: {value}",
    "Look the code up and write all its digits; or map it in the source profile under [aliases.{field}], to itself "
    "where it is right.",
)

_MONTHS = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
_DATE = rf"^(?:\d{{1,2}}-(?:{_MONTHS})(?:-\d{{2,4}})?|(?:{_MONTHS})-\d{{2,4}}|\d{{1,2}}/\d{{1,2}}/\d{{2,4}}|"
_DATE += r"(?:19|20)\d\d-\d\d-\d\d(?:[ T]00:00:00)?)$"
_DAY_AND_MONTH = rf"^\d{{1,2}}-(?:{_MONTHS})(?:-\d{{2,4}})?$"
_PARTS = r"^\d{1,6}-\d{1,4}(?:-\d{1,4})?$"
_SCIENTIFIC = r"^\d(?:[.,]\d+)?E\+\d{2,}$"
_LONG = r"^\d{6,}$"
_PLAIN = r"^[!-~]+(?: [!-~]+)*$"


def text_column(source: Cells) -> Understood:
    """``value``: the text as :func:`plain` gives it, whole; one row a cell."""
    cells = source.cells
    easy = cells.is_null() | (cells.str.contains(_PLAIN) & (cells.str.len_bytes() <= LONG_TEXT))
    return completed(pl.DataFrame({"value": cells}), ~easy, source, _cleaned)


def code_column(source: Cells, declared: Container[str] = (), field: str = "") -> Understood:
    """``value``: an identifier kept as written (``01`` is not ``1``); one row a cell.

    Refused are codes a spreadsheet has ruined, where the column's other codes make that plain: dates among codes of
    parted numbers (``1-Nov`` among ``0012-1``), shortened numbers (``1.23E+11``) among long ones: under such a key two
    records could become one. A day and month among other codes, or alone, is asked about. Codes that the source
    profile declares are what they are.

    Args:
        source: the column.
        declared: codes that the profile says something of.
        field: name of the field, for what is said to the person.
    """
    clean = _figures_refused(text_column(source), source)
    codes = clean.values["value"]
    if not codes.str.contains(f"{_DATE}|{_SCIENTIFIC}").any():
        return clean
    distinct = pl.Series([code for code in codes.unique(maintain_order=True).drop_nulls() if code not in declared])
    faults = [clean.faults]
    for kind, ruined, sound in ((RUINED_DATE, _DATE, _PARTS), (RUINED_NUMBER, _SCIENTIFIC, _LONG)):
        bad = distinct.filter(distinct.str.contains(ruined))
        good = distinct.filter(distinct.str.contains(sound) & ~distinct.str.contains(ruined)) if len(bad) else bad
        if len(good) > 0 and len(bad) < len(distinct):
            facts = {"example": good[0], "field": field}
        elif kind is RUINED_DATE:
            bad, kind, facts = bad.filter(bad.str.contains(_DAY_AND_MONTH)), DATE_LIKE, {"field": field}  # noqa: PLW2901
        else:
            continue
        some = codes.is_in(bad.to_list()).fill_null(False)
        faults.append(kind.frame(source.lines.filter(some), codes.filter(some), source.header, **facts))
    return Understood(clean.values, concat(faults))


def _figures_refused(clean: Understood, source: Cells) -> Understood:
    """The codes without cells of a workbook that show another figure than they hold, which are refused."""
    odd = clean.values["value"].str.contains(SHOWN).fill_null(value=False)
    if not odd.any():
        return clean
    told = completed(clean.values, odd, source, lambda text, _: (text,)).faults
    values = clean.values.select(pl.when(~odd).then("value").alias("value"))
    return Understood(values, concat([clean.faults, told]), clean.as_written)


def _cleaned(value: str, notes: list[Problem]) -> tuple[str | None]:
    if len(value) > LONG_TEXT:
        notes.append(Problem.of(LONG, length=len(value)))
    return (value or None,)
