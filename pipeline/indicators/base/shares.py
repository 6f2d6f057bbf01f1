"""The share of a green that a job went over: what weights the job's rate in every figure of a season.

A rate lies on the area it fell on. A season's figure is of the whole green, so that rates over different areas add up
only once each is weighted by its share: mass over the green's area.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

import polars as pl

from pipeline.indicators.base.by_kind import spread_out
from pipeline.indicators.base.rows import Row, Rows

PARTS = "Work on a part of the green is weighted by the share treated."
UNKNOWN_SHARE, SAME_PLACE = 1e-6, 1e-9
"""Share that stands for an unknown one, and shares closer than this are one place: both far below a bowl's width."""
SAID_OF_SHARES = ("date", "operation", "material", "share", "green_m2", "treated_area_m2")
"""Columns that :func:`in_words` reads."""
ONE_DAYS_WORK = ("green", "date", "operation", "material")
OVER_FULL = "Parts logged for one day come to more than the green: what is over lies on the rest."
CHANGED = "The green's area changed: each job counts by that of its day."
BEYOND = "Of an area larger than the green, what landed on the green counts."


def with_share(jobs: pl.DataFrame, area_m2: pl.Expr | float | None) -> pl.DataFrame:
    """Jobs with ``over_m2``, the area gone over, and ``share``, the part of the green that is, 0 to 1 (grain: job).

    ``green_m2`` is the green's area on the day.

    A job without a treated area went over the whole green. What lies beyond its edge is not of the green: the share is
    1 at most. It is null where a job gives an area and the green's own is not known.

    Args:
        jobs: with ``treated_area_m2``.
        area_m2: the green's area, m²: one, or that of each job's day.
    """
    green = area_m2 if isinstance(area_m2, pl.Expr) else pl.lit(area_m2, dtype=pl.Float64)
    treated = pl.col("treated_area_m2")
    share = pl.when(treated.is_null() | (treated >= green)).then(1.0).otherwise(treated / green)
    return spread_out(
        jobs.with_columns(treated.fill_null(green).alias("over_m2"), share.alias("share"), green.alias("green_m2"))
    )


def largest_dose(rows: Iterable[Row], column: str) -> tuple[date, float]:
    """Day and size of the largest dose of one day, on the area it fell on, in the unit of the column.

    Different materials lie on each other. Under one material what went over parts lies side by side, and on what is
    there already only as far as the green is full: so a job comes to the same in one line and in parts.

    Args:
        rows: what was put on, at least one, with ``material`` and ``share``.
        column: dose of each job on the area it fell on.
    """
    parts: dict[date, dict[str | None, list[Row]]] = {}
    for row in rows:
        parts.setdefault(row["date"], {}).setdefault(row["material"], []).append(row)
    by_day = {
        day: math.fsum(
            _laid([row[column] or 0.0 for row in part], [row["share"] for row in part]) for part in of.values()
        )
        for day, of in parts.items()
    }
    return max(by_day.items(), key=lambda found: (found[1], found[0]))


def _laid(doses: Sequence[float], shares: Sequence[float | None]) -> float:
    """The most that lies on any place: doses laid out from the largest down, layer after layer of the whole green.

    A part of a green whose area is not known covers next to nothing: it lies beside other parts, on what is whole.
    """
    reached, layer, most = 0.0, 0, 0.0
    for dose, share in sorted(zip(doses, shares, strict=True), key=lambda job: -job[0]):
        reached += UNKNOWN_SHARE if share is None else share
        while reached > layer + SAME_PLACE:
            most, layer = most + dose, layer + 1
    return most


def in_words(rows: Rows, *, beside: bool = False) -> str:
    """How the areas of these jobs enter a figure; "" where all went over the green and no more.

    Args:
        rows: jobs with ``SAID_OF_SHARES``.
        beside: whether it matters that some of it went beside the green.
    """
    parts = [row for row in rows if row["share"] is not None and row["share"] < 1]
    said = [PARTS] if parts else []
    said += [OVER_FULL] if days_over_full(parts) else []
    said += [CHANGED] if len(set(rows.column("green_m2"))) > 1 else []
    over = any(beyond(row) for row in rows)
    return " ".join([*said, BEYOND] if beside and over else said)


def over_full(jobs: pl.DataFrame) -> pl.DataFrame:
    """The jobs whose parts of one day, operation and material come to more than the green, which one line's cannot.

    A job that went over green and surround, logged in parts, looks the same as two rounds over parts of the green: all
    of it is counted as put on the green, and is to be told.

    Args:
        jobs: with ``share``.
    """
    if not (jobs["share"] < 1).any():
        return jobs.clear()
    parts = jobs.filter(pl.col("share") < 1)
    return parts.filter(pl.col("share").sum().over(ONE_DAYS_WORK) > 1 + SAME_PLACE)


def days_over_full(parts: Iterable[Row]) -> set[tuple[date, str]]:
    """Days and operations whose parts come to more than the green, as of :func:`over_full`.

    Args:
        parts: jobs of one green that went over a part of it, with ``share``.
    """
    of_day: dict[tuple[Any, ...], list[float]] = {}
    for row in parts:
        of_day.setdefault(tuple(row[name] for name in ONE_DAYS_WORK[1:]), []).append(row["share"])
    full = (key for key, shares in of_day.items() if math.fsum(shares) > 1 + SAME_PLACE)
    return {(day, operation) for day, operation, _ in full}


def beyond(row: Row) -> bool:
    """Whether a job went over more than the green."""
    return (row["treated_area_m2"] or 0.0) > (row["green_m2"] or math.inf)
