"""Sheets with a column a month: ``Jan`` to ``Dec`` beside a year, or ``2021-01``, ``Jan 2021``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.common.grouped import grouped
from pipeline.common.words import listed
from pipeline.draft.columns import Column, bare
from pipeline.draft.dates import year_column
from pipeline.draft.document import Ask, Entry, Table
from pipeline.profiles.profile import UNDECIDED
from pipeline.standardise.cells.header_units import unit_against
from schemas import Kind
from schemas.codes import fold
from schemas.field import Field

FEWEST = 3
"""Columns named after months from which on a sheet is held to have one of each."""
_NAMES = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_NUMBERED = re.compile(r"(\d{4})[-/. ](0?[1-9]|1[0-2])")


@dataclass(frozen=True)
class Month:
    """A column of one month: what its header says of the date, and its other words."""

    column: Column
    said: str
    measure: str


@dataclass(frozen=True)
class Months:
    """Columns of months.

    Attributes:
        columns: each one, in the file's order, of one measure.
        year: column of the year, None where each header says it.
        part: what the profile calls the column that the headers say; the file has none of that name.
        measures: what is measured, by the headers; ("",) where they name the month alone.
    """

    columns: tuple[Month, ...]
    year: Column | None
    part: str
    measures: tuple[str, ...]

    @property
    def origin(self) -> dict[str, object]:
        """What a profile says of the date."""
        if self.year is None:
            return {"from": self.part}
        return {"from": [self.year.header, self.part], "join": "-"}


def months_of(columns: Sequence[Column], kind: Kind) -> Months | None:
    """The columns of months, of the first measure where there are several; None where it is no such sheet."""
    if kind.period != "month":
        return None
    found = [month for column in columns if column.numeric and (month := _month(column))]
    year = year_column(columns)
    found = [month for month in found if ("-" in month.said) is (year is None)]
    groups = {name: group for name, group in grouped(found, lambda one: one.measure).items() if len(group) >= FEWEST}
    if not groups:
        return None
    first = next(iter(groups.values()))
    if len({month.said for month in first}) < len(first):
        return None
    taken = {fold(column.header) for column in columns}
    part = next(name for name in ("Month", "Month of the column", "Column's month") if fold(name) not in taken)
    return Months(tuple(first), year, part, tuple(groups))


def _month(column: Column) -> Month | None:
    """What a header says of a month: ``01`` of Jan, ``2021-01`` of Jan 2021."""
    header = column.header.strip()
    if numbered := _NUMBERED.fullmatch(header):
        return Month(column, f"{numbered[1]}-{int(numbered[2]):02}", "")
    words = bare(header).split()
    names = [word for word in words if _number(word)]
    years = [word for word in words if len(word) == 4 and word.isdigit()]
    if len(names) != 1 or len(years) > 1:
        return None
    said = f"{_number(names[0]):02}"
    rest = " ".join(word for word in words if word not in {*names, *years})
    return Month(column, f"{years[0]}-{said}" if years else said, rest)


def _number(word: str) -> int:
    """Number of a month by its English name or the first letters of it, 0 of any other word."""
    word = "sep" if word == "sept" else word
    return next((at for at, name in enumerate(_NAMES, 1) if word in {name, name[:3]}), 0)


def month_tables(
    months: Months, kind: Kind, title: str, title_unit: str, station: Column | None
) -> tuple[list[Table], list[Ask]]:
    """One [[long]] table a month, with what must be decided in them.

    Args:
        months: the columns.
        kind: kind of record.
        title: words over the table and the file's name, in which the measure may stand.
        title_unit: unit that a line over the table names, "" where none does.
        station: column of the stations, where there is one.
    """
    field = _measured(kind, months.measures[0] or title)
    into, asks = field.name if field else UNDECIDED, []
    if clash := _clash(months, station):
        into = UNDECIDED
        asks.append(Ask("long.into", clash))
    elif field is None:
        names = [one.name for one in _figures(kind)]
        asks.append(
            Ask("long.into", f"which figure the columns of months hold is not said: write one of {listed(names)}")
        )
    tables: list[Table] = []
    why = asks[0].why if asks else "named so over the table: check"
    for month in months.columns:
        unit = month.column.unit or (title_unit if field and unit_against(f"x ({title_unit})", field.unit) else "")
        entries = [Entry("from", month.column.header), Entry("into", into, "" if tables else why)]
        if field is None or field.unit:
            entries.append(Entry("unit", unit or UNDECIDED))
            if not unit:
                asks.append(Ask("long.unit", "nothing says the unit of the columns of months", month.column.header))
        entries.append(Entry("says", {months.part: month.said}))
        tables.append(Table("long", tuple(entries), many=True))
    return tables, asks


def _figures(kind: Kind) -> list[Field]:
    return [one for one in kind.fields if one.type in {"number", "money"}]


def _measured(kind: Kind, text: str) -> Field | None:
    """The field whose name, or another header of it, stands in a text; None where none does, or several do."""
    words = f" {bare(text)} "
    found = [one for one in _figures(kind) if any(f" {bare(name)} " in words for name in (*one.headers, *one.also))]
    return found[0] if len(found) == 1 else None


def _clash(months: Months, station: Column | None) -> str:
    """Why the sheet cannot be read as it is, "" where it can: two figures of one month would be two records of it."""
    cure = "bring the sheet into a row a month, with a column for each"
    if len(months.measures) > 1:
        return (
            f"{listed([f'“{one}”' for one in months.measures])} stand in columns of months: a month of a station is "
            f"one record, and a profile fills one field of it from such columns: {cure}"
        )
    by = [months.year.cells] if months.year is not None else []
    by += [station.cells] if station is not None else []
    rows = pl.DataFrame([cells.alias(str(at)) for at, cells in enumerate(by)])
    if (by and rows.height > rows.unique().height) or (not by and len(months.columns[0].column.cells) > 1):
        return f"several rows are of one year and station, which would be two records of each month: {cure}"
    return ""
