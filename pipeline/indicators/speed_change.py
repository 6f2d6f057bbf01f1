"""Green speed against the season before, like with like: the same height of cut in the same months."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import polars as pl

from pipeline.indicators.record import Indicator
from pipeline.indicators.records import GreenRecords
from pipeline.indicators.standing import evidence
from pipeline.indicators.surface import timed
from pipeline.statistics.effect import Difference, NoDifference, like_with_like
from pipeline.words import counted, listed

CUT_STEP_MM = 0.5
"""Heights of cut that agree to so much are alike: common practice, no source."""
MOWN_WITHIN_DAYS = 14
"""A mowing in the log tells the height of cut for so long, where a reading does not: common practice, no source."""
MIN_DAYS = 3
"""Fewest days of timing in each season under conditions that both have."""


def speed_change(records: GreenRecords) -> list[Indicator]:
    """Seconds gained or lost since the season before; refused where no conditions are alike (grain: indicator)."""
    every = _with_cut(records, timed(records))
    here = records.in_season(every)
    first = records.season.start.replace(year=records.season.start.year - 1)
    before = every.filter(pl.col("date").is_between(first, records.season.start - timedelta(days=1)))
    if not (here.height and before.height):
        return []
    unknown = pl.concat([before, here]).filter(pl.col("cut_height_mm").is_null())["date"].n_unique()
    now, then = _days(here), _days(before)
    difference = like_with_like(
        then["speed_s"].to_numpy(), _classes(then), now["speed_s"].to_numpy(), _classes(now), min_each=MIN_DAYS
    )
    shared = sorted(set(_classes(then)) & set(_classes(now)))
    base = Indicator(
        "speed_change_s",
        "Green speed against the season before",
        "",
        None,
        "s",
        now.height + then.height,
        family="surface",
        decimals=1,
        method=(
            f"Means of days by month and height of cut (to {CUT_STEP_MM:g} mm, of the reading or the last mowing "
            f"logged up to {MOWN_WITHIN_DAYS} days before); only what both seasons have is compared, each with its "
            "like; 95 % t interval from the spread between days. Weather is not taken into account."
        ),
        note=_note(difference, shared, unknown),
        evidence=evidence(pl.concat([before, here]), "green_speed"),
    )
    if isinstance(difference, NoDifference):
        return [replace(base, standing="too few")]
    days = difference.n_first + difference.n_second
    return [replace(base, value=difference.value, low=difference.low, high=difference.high, n=days)]


def _with_cut(records: GreenRecords, rows: pl.DataFrame) -> pl.DataFrame:
    """The readings with the height of cut that the log's last mowing gives where they give none."""
    mown = records.jobs.filter((pl.col("operation") == "mowing") & pl.col("cut_height_mm").is_not_null())
    heights = mown.select("date", pl.col("cut_height_mm").alias("mown_mm")).sort("date")
    joined = rows.sort("date").join_asof(heights, on="date", tolerance=timedelta(days=MOWN_WITHIN_DAYS))
    return joined.with_columns(pl.coalesce("cut_height_mm", "mown_mm").alias("cut_height_mm"))


def _days(rows: pl.DataFrame) -> pl.DataFrame:
    """Mean of each day and height of cut (grain: day and height), with the height to the nearest half millimetre."""
    cut = ((pl.col("cut_height_mm") / CUT_STEP_MM).round() * CUT_STEP_MM).alias("cut_mm")
    known = rows.with_columns(cut).drop_nulls("cut_mm")
    return known.group_by("date", "cut_mm").agg(pl.col("speed_s").mean()).sort("date", "cut_mm")


def _classes(days: pl.DataFrame) -> list[tuple[int, float]]:
    """Month and height of cut of each day."""
    return list(days.select(pl.col("date").dt.month(), "cut_mm").iter_rows())


def _note(difference: Difference | NoDifference, shared: list[tuple[int, float]], unknown: int) -> str:
    """What was compared, or why nothing was."""
    cuts = sorted({f"{cut:g}" for _, cut in shared})
    parts = [
        f"Too few: {difference.why}"
        if isinstance(difference, NoDifference)
        else f"Compared at {listed(cuts)} mm height of cut."
    ]
    if unknown:
        parts.append(f"{counted(unknown, 'day')} without a height of cut left out.")
    return " ".join(parts)
