"""Water of the season: what came against what the turf gave off, and disease weather. Information, no instruction."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.agronomy.weather import Grass, dollar_spot_probability, irrigation_need_mm, turf_evaporation_mm
from pipeline.common.words import counted
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords, evidence
from pipeline.indicators.weather import evaporation
from pipeline.indicators.weather.growth import BY_MONTH, grass_of

TURF_COEFFICIENT: dict[Grass, float] = {"cool_season": 0.95, "warm_season": 0.85}
"""Crop coefficient of turf, FAO-56 table 12, middle of the season (from memory)."""
DOLLAR_SPOT_DAYS = 5
"""Days whose mean temperature and humidity the model takes (Smith et al. 2018)."""
DOLLAR_SPOT_SHARE = 0.2
"""Probability from which a day is counted: the threshold tested by Smith et al. 2018."""

BALANCE = Description(
    "water_balance_mm", "Rain and watering less evaporation of the turf", "mm", "water",
    "Whether more water came than the turf gave off; what ran off or drained is not known.",
    "Rain + logged watering − coefficient × reference evaporation (method_options.crop_coefficient; FAO-56 table 12).",
    decimals=0, formulas=(turf_evaporation_mm,),
)  # fmt: skip
NEED = Description(
    "irrigation_need_mm", "Water the turf gave off beyond the rain", "mm", "water",
    "What watering would have had to bring, month by month; information. Logged watering is not taken off.",
    "Each month max(0, turf evaporation − share × rain) ÷ efficiency (method_options.rain_share, "
    "method_options.irrigation_efficiency), summed.", decimals=0, formulas=(turf_evaporation_mm, irrigation_need_mm),
    accumulates=True,
)  # fmt: skip
DOLLAR_SPOT = Description(
    "dollar_spot_days", "Days of dollar-spot weather", "days", "water",
    "Days on which a published US model gives dollar spot a chance of 20 % or more; information only.",
    "Smith et al. 2018, from means of five days of temperature (10 to 35 °C) and humidity.",
    decimals=0, formulas=(dollar_spot_probability,), accumulates=True,
)  # fmt: skip


def watered(records: GreenRecords) -> pl.DataFrame:
    """Watering of the log with ``mm`` over the whole green, null where a job does not say how much (grain: job).

    1 l/m² is 1 mm.
    """
    depth = pl.coalesce(pl.col("rate_ml_m2") / 1000, pl.col("volume_l") / pl.col("over_m2")) * pl.col("share")
    return records.jobs.filter(pl.col("operation") == "irrigation").with_columns(depth.alias("mm"))


def water(records: GreenRecords, days: pl.DataFrame, station: str) -> Iterator[Indicator]:
    """Water balance and irrigation need of the days that give both rain and evaporation (grain: indicator)."""
    known = days.drop_nulls(["rain_mm", "evaporation_mm"])
    if not known.height:
        return
    jobs = records.in_season(watered(records))
    counted_jobs = jobs.drop_nulls("mm")
    chosen = records.options.crop_coefficient
    coefficient = TURF_COEFFICIENT[grass_of(records)] if chosen == "by_grass" else float(chosen)
    given = turf_evaporation_mm(float(known["evaporation_mm"].sum()), coefficient)
    gap, unknown = days_without(records, known, "both figures"), jobs.height - counted_jobs.height
    unsaid = f"{counted(unknown, 'watering')} not counted: the log does not say how much." if unknown else ""
    made = evaporation.in_words(known, records.green["elevation_m"])
    turf = f"turf evaporation {coefficient:g} × reference evaporation, {made}"
    yield BALANCE.figure(
        float(known["rain_mm"].sum()) + float(counted_jobs["mm"].sum()) - given,
        known,
        method=f"{station}. Rain and logged watering less {turf}; days with both figures.",
        note=" ".join(filter(None, (gap, unsaid))),
        places=(*evidence(known, "weather_day"), *evidence(counted_jobs, "job")),
    )
    # Each month for itself, so that winter rain does not stand for summer's.
    share, efficiency = records.options.rain_share, records.options.irrigation_efficiency
    months = known.group_by(BY_MONTH, maintain_order=True).agg(pl.col("rain_mm", "evaporation_mm").sum())
    lost = turf_evaporation_mm(pl.col("evaporation_mm"), coefficient)
    need = months.select(irrigation_need_mm(lost, pl.col("rain_mm"), share, efficiency).sum()).item()
    yield NEED.figure(
        float(need),
        known,
        "weather_day",
        method=f"{station}. By month: {turf}, less {share:g} × rain, never below 0, over an efficiency of "
        f"{efficiency:g}; summed. Logged watering is not taken off.",
        note=gap,
    )


def days_without(records: GreenRecords, known: pl.DataFrame, what: str) -> str:
    """How many days of the season are not among these: a sum over a gap is too small; "" where all are."""
    wanted = (records.as_of - records.season.start).days + 1
    gap = wanted - known["date"].n_unique()
    return f"{counted(gap, 'day')} of {wanted} without {what}." if gap > 0 else ""


def dollar_spot(days: pl.DataFrame, station: str) -> Iterator[Indicator]:
    """Days of dollar-spot weather by the published model: information (grain: indicator)."""
    humidity = pl.coalesce("humidity_pct", (pl.col("humidity_max_pct") + pl.col("humidity_min_pct")) / 2)
    given = days.with_columns(humidity.alias("rh")).drop_nulls(["rh", "mean_c"])
    means = (
        given.sort("date", maintain_order=True)
        .rolling("date", period=f"{DOLLAR_SPOT_DAYS}d")
        .agg(pl.col("mean_c").mean(), pl.col("rh").mean(), pl.len().alias("days"))
        .filter(pl.col("days") == DOLLAR_SPOT_DAYS)
        .with_columns(dollar_spot_probability(pl.col("mean_c"), pl.col("rh")).alias("chance"))
    )
    if means.height:
        yield DOLLAR_SPOT.figure(
            float(means.filter(pl.col("chance") >= DOLLAR_SPOT_SHARE).height),
            given,
            "weather_day",
            n=means.height,
            method=f"{station}. Days whose probability by Smith et al. 2018 is {100 * DOLLAR_SPOT_SHARE:g} % or more, "
            f"from means of {DOLLAR_SPOT_DAYS} days of temperature (10 to 35 °C) and humidity; made in the US, "
            "information only.",
        )
