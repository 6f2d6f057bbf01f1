"""Records known to the month or year only: apart from those of a day, and where they may count all the same.

A figure sees records of a day alone. One that is the same for every day such a record can have been of
(``Description.day_needed`` is False) may take it too: a total of the season where its whole span lies inside, a latest
result where no other result of the same thing lies within its span. Whatever else it may belong to leaves it out and
names it.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import polars as pl

from pipeline.common.words import period
from pipeline.indicators.base.rejected import SCHEMA, barren
from pipeline.workspace.settings import Season

LAST = pl.coalesce("date_to", "date")
"""The last day a record can be of."""
_NONE_OUTSIDE = pl.DataFrame(schema=SCHEMA)
OPEN_DAY = "The day is not known: its date says {when}. Write the day, if somebody knows it."


def of_a_day(frame: pl.DataFrame) -> pl.DataFrame:
    """The records whose day is known."""
    return frame.filter(pl.col("date_to").is_null()) if "date_to" in frame.columns else frame


def of_a_period(frame: pl.DataFrame) -> pl.DataFrame:
    """The records of which only the month or the year is known, or two days between which they lie."""
    return frame.filter(pl.col("date_to").is_not_null())


def one_row_holds(registers: Mapping[str, pl.DataFrame], jobs: pl.DataFrame) -> pl.Series:
    """Whether one row of the register of greens, and of materials, holds over a job's whole span (grain: job).

    Args:
        registers: what they said on which days, of one green and of all materials.
        jobs: known to a month or year.
    """
    holds = []
    for first, last, material in jobs.select("date", "date_to", "material").iter_rows():
        begun = pl.col("holds_from").is_between(first, last, closed="right")
        rows = registers["material"].filter(pl.col("material") == pl.lit(material, dtype=pl.String))
        holds.append(not registers["green"].filter(begun).height and not rows.filter(begun).height)
    return pl.Series(holds, dtype=pl.Boolean)


def within(rows: pl.DataFrame, season: Season, as_of: date) -> pl.Expr:
    """Whether a record's whole span lies in the season and up to the last day counted."""
    return (pl.col("date") >= season.start) & (pl.col("date_to") <= min(season.end, as_of))


def placed(tests: pl.DataFrame, periods: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """The soil tests of a period that stand in order among all others of what they measure, whatever their day was.

    Args:
        tests: the green's soil tests of a day.
        periods: its others.
        as_of: last day counted.
    """
    every = pl.concat([tests, periods])
    keep = []
    for first, last, analyte in periods.select("date", "date_to", "analyte").iter_rows():
        among = (pl.col("analyte") == analyte) & (pl.col("date") <= last) & (first <= LAST)
        other = every.filter(among | (pl.col("date") == first))  # of one date they would pass for one sample
        alone = other.filter((pl.col("date") != first) | pl.col("date_to").ne_missing(last)).is_empty()
        keep.append(alone and last <= as_of)
    return periods.filter(pl.Series(keep, dtype=pl.Boolean))


def as_outside(jobs: pl.DataFrame, materials: pl.DataFrame) -> pl.DataFrame:
    """Jobs that a season leaves out, in the form of rejected rows: ``first`` and ``last`` are their span."""
    if not jobs.height:  # of most greens
        return _NONE_OUTSIDE
    bare = barren(materials)
    rows = [
        {
            **{name: row[name] for name in ("load_id", "file", "line", "green", "operation", "material")},
            "kind": "job",
            "column_name": "date",
            "message": OPEN_DAY.format(when=period(row["date"], row["date_to"])),
            "of_value": False,
            "feeds": row["material"] is not None and row["material"] not in bare,
            "first": row["date"],
            "last": row["date_to"],
            "rejected": False,
        }
        for row in jobs.iter_rows(named=True)
    ]
    return pl.DataFrame(rows, schema=SCHEMA)
