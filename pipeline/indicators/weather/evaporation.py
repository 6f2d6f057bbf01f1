"""Reference evaporation of each day: Penman–Monteith where the station measured enough, else Hargreaves."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.agronomy.evaporation import (
    clear_sky_radiation_mj_m2,
    daylight_hours,
    extraterrestrial_radiation_mj_m2,
    hargreaves_evaporation_mm,
    net_longwave_mj_m2,
    net_radiation_mj_m2,
    radiation_from_sunshine_mj_m2,
    reference_evaporation_mm,
    saturation_vapour_pressure_kpa,
    vapour_pressure_from_extremes_kpa,
    vapour_pressure_from_mean_kpa,
    wind_at_2_m_m_s,
)
from pipeline.common.words import counted, listed

SEA_LEVEL_M = 0.0
"""Height of a green where the register gives none: in FAO-56's example 18, 100 m less change the day by 0.3 %."""
WIND_HEIGHT_M = 10.0
"""Height of the anemometer where a day gives none, as the record says (`wind_height_m`)."""
PENMAN, HARGREAVES = "Penman–Monteith", "Hargreaves"
HOW = {PENMAN: "Penman–Monteith (FAO-56 equation 6, at {height})", HARGREAVES: "Hargreaves (FAO-56 equation 52)"}


def with_evaporation(days: pl.DataFrame) -> pl.DataFrame:
    """Days with ``evaporation_mm`` and ``evaporation_by``; null without a latitude or a range of temperature.

    Args:
        days: station days with ``mean_c``, and ``latitude_deg`` and ``elevation_m`` of the green, above sea level; no
            height is taken as sea level.
    """
    latitude_deg, height_m = pl.col("latitude_deg"), pl.col("elevation_m").fill_null(SEA_LEVEL_M)
    even = pl.col("tmax_c") >= pl.col("tmin_c")  # a day whose highest lies below its lowest says nothing
    day_of_year = pl.col("date").dt.ordinal_day().cast(pl.Float64)
    above = extraterrestrial_radiation_mj_m2(latitude_deg, day_of_year).alias("above")
    # A step at a time: as one expression, what each part is made from would be worked out again and again.
    steps = days.with_columns(above, daylight_hours(latitude_deg, day_of_year).alias("longest"), _vapour_kpa())
    lit = pl.when(pl.col("longest") > 0)  # where the sun stays down there is nothing to divide by
    sun = pl.when(pl.col("sun_h") > pl.col("longest")).then(pl.col("longest")).otherwise(pl.col("sun_h"))
    by_sun = lit.then(radiation_from_sunshine_mj_m2(sun, pl.col("longest"), pl.col("above")))
    steps = steps.with_columns(
        pl.coalesce("radiation_mj_m2", by_sun).alias("solar"),
        lit.then(clear_sky_radiation_mj_m2(height_m, pl.col("above"))).alias("clear"),
    ).with_columns(
        net_longwave_mj_m2(
            pl.col("tmax_c"), pl.col("tmin_c"), pl.col("vapour"), pl.col("solar"), pl.col("clear")
        ).alias("longwave")
    )
    by_temperature = hargreaves_evaporation_mm(pl.col("mean_c"), pl.col("tmax_c"), pl.col("tmin_c"), pl.col("above"))
    steps = steps.with_columns(
        pl.when(even).then(_penman(height_m)).alias("full"), pl.when(even).then(by_temperature).alias("short")
    )
    full = pl.when(pl.col("full") > 0).then(pl.col("full")).when(pl.col("full") <= 0).then(0.0)
    return (
        steps.with_columns(full.alias("full"))
        .with_columns(
            pl.coalesce("full", "short").alias("evaporation_mm"),
            pl.when(pl.col("full").is_not_null())
            .then(pl.lit(PENMAN))
            .when(pl.col("short").is_not_null())
            .then(pl.lit(HARGREAVES))
            .alias("evaporation_by"),
        )
        .drop("above", "longest", "vapour", "solar", "clear", "longwave", "full", "short")
    )


def _penman(height_m: pl.Expr) -> pl.Expr:
    """ETo of a day in mm at a height above sea level; null where humidity, wind, or sun and radiation are missing."""
    found: pl.Expr = reference_evaporation_mm(
        highest_c=pl.col("tmax_c"),
        lowest_c=pl.col("tmin_c"),
        vapour_pressure_kpa=pl.col("vapour"),
        wind_2_m_m_s=wind_at_2_m_m_s(pl.col("wind_m_s"), pl.col("wind_height_m").fill_null(WIND_HEIGHT_M)),
        net_radiation_mj_m2=net_radiation_mj_m2(pl.col("solar"), pl.col("longwave")),
        elevation_m=height_m,
    )
    return found


def _vapour_kpa() -> pl.Expr:
    """Vapour pressure by the best a day gives: humidity at both ends, dew point, mean humidity (FAO-56's order)."""
    highest, lowest = pl.col("tmax_c"), pl.col("tmin_c")
    ends = vapour_pressure_from_extremes_kpa(highest, lowest, pl.col("humidity_max_pct"), pl.col("humidity_min_pct"))
    dew = saturation_vapour_pressure_kpa(pl.col("dew_point_c"))
    mean = vapour_pressure_from_mean_kpa(highest, lowest, pl.col("humidity_pct"))
    return pl.coalesce(ends, dew, mean).alias("vapour")


def in_words(made: Sequence[str], elevation_m: float | None) -> str:
    """Which method made how many days, and at which height.

    Args:
        made: ``evaporation_by`` of the days that have any.
        elevation_m: the green's height above sea level.
    """
    height = "sea level" if elevation_m is None else f"{elevation_m:g} m"
    how = {name: words.format(height=height) for name, words in HOW.items()}
    used = [name for name in (PENMAN, HARGREAVES) if name in made]
    if len(used) == 1:
        return how[used[0]]
    return listed([f"{how[name]} on {counted(made.count(name), 'day')}" for name in used])
