"""Weather of the green's station: rain, frost, warmth and evaporation of the season, and the day beside each job."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date

import polars as pl

from pipeline.agronomy.evaporation import (
    extraterrestrial_radiation_mj_m2,
    hargreaves_evaporation_mm,
    reference_evaporation_mm,
)
from pipeline.agronomy.weather import growing_degree_days, growth_potential
from pipeline.common.amounts import Amount, AmountText, joined, span
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.weather import evaporation, growth, water

RAIN = Description(
    "rain_mm", "Rain", "mm", "weather", "Rain of the season at the green's station.", "Sum of the days.", decimals=0,
    accumulates=True,
)  # fmt: skip
FROST = Description(
    "frost_days", "Days with air frost", "days", "weather", "Days whose lowest air temperature is below 0 °C.",
    "Count of days.", decimals=0, accumulates=True,
)  # fmt: skip
DEGREE_DAYS = Description(
    "degree_days_c", "Degree days", "°C d", "weather",
    "Warmth above a base (method_options.degree_day_base_c; 6 °C is common practice, no source).",
    "Mean of highest and lowest less the base, never below 0, summed.", decimals=0, formulas=(growing_degree_days,),
    accumulates=True,
)  # fmt: skip
GROWTH = Description(
    "growth_days", "Days of full growth by temperature", "days", "weather",
    "Growth potential summed; information, not a requirement.",
    "exp(−½((t − t₀)/v)²) of each day's mean; curve and grass by method_options.growth_curve and "
    "method_options.growth_grass.",
    decimals=0, formulas=(growth_potential,), accumulates=True,
)  # fmt: skip
EVAPORATION = Description(
    "evaporation_mm", "Reference evaporation", "mm", "weather", "Water the air could take up.",
    "Penman–Monteith (FAO-56 equation 6) on days with humidity or dew point, wind, and sun or radiation; Hargreaves "
    "(equation 52) on the others. Needs the green's latitude; without its height it is taken to lie at sea level.",
    decimals=0, accumulates=True,
    formulas=(extraterrestrial_radiation_mj_m2, reference_evaporation_mm, hargreaves_evaporation_mm),
)  # fmt: skip


def daily(asked: Asked) -> pl.DataFrame:
    """Days of the seasons as :func:`computed` (grain: day)."""
    return computed(asked, asked.of_season("weather_day"))


def computed(asked: Asked, days: pl.DataFrame) -> pl.DataFrame:
    """Days with what is computed from them (grain: day).

    Adds ``mean_c`` (the station's own, else the middle of highest and lowest), ``growth`` (0 to 1), ``degree_days_c``,
    ``evaporation_mm`` and ``evaporation_by``.
    """
    even = pl.col("tmax_c") >= pl.col("tmin_c")  # a day whose highest lies below its lowest says nothing
    mean = pl.coalesce("tmean_c", (pl.col("tmax_c") + pl.col("tmin_c")) / 2)
    base = asked.options.degree_day_base_c
    warm = [of for of, one in asked.each.items() if growth.grass_of(one) == "warm_season"]
    where = asked.seasons.select("of", pl.col("latitude_deg", "elevation_m").cast(pl.Float64))
    days = days.with_columns(mean.alias("mean_c")).with_columns(
        growth.potential(asked.options, pl.col("mean_c"), pl.col("of").is_in(warm)).alias("growth"),
        pl.when(even).then(growing_degree_days(pl.col("tmax_c"), pl.col("tmin_c"), base)).alias("degree_days_c"),
    )
    placed = days.join(where, on="of", how="left", maintain_order="left")
    return evaporation.with_evaporation(placed).drop("latitude_deg", "elevation_m")


def weather(asked: Asked) -> Iterator[Indicator]:
    """Rain, frosts, degree days, growth, evaporation, water and disease weather of the seasons (grain: indicator)."""
    days = asked.once(daily).with_columns((pl.col("tmin_c") < 0).alias("frost"))
    yield from _summed(asked, days)
    yield from water.water(asked, days)
    yield from water.dollar_spot(asked, days)
    yield from growth.by_month(asked, days)


def _summed(asked: Asked, days: pl.DataFrame) -> Iterator[Indicator]:
    """What is summed over the days of a season that give it."""
    base = asked.options.degree_day_base_c
    told = (
        (RAIN, "rain_mm", "Sum of the station's days."),
        (FROST, "frost", "Days whose lowest air temperature lies below 0 °C."),
        (DEGREE_DAYS, "degree_days_c", f"Mean of highest and lowest above {base:g} °C, summed over the days."),
        (GROWTH, "growth", "Growth potential of each day's mean, summed: {curve}; information, not a requirement."),
        (EVAPORATION, "evaporation_mm", "{by}, from what the station measured and the green's latitude."),
    )
    columns = [column for _, column, _ in told]
    sums = days.group_by("of", maintain_order=True).agg(
        pl.col(columns).drop_nulls(),
        pl.col("evaporation_by").drop_nulls(),
        *(pl.col("origin").filter(pl.col(column).is_not_null()).alias(f"{column} places") for column in columns),
        *(pl.col("date").filter(pl.col(column).is_not_null()).n_unique().alias(f"{column} days") for column in columns),
    )
    for row in sums.iter_rows(named=True):
        one = asked.each[row["of"]]
        words = {"curve": growth.curve_in_words(one)}
        words["by"] = evaporation.in_words(row["evaporation_by"], one.green["elevation_m"])
        for what, column, how in told:
            if values := row[column]:
                yield what.at(
                    row["of"],
                    math.fsum(values),
                    n=len(values),
                    places=asked.evidence("weather_day", row[f"{column} places"]),
                    note=water.days_without(one, row[f"{column} days"], "a figure; the true sum is larger"),
                    method=f"Station {one.green['station']}. {how.format(**words)}",
                )


def in_words(records: GreenRecords) -> dict[date, str]:
    """The weather of each day in a few words, to stand beside the jobs of that day."""
    found: dict[date, str] = {}
    for row in records.in_season(records.weather).iter_rows(named=True):
        parts: list[str] = []
        if row["tmin_c"] is not None and row["tmax_c"] is not None:
            parts.append(span(row["tmin_c"], row["tmax_c"], "°C", ".0f"))
        if row["rain_mm"] is not None:
            parts.append(AmountText("rain ", Amount(row["rain_mm"], "mm")) if row["rain_mm"] else "no rain")
        if row["wind_m_s"] is not None:
            parts.append(AmountText("wind ", Amount(row["wind_m_s"], "m/s")))
        if parts:
            found[row["date"]] = joined(", ", parts)
    return found


FAMILY = Family(
    (RAIN, FROST, DEGREE_DAYS, GROWTH, EVAPORATION, water.BALANCE, water.NEED, water.DOLLAR_SPOT, growth.MONTH),
    weather,
)
