"""What set a caution off, in words: the works and their days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import polars as pl

from pipeline.common.amounts import joined
from pipeline.common.words import counted, listed, long_date
from pipeline.indicators.base.green_season import Caution, Evidence
from pipeline.indicators.base.records import evidence
from schemas.codes import code_list

COMMON = "common practice, no source"
MOST_OPERATIONS = 2
"""Operations named, and days of a single one, before the rest is counted: a line of print."""


def caution(
    text: str,
    source: str,
    rows: pl.DataFrame,
    said: str = "",
    beside: tuple[Evidence, ...] = (),
    *,
    sort: str = "",
    degree: float = 0.0,
    brief: str = "",
    by: str = "",
) -> Caution | None:
    """A caution set off by these jobs; None where there are none.

    Args:
        text: the caution.
        source: who says so.
        rows: the jobs.
        said: what else set it off, after the works.
        beside: further lines behind it.
        sort: what it shares with other greens' cautions whose text holds other figures.
        degree: how grave it is among those.
        brief: the caution in one line.
        by: the source in a few words.
    """
    if not rows.height:
        return None
    trigger = joined("; ", list(filter(None, (works(rows), said))))
    return Caution(text, source, trigger, evidence(rows, "job") + beside, sort, degree, brief, by)


def works(rows: pl.DataFrame) -> str:
    """Each operation with its days: "top dressing on 11 March and 4 June 2026"; the more there are, the shorter."""
    done = [name for name in code_list("operation") if name in set(rows["operation"])]
    named = done[:MOST_OPERATIONS]
    most = max(1, MOST_OPERATIONS + 1 - len(named))
    parts = []
    for name in named:
        dates = rows.filter(pl.col("operation") == name)["date"]
        parts.append(f"{code_list('operation')[name].label.lower()} on {days(dates, most)}")
    if more := len(done) - len(named):
        parts.append(counted(more, "other operation"))
    return "; ".join(parts)


def days(found: Sequence[date] | pl.Series, most: int = MOST_OPERATIONS) -> str:
    """Days as a list, each once, the year after the last of it: 11 March and 4 June 2026."""
    every = sorted(set(found))
    shown = every[:most]
    last = [i + 1 == len(shown) or shown[i + 1].year != day.year for i, day in enumerate(shown)]
    words = [long_date(day) if year else f"{day.day} {day:%B}" for day, year in zip(shown, last, strict=True)]
    if more := len(every) - len(shown):
        words.append(counted(more, "more day"))
    return listed(words)
