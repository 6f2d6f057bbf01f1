"""Water of the season: what came against what the turf gave off, and disease weather. Information, no instruction."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import polars as pl

from pipeline.agronomy.weather import Grass, dollar_spot_probability, irrigation_need_mm, turf_evaporation_mm
from pipeline.common.words import counted
from pipeline.indicators.base.asked import BEHIND, Asked
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
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


def watered(jobs: pl.DataFrame) -> pl.DataFrame:
    """Watering of the log with ``mm`` over the whole green, null where a job does not say how much (grain: job).

    1 l/m² is 1 mm.
    """
    depth = pl.coalesce(pl.col("rate_ml_m2") / 1000, pl.col("volume_l") / pl.col("over_m2")) * pl.col("share")
    return jobs.filter(pl.col("operation") == "irrigation").with_columns(depth.alias("mm"))


def water(asked: Asked, days: pl.DataFrame) -> Iterator[Indicator]:
    """Water balance and irrigation need of the days that give both rain and evaporation (grain: indicator)."""
    known = days.drop_nulls(["rain_mm", "evaporation_mm"])
    season = known.group_by("of", maintain_order=True).agg(
        *BEHIND, "rain_mm", "evaporation_mm", "evaporation_by", pl.col("date").n_unique().alias("days")
    )
    jobs = watered(asked.in_season(asked.jobs)).group_by("of", maintain_order=True)
    came = jobs.agg(
        pl.len().alias("waterings"), pl.col("mm").drop_nulls(), pl.col("origin").filter(pl.col("mm").is_not_null())
    )
    # Each month for itself, so that winter rain does not stand for summer's.
    months: dict[int, list[tuple[float, float]]] = {}
    by_month = known.group_by("of", BY_MONTH, maintain_order=True).agg("rain_mm", "evaporation_mm")
    for of, _, rain, given_off in by_month.iter_rows():
        months.setdefault(of, []).append((math.fsum(rain), math.fsum(given_off)))
    for row in season.join(came, on="of", how="left", maintain_order="left").iter_rows(named=True):
        yield from _of_season(asked, row, months[row["of"]])


def _of_season(asked: Asked, row: dict[str, Any], months: list[tuple[float, float]]) -> Iterator[Indicator]:
    """Water balance and irrigation need of one season; ``months`` are the sums of rain and evaporation of each."""
    of, options = row["of"], asked.options
    one, places = asked.each[of], asked.evidence("weather_day", row["places"])
    chosen = options.crop_coefficient
    coefficient = TURF_COEFFICIENT[grass_of(one)] if chosen == "by_grass" else float(chosen)
    mm: list[float] = row["mm"] or []
    unknown = (row["waterings"] or 0) - len(mm)
    gap = days_without(one, row["days"], "both figures")
    unsaid = f"{counted(unknown, 'watering')} not counted: the log does not say how much." if unknown else ""
    station, made = (
        f"Station {one.green['station']}",
        evaporation.in_words(row["evaporation_by"], one.green["elevation_m"]),
    )
    turf = f"turf evaporation {coefficient:g} × reference evaporation, {made}"
    given_off = turf_evaporation_mm(math.fsum(row["evaporation_mm"]), coefficient)
    yield BALANCE.at(
        of,
        math.fsum([*row["rain_mm"], *mm]) - given_off,
        n=row["n"],
        places=(*places, *asked.evidence("job", row["origin"] or [])),
        method=f"{station}. Rain and logged watering less {turf}; days with both figures.",
        note=" ".join(filter(None, (gap, unsaid))),
    )
    share, efficiency = options.rain_share, options.irrigation_efficiency
    needs = [
        irrigation_need_mm(turf_evaporation_mm(lost, coefficient), rain, share, efficiency) for rain, lost in months
    ]
    yield NEED.at(
        of,
        math.fsum(needs),
        n=row["n"],
        places=places,
        method=f"{station}. By month: {turf}, less {share:g} × rain, never below 0, over an efficiency of "
        f"{efficiency:g}; summed. Logged watering is not taken off.",
        note=gap,
    )


def days_without(records: GreenRecords, known: int, what: str) -> str:
    """How many days of the season are not among so many: a sum over a gap is too small; "" where all are."""
    wanted = (records.as_of - records.season.start).days + 1
    gap = wanted - known
    return f"{counted(gap, 'day')} of {wanted} without {what}." if gap > 0 else ""


def dollar_spot(asked: Asked, days: pl.DataFrame) -> Iterator[Indicator]:
    """Days of dollar-spot weather by the published model: information (grain: indicator)."""
    humidity = pl.coalesce("humidity_pct", (pl.col("humidity_max_pct") + pl.col("humidity_min_pct")) / 2)
    given = days.with_columns(humidity.alias("rh")).drop_nulls(["rh", "mean_c"])
    means = (
        given.sort("of", "date", maintain_order=True)
        .rolling("date", period=f"{DOLLAR_SPOT_DAYS}d", group_by="of")
        .agg(pl.col("mean_c").mean(), pl.col("rh").mean(), pl.len().alias("days"))
        .filter(pl.col("days") == DOLLAR_SPOT_DAYS)
        .with_columns(dollar_spot_probability(pl.col("mean_c"), pl.col("rh")).alias("chance"))
    )
    likely = (pl.col("chance") >= DOLLAR_SPOT_SHARE).sum().alias("likely")
    found = means.group_by("of", maintain_order=True).agg(pl.len().alias("n"), likely)
    behind = given.group_by("of", maintain_order=True).agg("origin")
    for of, n, number, places in found.join(behind, on="of", how="left", maintain_order="left").iter_rows():
        yield DOLLAR_SPOT.at(
            of,
            float(number),
            n=n,
            places=asked.evidence("weather_day", places),
            method=f"Station {asked.each[of].green['station']}. Days whose probability by Smith et al. 2018 is "
            f"{100 * DOLLAR_SPOT_SHARE:g} % or more, from means of {DOLLAR_SPOT_DAYS} days of temperature (10 to 35 "
            "°C) and humidity; made in the US, information only.",
        )
