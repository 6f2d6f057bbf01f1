"""Cautions about the weather around works: frost, heat, drought, heavy rain; none without a figure of the day."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import long_date
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Caution, Evidence
from pipeline.indicators.base.records import evidence
from pipeline.indicators.cautions.exposure import OPENING
from pipeline.indicators.cautions.materials import feeds
from pipeline.indicators.cautions.trigger import COMMON, caution
from pipeline.indicators.weather import water, weather

FROST_C = 0.0
"""A lowest air temperature below this is a frost day (climate index FD, WMO expert team on climate indices, ETCCDI)."""
HEAT_C = 25.0
"""A highest air temperature above this is a summer day (climate index SU, ETCCDI). That works strain a sward from there
on: common practice, no source."""
HEAVY_RAIN_MM = 10.0
"""Rain of a day from this on is heavy (climate index R10mm, ETCCDI)."""
DROUGHT_DAYS = 28
"""Days before a work whose rain and watering are held against evaporation: common practice, no source."""
DROUGHT_SHARE = 0.25
"""Drought: rain and watering below this share of reference evaporation (common practice, no source) ..."""
DROUGHT_SHORT_MM = 50.0
"""... and at least so many mm short of it, which a dry winter month is not (common practice, no source)."""

TRAFFIC = (*OPENING, "mowing", "rolling", "brushing", "dew_removal", "drag_matting", "top_dressing")
"""Works that put wheels, rollers or feet all over the green."""
FRESH = (*OPENING, "top_dressing", "overseeding", "turfing", "levelling")
"""Works that leave the ground open, loose or dressed."""


def frost(records: GreenRecords) -> Caution | None:
    """Traffic on a day with air frost; ground freshly opened on that day or the day before it."""
    done = _beside(records, records.in_season(records.jobs), "tmin_c")
    on_day = pl.col("operation").is_in(TRAFFIC) & (pl.col("tmin_c") < FROST_C)
    after = pl.col("operation").is_in(FRESH) & (pl.min_horizontal("tmin_c", "tmin_c_after") < FROST_C)
    rows = done.filter(on_day | after)
    if not rows.height:
        return None
    text = (
        "Frost: keep machines, rollers and feet off a frozen sward until it thaws; ground just opened may lift. This "
        "is the station's air temperature, not the green's."
    )
    lowest = _least(rows.select(pl.min_horizontal("tmin_c", "tmin_c_after")).to_series())
    source = "NC State Extension AG-763W; frost day, below 0 °C: climate index FD"
    said = AmountText("lowest ", Amount(lowest, "°C", ".1f"), ", that day or the next")
    brief = "Frost (station's air): keep machines, rollers and feet off until it thaws; opened ground may lift."
    return caution(text, source, rows, said, _days(records, rows, 0, 1), brief=brief, by="NC State AG-763W")


def heat(records: GreenRecords) -> Caution | None:
    """Ground opened, loosened or dressed on a day above the threshold."""
    done = _beside(records, records.in_season(records.jobs), "tmax_c")
    rows = done.filter(pl.col("operation").is_in(FRESH) & (pl.col("tmax_c") > HEAT_C))
    if not rows.height:
        return None
    text = AmountText(
        "Heat: opening or covering the sward above ",
        Amount(HEAT_C, "°C"),
        " strains it. Put off what can wait, work early, have water at hand.",
    )
    hottest = -_least(-rows["tmax_c"])
    source = f"{COMMON}; summer day above 25 °C: climate index SU"
    brief = AmountText(
        "Heat above ", Amount(HEAT_C, "°C"), ": put off opening or covering the sward, or do it early, water at hand."
    )
    said = AmountText("highest ", Amount(hottest, "°C", ".1f"))
    return caution(text, source, rows, said, _days(records, rows, 0, 0), brief=brief, by=COMMON)


def rain(records: GreenRecords) -> Caution | None:
    """A feed with heavy rain on its day or the next."""
    done = _beside(records, feeds(records), "rain_mm")
    most = pl.max_horizontal("rain_mm", "rain_mm_after")
    rows = done.filter(most >= HEAVY_RAIN_MM)
    if not rows.height:
        return None
    text = AmountText(
        "Heavy rain washes a feed off or down: ",
        Amount(HEAVY_RAIN_MM, "mm"),
        " or more fell on the day or the day after. In nitrate vulnerable zones none should be spread while heavy rain "
        "falls or is forecast within 48 hours.",
    )
    wettest = -_least(-rows.select(most).to_series())
    source = "Defra, nitrate vulnerable zones, leaflet 9; heavy: 10 mm a day, climate index R10mm"
    brief = "Heavy rain washes feed off: in nitrate zones none while it falls or is forecast within 48 hours."
    said = AmountText("up to ", Amount(wettest, "mm", ".0f"), " in a day")
    return caution(text, source, rows, said, _days(records, rows, 0, 1), brief=brief, by="Defra leaflet 9")


def drought(records: GreenRecords) -> Caution | None:
    """Ground opened, loosened or dressed after weeks far drier than the air could take up.

    Every day of those weeks needs rain and evaporation, and every watering in them an amount; else nothing is said.
    """
    jobs = records.in_season(records.jobs).filter(pl.col("operation").is_in(FRESH))
    if not jobs.height or not records.weather.height:
        return None
    dates = jobs["date"].unique().sort()
    alone = Asked.about([records])
    days, watered = weather.computed(alone, alone.weather), water.watered(records.jobs)
    short = pl.DataFrame(
        [(day, *balance) for day in dates if (balance := _water_balance(days, watered, day)) is not None],
        schema={"date": pl.Date, "came_mm": pl.Float64, "evaporation_mm": pl.Float64},
        orient="row",
    )
    gap = pl.col("evaporation_mm") - pl.col("came_mm")
    short = short.filter((pl.col("came_mm") < DROUGHT_SHARE * pl.col("evaporation_mm")) & (gap >= DROUGHT_SHORT_MM))
    if not short.height:
        return None
    day, came, could = short.sort(gap, "date", maintain_order=True).row(-1)
    text = AmountText(
        "Drought: ",
        Amount(came, "mm", ".0f"),
        f" of rain and logged watering in the {DROUGHT_DAYS} days before {long_date(day)}, against ",
        Amount(could, "mm", ".0f"),
        " of reference evaporation. A dry sward recovers slowly from being opened or covered; local limits on watering "
        "may hold.",
    )
    rows = jobs.filter(pl.col("date").is_in(short["date"].implode()))
    source = "evaporation: FAO-56 equation 6 or 52; when it is a drought: common practice, no source"
    beside = _days(records, rows, -DROUGHT_DAYS, -1)
    brief = "Drought: opened or covered, a dry sward recovers slowly; local limits on watering may hold."
    return caution(text, source, rows, beside=beside, sort="drought", degree=could - came, brief=brief, by="FAO-56")


def _water_balance(weather_days: pl.DataFrame, watered: pl.DataFrame, day: date) -> tuple[float, float] | None:
    """Rain and watering, and reference evaporation, of the days before one, mm; None where any figure is missing."""
    first = day - timedelta(days=DROUGHT_DAYS)
    before = pl.col("date").is_between(first, day - timedelta(days=1))
    days = weather_days.filter(before)
    if days.height < DROUGHT_DAYS or days["rain_mm"].null_count() or days["evaporation_mm"].null_count():
        return None
    came = watered.filter(before)["mm"]
    if came.null_count():
        return None
    return float(days["rain_mm"].sum()) + float(came.sum()), float(days["evaporation_mm"].sum())


def _beside(records: GreenRecords, jobs: pl.DataFrame, column: str) -> pl.DataFrame:
    """The jobs with a figure of their day, and with that of the day after as ``<column>_after``."""
    days = records.weather.select("date", column)
    after = days.select(pl.col("date").dt.offset_by("-1d"), pl.col(column).alias(f"{column}_after"))
    return jobs.join(days, on="date", how="left", maintain_order="left").join(
        after, on="date", how="left", maintain_order="left"
    )


def _least(values: pl.Series) -> float:
    least = values.min()
    assert isinstance(least, float)
    return least


def _days(records: GreenRecords, rows: pl.DataFrame, first: int, last: int) -> tuple[Evidence, ...]:
    """The lines of the weather behind a caution: so many days from each work to so many."""
    wanted = {day + timedelta(days=n) for day in rows["date"] for n in range(first, last + 1)}
    return evidence(records.weather.filter(pl.col("date").is_in(list(wanted))), "weather_day")
