"""Growth by temperature: whose curve, by which constants, and what it came to month by month."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.weather import GROWTH_CURVES, Grass, growth_potential
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords

WARM_SEASON = ("bermuda", "cynodon", "couch", "kikuyu", "zoysia", "paspalum", "buffalo", "digitaria", "warm-season")
"""Words of the register's grasses that name a warm-season one; any other grass is cool-season."""
DEGREE = {"celsius": "°C", "fahrenheit": "°F"}
BY_MONTH = pl.col("date").dt.truncate("1mo").alias("month")

MONTH = Description(
    "growth_month_days", "Days of full growth by temperature", "days", "growth",
    "The same as growth_days, month by month.", "Growth potential of the month's days, summed.",
    band="month", formulas=(growth_potential,), monthly=True,
)  # fmt: skip


def grass_of(records: GreenRecords) -> Grass:
    """Cool- or warm-season: as chosen, else as the register's grasses say."""
    chosen = records.options.growth_grass
    if chosen != "by_register":
        return chosen
    named = str(records.green["grasses"] or "").lower()
    return "warm_season" if any(word in named for word in WARM_SEASON) else "cool_season"


def potential(records: GreenRecords, mean_c: pl.Expr) -> pl.Expr:
    """Growth potential of a day's mean temperature by the green's curve, 0 to 1."""
    grass = grass_of(records)
    found: pl.Expr = growth_potential(mean_c, grass, records.options.growth_curve, capped=_capped(records))
    return found


def curve_in_words(records: GreenRecords) -> str:
    """The curve in force: grass, constants, and whether it is capped."""
    grass, form = grass_of(records), records.options.growth_curve
    optimum, spread = GROWTH_CURVES[grass, form]
    capped = ", full growth from there up" if _capped(records) else ""
    return f"{grass.replace('_', '-')} grass, exp(−½((t − {optimum:g})/{spread:g})²) in {DEGREE[form]}{capped}"


def _capped(records: GreenRecords) -> bool:
    return records.options.growth_capped and grass_of(records) == "warm_season"


def by_month(records: GreenRecords, days: pl.DataFrame, station: str) -> Iterator[Indicator]:
    """Days of full growth of each month with a temperature, oldest first (grain: indicator)."""
    how = f"{station}. Growth potential of each day's mean, summed by month: {curve_in_words(records)}."
    for part in days.drop_nulls("growth").with_columns(BY_MONTH).partition_by("month"):
        value, band = float(part["growth"].sum()), f"{part['month'][0]:%B %Y}"
        yield MONTH.figure(value, part, "weather_day", band=band, method=how)
