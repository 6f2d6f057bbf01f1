"""Under what conditions a green was timed: height of cut and rain of the days before, so that like meets like."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import polars as pl

from pipeline.common.words import counted, listed
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.rows import Rows

CUT_STEP_MM = 0.5
"""Heights of cut that agree to so much are alike: common practice, no source."""
MOWN_WITHIN_DAYS = 14
"""A mowing in the log tells the height of cut for so long, where a reading does not: common practice, no source."""
DAYS_OF_RAIN = 2
WET_FROM_MM = 1.0
"""Rain of the two days before from which a day counts as wet; 1 mm is the rain of a "wet day" with meteorologists
(World Meteorological Organization, index R1mm), the two days are common practice, no source."""


LIKE = ("date", "cut_mm", "wet")
"""What is one for all bowls of a row that :func:`alike` makes."""


class Day(NamedTuple):
    """A day of timing under its conditions, and the mean of its bowls, s."""

    date: date
    cut_mm: float | None
    wet: bool | None
    speed_s: float

    @property
    def like(self) -> tuple[int, float | None, bool | None]:
        """Month, height of cut and wetness: what two days must share to be compared."""
        return self.date.month, self.cut_mm, self.wet


@dataclass(frozen=True)
class Days:
    """Days of timing under known conditions, and what could not be told.

    Attributes:
        rows: the days in order; a condition that is recorded for no day at all is None throughout and sets no day
            apart (grain: day and height of cut).
        without_cut: days left out because they alone give no height of cut.
        without_rain: days left out because the rain before them is not on record.
        cut: whether height of cut is compared.
        rain: whether rain is compared.
    """

    rows: tuple[Day, ...]
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


def days_of(bowls: Rows) -> Days:
    """The days of these timed bowls with their conditions.

    Args:
        bowls: of one green, as :func:`alike` gives them.
    """
    cut, rain = (any(one is not None for one in bowls.column(name)) for name in ("cut_mm", "wet"))
    kept = bowls.given("cut_mm") if cut else bowls
    no_cut = bowls.having("cut_mm", None) if cut else bowls.these(())
    no_rain = kept.having("wet", None) if rain else kept.these(())
    kept = kept.given("wet") if rain else kept
    means = [Day(row["date"], row["cut_mm"], row["wet"], _mean(row["speed_s"])) for row in kept]
    means.sort(key=lambda day: (day.date, day.cut_mm or 0.0))
    without_cut, without_rain = (len(set(rows.column("date"))) for rows in (no_cut, no_rain))
    return Days(tuple(means), without_cut, without_rain, cut, rain)


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def alike(asked: Asked, bowls: pl.DataFrame) -> pl.DataFrame:
    """Timed bowls under the same conditions, those of a day together (grain: green, season and ``LIKE``).

    ``speed_s`` and ``origin`` are lists: of each bowl its own.
    """
    rows = _with_rain(asked, _with_cut(asked, bowls.select("of", "date", "cut_height_mm", "speed_s", "origin")))
    return rows.sort("of", maintain_order=True).group_by("of", *LIKE, maintain_order=True).agg("speed_s", "origin")


def _with_cut(asked: Asked, rows: pl.DataFrame) -> pl.DataFrame:
    """The readings with ``cut_mm``: their own height of cut, else the log's last mowing's, to half a millimetre."""
    mown = asked.jobs.filter((pl.col("operation") == "mowing") & pl.col("cut_height_mm").is_not_null())
    heights = mown.select("of", "date", pl.col("cut_height_mm").alias("mown_mm")).sort("date", maintain_order=True)
    joined = rows.sort("date", maintain_order=True).join_asof(
        heights, on="date", by="of", tolerance=timedelta(days=MOWN_WITHIN_DAYS), check_sortedness=False
    )
    height = pl.coalesce("cut_height_mm", "mown_mm")
    return joined.with_columns(((height / CUT_STEP_MM).round() * CUT_STEP_MM).alias("cut_mm"))


def _with_rain(asked: Asked, rows: pl.DataFrame) -> pl.DataFrame:
    """The readings with ``wet``: whether the days before had rain; null where one of them is not on record."""
    days, part_of = asked.shared("weather_day", "date", "rain_mm")
    rain = days.drop_nulls("rain_mm").group_by("part", "date", maintain_order=True).agg(pl.col("rain_mm").mean())
    rows = rows.join(part_of, on="of", how="left", maintain_order="left")
    for back in range(1, DAYS_OF_RAIN + 1):
        before = rain.select("part", pl.col("date") + timedelta(days=back), pl.col("rain_mm").alias(f"before_{back}"))
        rows = rows.join(before, on=["part", "date"], how="left", maintain_order="left")
    total = pl.sum_horizontal([pl.col(f"before_{b}") for b in range(1, DAYS_OF_RAIN + 1)], ignore_nulls=False)
    return rows.with_columns((total >= WET_FROM_MM).alias("wet"))
