"""Growth by temperature: whose curve, by which constants, and what it came to month by month."""

from __future__ import annotations

import math
from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.weather import GROWTH_CURVES, Grass, growth_potential
from pipeline.indicators.base.asked import BEHIND, Asked
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.workspace.method_options import MethodOptions

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


def potential(options: MethodOptions, mean_c: pl.Expr, warm_season: pl.Expr) -> pl.Expr:
    """Growth potential of a day's mean temperature, 0 to 1, by the curve of a green of warm-season grass or not."""
    form, capped = options.growth_curve, options.growth_capped
    warm: pl.Expr = growth_potential(mean_c, "warm_season", form, capped=capped)
    return pl.when(warm_season).then(warm).otherwise(growth_potential(mean_c, "cool_season", form))


def curve_in_words(records: GreenRecords) -> str:
    """The curve in force: grass, constants, and whether it is capped."""
    grass, form = grass_of(records), records.options.growth_curve
    optimum, spread = GROWTH_CURVES[grass, form]
    capped = ", full growth from there up" if _capped(records) else ""
    return f"{grass.replace('_', '-')} grass, exp(−½((t − {optimum:g})/{spread:g})²) in {DEGREE[form]}{capped}"


def _capped(records: GreenRecords) -> bool:
    return records.options.growth_capped and grass_of(records) == "warm_season"


def by_month(asked: Asked, days: pl.DataFrame) -> Iterator[Indicator]:
    """Days of full growth of each month with a temperature, oldest first (grain: indicator)."""
    months = days.drop_nulls("growth").group_by("of", BY_MONTH, maintain_order=True).agg(*BEHIND, "growth")
    for of, month, n, places, growth in months.iter_rows():
        one = asked.each[of]
        yield MONTH.at(
            of,
            math.fsum(growth),
            n=n,
            places=asked.evidence("weather_day", places),
            band=f"{month:%B %Y}",
            method=f"Station {one.green['station']}. Growth potential of each day's mean, summed by month: "
            f"{curve_in_words(one)}.",
        )
