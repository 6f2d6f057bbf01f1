"""The share of a green that a job went over: what weights the job's rate in every figure of a season.

A rate lies on the area it fell on. A season's figure is of the whole green, so that rates over different areas add up
only once each is weighted by its share: mass over the green's area.
"""

from __future__ import annotations

from datetime import date

import polars as pl

PARTS = "Work on a part of the green is weighted by the share treated."
BEYOND = "Of an area larger than the green, what landed on the green counts."


def with_share(jobs: pl.DataFrame, area_m2: float | None) -> pl.DataFrame:
    """Jobs with ``over_m2``, the area gone over, and ``share``, the part of the green that is, 0 to 1 (grain: job).

    A job without a treated area went over the whole green. What lies beyond its edge is not of the green: the share is
    1 at most. It is null where a job gives an area and the green's own is not known.

    Args:
        jobs: with ``treated_area_m2``.
        area_m2: the green's area, m².
    """
    green, treated = pl.lit(area_m2, dtype=pl.Float64), pl.col("treated_area_m2")
    share = pl.when(treated.is_null() | (treated >= green)).then(1.0).otherwise(treated / green)
    return jobs.with_columns(treated.fill_null(green).alias("over_m2"), share.alias("share"))


def largest_dose(rows: pl.DataFrame, column: str) -> tuple[date, float]:
    """Day and size of the largest dose of one day, on the area it fell on, in the unit of the column.

    Doses on the whole green lie on each other, and so do those of different materials. Parts under one material lie
    side by side: the largest counts, or their mass over the green where they come to more than the whole of it.

    Args:
        rows: what was put on, at least one, with ``material`` and ``share``.
        column: dose of each job on the area it fell on.
    """
    whole, dose = (pl.col("share") == 1).fill_null(value=False), pl.col(column)
    parts = pl.max_horizontal(dose.filter(~whole).max(), (dose * pl.col("share")).filter(~whole).sum())
    materials = rows.group_by("date", "material", maintain_order=True).agg(
        (dose.filter(whole).sum() + parts).alias("dose")
    )
    days = (
        materials.sort("date", "material", maintain_order=True)
        .group_by("date", maintain_order=True)
        .agg(pl.col("dose").sum())
    )
    day, most = days.sort("dose", "date", maintain_order=True).row(-1)
    return day, float(most)


def in_words(rows: pl.DataFrame, area_m2: float | None = None) -> str:
    """How the areas of these jobs enter a figure; "" where all went over the green and no more.

    Args:
        rows: jobs with ``share``.
        area_m2: the green's area, m², where it matters that some of it went beside the green.
    """
    said = [PARTS] if rows.filter(pl.col("share") < 1).height else []
    return " ".join([*said, BEYOND] if beyond(rows, area_m2).height else said)


def beyond(rows: pl.DataFrame, area_m2: float | None) -> pl.DataFrame:
    """The jobs that went over more than the green (grain: job)."""
    return rows.filter(pl.col("treated_area_m2") > pl.lit(area_m2, dtype=pl.Float64))
