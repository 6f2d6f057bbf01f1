"""Water of the season: what came against what the turf gave off, and disease weather. Information, no instruction."""

from __future__ import annotations

import polars as pl

from pipeline.agronomy.weather import Grass, dollar_spot_probability, irrigation_need_mm, turf_evaporation_mm
from pipeline.common.words import counted
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import GreenRecords
from pipeline.indicators.base.standing import evidence
from pipeline.indicators.weather import evaporation
from pipeline.indicators.weather.growth import grass_of

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
)  # fmt: skip
DOLLAR_SPOT = Description(
    "dollar_spot_days", "Days of dollar-spot weather", "days", "water",
    "Days on which a published US model gives dollar spot a chance of 20 % or more; information only.",
    "Smith et al. 2018, from means of five days of temperature (10 to 35 °C) and humidity.",
    decimals=0, formulas=(dollar_spot_probability,),
)  # fmt: skip


def watered(records: GreenRecords) -> pl.DataFrame:
    """Watering of the log with ``mm`` over the whole green, null where a job does not say how much (grain: job).

    1 l/m² is 1 mm.
    """
    depth = pl.coalesce(pl.col("rate_ml_m2") / 1000, pl.col("volume_l") / pl.col("over_m2")) * pl.col("share")
    return records.jobs.filter(pl.col("operation") == "irrigation").with_columns(depth.alias("mm"))


def water(records: GreenRecords, days: pl.DataFrame, station: str) -> list[Indicator]:
    """Water balance and irrigation need of the days that give both rain and evaporation (grain: indicator)."""
    known = days.filter(pl.col("rain_mm").is_not_null() & pl.col("evaporation_mm").is_not_null())
    if not known.height:
        return []
    jobs = records.in_season(watered(records))
    counted_jobs = jobs.filter(pl.col("mm").is_not_null())
    coefficient = _coefficient(records)
    given = turf_evaporation_mm(float(known["evaporation_mm"].sum()), coefficient)
    turf = f"turf evaporation {coefficient:g} × reference evaporation, {evaporation.in_words(known)}"
    base = BALANCE.figure(
        float(known["rain_mm"].sum()) + float(counted_jobs["mm"].sum()) - given,
        known.height,
        method=f"{station}. Rain and logged watering less {turf}; days with both figures.",
        note=_gaps(records, known, jobs.height - counted_jobs.height),
        evidence=(*evidence(known, "weather_day"), *evidence(counted_jobs, "job")),
    )
    return [base, _need(records, known, base, turf)]


def _coefficient(records: GreenRecords) -> float:
    chosen = records.options.crop_coefficient
    return TURF_COEFFICIENT[grass_of(records)] if chosen == "by_grass" else float(chosen)


def _need(records: GreenRecords, known: pl.DataFrame, base: Indicator, turf: str) -> Indicator:
    """Each month for itself, so that winter rain does not stand for summer's."""
    share, efficiency = records.options.rain_share, records.options.irrigation_efficiency
    months = known.group_by(pl.col("date").dt.truncate("1mo").alias("month"), maintain_order=True).agg(
        pl.col("rain_mm").sum(), pl.col("evaporation_mm").sum()
    )
    lost = turf_evaporation_mm(pl.col("evaporation_mm"), _coefficient(records))
    need = months.select(irrigation_need_mm(lost, pl.col("rain_mm"), share, efficiency).sum()).item()
    return NEED.figure(
        float(need),
        known.height,
        method=(
            f"{base.method.partition('.')[0]}. By month: {turf}, less {share:g} × rain, never below 0, over an "
            f"efficiency of {efficiency:g}; summed. Logged watering is not taken off."
        ),
        note=_gaps(records, known, 0),
        evidence=evidence(known, "weather_day"),
    )


def _gaps(records: GreenRecords, known: pl.DataFrame, unsaid: int) -> str:
    wanted = (records.as_of - records.season.start).days + 1
    gap = wanted - known["date"].n_unique()
    parts = [f"{counted(gap, 'day')} of {wanted} without both figures."] if gap > 0 else []
    if unsaid:
        parts.append(f"{counted(unsaid, 'watering')} not counted: the log does not say how much.")
    return " ".join(parts)


def dollar_spot(days: pl.DataFrame, station: str) -> list[Indicator]:
    """Days of dollar-spot weather by the published model: information (grain: indicator)."""
    humidity = pl.coalesce("humidity_pct", (pl.col("humidity_max_pct") + pl.col("humidity_min_pct")) / 2)
    given = days.with_columns(humidity.alias("rh")).filter(pl.col("rh").is_not_null() & pl.col("mean_c").is_not_null())
    if not given.height:
        return []
    means = (
        given.sort("date", maintain_order=True)
        .rolling("date", period=f"{DOLLAR_SPOT_DAYS}d")
        .agg(pl.col("mean_c").mean(), pl.col("rh").mean(), pl.len().alias("days"))
        .filter(pl.col("days") == DOLLAR_SPOT_DAYS)
        .with_columns(dollar_spot_probability(pl.col("mean_c"), pl.col("rh")).alias("chance"))
    )
    if not means.height:
        return []
    return [
        DOLLAR_SPOT.figure(
            float(means.filter(pl.col("chance") >= DOLLAR_SPOT_SHARE).height),
            means.height,
            method=(
                f"{station}. Days whose probability by Smith et al. 2018 is {100 * DOLLAR_SPOT_SHARE:g} % or more, "
                f"from means of {DOLLAR_SPOT_DAYS} days of temperature (10 to 35 °C) and humidity; made in the US, "
                "information only."
            ),
            evidence=evidence(given, "weather_day"),
        )
    ]
