"""Totals of a season that miss something: rejected rows of their sort of work, or the months before a log begins."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from pipeline.common.amounts import joined
from pipeline.common.words import counted, listed, long_date, on_lines
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import YEAR, GreenRecords
from pipeline.indicators.base.green_season import Evidence, Indicator
from schemas.codes import code_list
from schemas.job import OPENS

OF_JOBS = frozenset({"dressing", "nutrients", "disturbance", "works", "effort"})
"""Families whose totals are made from the log of jobs."""
DRESSINGS = frozenset({"top_dressing"})
COUNTED = frozenset({"works", "effort"})
"""Families of jobs, hours and cost, to which any job belongs."""


def belongs(row: dict[str, Any], what: Description, band: str = "") -> bool:
    """Whether a rejected row may add to a figure.

    Work that is not understood adds to counts, hours and cost; to what is put on only where it names a material. Marked
    on every total, a word for hedge trimming would hide the entries that matter.

    Args:
        row: of ``GreenRecords.rejected``.
        what: the figure's description.
        band: its band.
    """
    return what.accumulates and _concerns(row, what, band)


def _concerns(row: dict[str, Any], what: Description, band: str) -> bool:
    """Whether a job, told as a rejected row is, is of the sort of work that a figure is made from."""
    if what.family not in OF_JOBS or row["kind"] != "job":
        return False
    operation = row["operation"]
    if operation is None:
        return what.family in COUNTED or bool(row["material"])
    if what.band == "operation" and band:
        return bool(band == code_list("operation")[operation].label)
    if what.band == "material" and row["material"] and band != row["material"]:
        return False
    return operation in what.added_by if what.added_by else _adds(operation, row["feeds"], what.family)


def _adds(operation: str, feeds: bool, family: str) -> bool:
    """Whether a job of this operation adds to the totals of a family."""
    if family == "dressing":
        return operation in DRESSINGS
    if family == "nutrients":
        return operation == "fertilising" or feeds
    return family in COUNTED or operation in OPENS


def missing_from(one: Indicator, records: GreenRecords, what: Description) -> list[dict[str, Any]]:
    """The rejected rows and jobs of a period that may add to a figure and are not in it, in order of file and line."""
    return [row for row in records.rows_left_out[what.day_needed] if belongs(row, what, one.band)]


def passed_over(one: Indicator, records: GreenRecords, what: Description) -> list[dict[str, Any]]:
    """The rejected rows, and jobs of a period, that might change a figure that is no total of the season."""
    if what.accumulates or not (records.rows_left_out[False] or records.rows_of_periods):
        return []
    rows = [row for row in records.rows_left_out[False] if row["rejected"]]
    if what.day_needed:
        since = records.as_of - YEAR if what.beyond_season else records.season.start
        rows = [*rows, *(row for row in records.rows_of_periods if row["last"] >= since)]
    return [row for row in rows if _concerns(row, what, one.band)]


def places(rows: Iterable[dict[str, Any]]) -> tuple[Evidence, ...]:
    """The lines of rejected rows."""
    return tuple(Evidence(row["file"], row["line"], row["kind"], row["load_id"]) for row in rows)


def at_least(one: Indicator, records: GreenRecords, what: Description) -> Indicator:
    """The figure with what is missing from it in its note; judged no further than a figure that may be more can be.

    A total of a log that begins late is at least so much: over the upper end it stays over it, and where no upper end
    is set what reaches the lower one does so. Anything else would need the months before. It stands first in the note,
    for a page cuts a long note off at its end.
    """
    if one.value is not None and (without := passed_over(one, records, what)):
        return replace(one, note=joined(" ", [*_without(without), *([one.note] if one.note else [])]))
    if not what.accumulates or what.family not in OF_JOBS or one.value is None:
        return one
    missing = missing_from(one, records, what)
    rows, known = ([row for row in missing if row["rejected"] is is_so] for is_so in (True, False))
    said = [rejected_words(rows)] if rows else []
    said += [f"At least: {apart_words(known)}"] if known else []
    begins = records.log_begins
    if begins:
        said.append(f"At least so much: {late_words(begins, records.season.start)}.")
        if one.standing == "below" or (one.standing == "within" and one.target_high is not None):
            one = replace(one, standing="too few")
    return replace(one, note=joined(" ", [part for part in (*said, one.note) if part])) if said else one


def _without(rows: list[dict[str, Any]]) -> Iterator[str]:
    """That a figure passes over rejected rows and jobs of a period."""
    rejected, known = ([row for row in rows if row["rejected"] is is_so] for is_so in (True, False))
    if rejected:
        yield f"Without {counted(len(rejected), 'rejected row')} that may change it: {_lines(rejected)}."
    if known:
        yield f"Without {counted(len(known), 'job')} known to the month or year only: {_lines(known)}."


def apart_words(rows: list[dict[str, Any]]) -> str:
    """That jobs of a period are not in a total."""
    number, verb = counted(len(rows), "job"), "is" if len(rows) == 1 else "are"
    return f"{number} known to the month or year only {verb} not in it: {_lines(rows)}."


def _lines(rows: list[dict[str, Any]]) -> str:
    """Where rows stand: log.csv lines 3 and 5."""
    lines: dict[str, list[int]] = {}
    for row in rows:
        lines.setdefault(row["file"], []).append(row["line"])
    return listed([f"{file} {on_lines(of)}" for file, of in lines.items()])


def rejected_words(rows: list[dict[str, Any]]) -> str:
    """That a total is at least so much, for these rows are not in it."""
    sure = all(row["operation"] and row["first"] and row["first"] == row["last"] for row in rows)
    verb = (
        ("is" if len(rows) == 1 else "are") if sure else "may belong to it and " + ("is" if len(rows) == 1 else "are")
    )
    return f"At least: {counted(len(rows), 'rejected row')} of this season {verb} not in it: {_lines(rows)}."


def late_words(begins: date, season_start: date) -> str:
    """When the log begins, and how far into the season that is."""
    months = (begins.year - season_start.year) * 12 + begins.month - season_start.month
    months -= begins.day < season_start.day
    since = counted(months, "month") if months > 1 else counted((begins - season_start).days, "day")
    words = ("", "", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven")
    since = f"{words[months]} months" if months > 1 else since
    return f"the log begins {long_date(begins)}, {since} into this season"
