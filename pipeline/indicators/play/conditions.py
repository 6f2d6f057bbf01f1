"""Under what conditions a green was timed: height of cut and rain of the days before, so that like meets like."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import polars as pl

from pipeline.common.words import counted, listed
from pipeline.indicators.base.records import GreenRecords

CUT_STEP_MM = 0.5
"""Heights of cut that agree to so much are alike: common practice, no source."""
MOWN_WITHIN_DAYS = 14
"""A mowing in the log tells the height of cut for so long, where a reading does not: common practice, no source."""
DAYS_OF_RAIN = 2
WET_FROM_MM = 1.0
"""Rain of the two days before from which a day counts as wet; 1 mm is the rain of a "wet day" with meteorologists
(World Meteorological Organization, index R1mm), the two days are common practice, no source."""


@dataclass(frozen=True)
class Days:
    """Days of timing under known conditions, and what could not be told.

    Attributes:
        rows: ``date``, ``speed_s`` and the condition columns ``cut_mm`` and ``wet``; a condition that is recorded for
            no day at all is null throughout and sets no day apart (grain: day and height of cut).
        without_cut: days left out because they alone give no height of cut.
        without_rain: days left out because the rain before them is not on record.
        cut: whether height of cut is compared.
        rain: whether rain is compared.
    """

    rows: pl.DataFrame
    without_cut: int
    without_rain: int
    cut: bool
    rain: bool

    def method(self) -> str:
        """The conditions compared, in words."""
        parts = ["month"]
        if self.cut:
            parts.append(
                f"height of cut (to {CUT_STEP_MM:g} mm, of the reading or the last mowing logged up to "
                f"{MOWN_WITHIN_DAYS} days before)"
            )
        if self.rain:
            parts.append(f"rain of the {DAYS_OF_RAIN} days before (dry: under {WET_FROM_MM:g} mm)")
        return listed(parts)

    def notes(self) -> list[str]:
        """What was left out or left aside, as sentences."""
        said = []
        if self.without_cut:
            said.append(f"{counted(self.without_cut, 'day')} without a height of cut left out.")
        if self.without_rain:
            said.append(f"{counted(self.without_rain, 'day')} without the rain before left out.")
        if not self.cut:
            said.append("No height of cut is recorded: it is left aside.")
        if not self.rain:
            said.append("No rain is recorded: weather is left aside.")
        return said


def days_of(records: GreenRecords, rows: pl.DataFrame) -> Days:
    """The days of these timed bowls with their conditions.

    Args:
        records: of the green.
        rows: timed bowls with ``speed_s``.
    """
    known = _with_rain(records, _with_cut(records, rows))
    cut, rain = known["cut_mm"].is_not_null().any(), known["wet"].is_not_null().any()
    no_cut = known.filter(pl.col("cut_mm").is_null()) if cut else known.clear()
    kept = known.filter(pl.col("cut_mm").is_not_null()) if cut else known
    no_rain = kept.filter(pl.col("wet").is_null()) if rain else kept.clear()
    kept = kept.filter(pl.col("wet").is_not_null()) if rain else kept
    means = (
        kept.group_by("date", "cut_mm", "wet", maintain_order=True)
        .agg(pl.col("speed_s").mean())
        .sort("date", "cut_mm", maintain_order=True)
    )
    return Days(means, no_cut["date"].n_unique(), no_rain["date"].n_unique(), cut, rain)


def classes(days: pl.DataFrame) -> list[tuple[Any, ...]]:
    """Month, height of cut and wetness of each day."""
    return list(days.select(pl.col("date").dt.month(), "cut_mm", "wet").iter_rows())


def _with_cut(records: GreenRecords, rows: pl.DataFrame) -> pl.DataFrame:
    """The readings with ``cut_mm``: their own height of cut, else the log's last mowing's, to half a millimetre."""
    mown = records.jobs.filter((pl.col("operation") == "mowing") & pl.col("cut_height_mm").is_not_null())
    heights = mown.select("date", pl.col("cut_height_mm").alias("mown_mm")).sort("date", maintain_order=True)
    joined = rows.sort("date", maintain_order=True).join_asof(
        heights, on="date", tolerance=timedelta(days=MOWN_WITHIN_DAYS)
    )
    height = pl.coalesce("cut_height_mm", "mown_mm")
    return joined.with_columns(((height / CUT_STEP_MM).round() * CUT_STEP_MM).alias("cut_mm"))


def _with_rain(records: GreenRecords, rows: pl.DataFrame) -> pl.DataFrame:
    """The readings with ``wet``: whether the days before had rain; null where one of them is not on record."""
    rain = (
        records.weather.filter(pl.col("rain_mm").is_not_null())
        .group_by("date", maintain_order=True)
        .agg(pl.col("rain_mm").mean())
    )
    sums = [
        rain.select((pl.col("date") + timedelta(days=back)).alias("date"), pl.col("rain_mm").alias(f"before_{back}"))
        for back in range(1, DAYS_OF_RAIN + 1)
    ]
    for one in sums:
        rows = rows.join(one, on="date", how="left", maintain_order="left")
    total = pl.sum_horizontal([pl.col(f"before_{b}") for b in range(1, DAYS_OF_RAIN + 1)], ignore_nulls=False)
    return rows.with_columns((total >= WET_FROM_MM).alias("wet"))
