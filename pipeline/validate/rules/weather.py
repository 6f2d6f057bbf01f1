"""Rules for weather: months that a place where grass grows cannot have, as figures in another unit make them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register

MONTH_TEMPERATURE = FaultKind(
    "weather.month_temperature",
    "Month with a mean temperature that the place cannot have",
    "The mean temperature of {month} at {station} comes to {value} °C, {where}.",
    "Look whether the figures are in °F, or two columns were taken for one another; if they are right, nothing need be "
    "done (bounds: common practice, no source).",
    severity="warning",
)
MONTH_RAIN = FaultKind(
    "weather.month_rain",
    "Month with more rain than the place can have",
    "The rain of {month} at {station} comes to {value} mm, more than {most} mm.",
    "Look whether the figures are in the unit declared; if they are right, nothing need be done (bound: common "
    "practice, no source).",
    severity="warning",
)
MONTH_WIND = FaultKind(
    "weather.month_wind",
    "Month with more wind than the place can have",
    "The mean wind of {month} at {station} comes to {value} m/s, more than {most} m/s.",
    "Look whether the figures are in mph, km/h or knots; if they are right, nothing need be done (bound: common "
    "practice, no source).",
    severity="warning",
)
YEAR_RAIN = FaultKind(
    "weather.year_rain",
    "Year with less rain than the place can have",
    "The rain of {year} at {station} comes to {value} mm, less than {least} mm.",
    "Look whether the figures are in inches or centimetres; if they are right, nothing need be done (bound: common "
    "practice, no source).",
    severity="warning",
)

COLDEST_C, WARMEST_C = -30.0, 35.0
"""Means of a month anywhere a green is kept (common practice, no source)."""
TEMPERATE_DEG, WARMEST_TEMPERATE_C = 40.0, 30.0
"""Latitude from which on no month is warmer than this on the mean (common practice, no source)."""
COLDEST_SUMMER_C = 3.0
"""Mean of a summer month under which grass does not grow (common practice, no source)."""
MOST_RAIN_MM, LEAST_RAIN_MM, MOST_WIND_M_S = 1500.0, 100.0, 12.0
"""Rain of a month, rain of a year, mean wind of a month (common practice, no source)."""
DAYS, MONTHS, YEAR_DAYS = 20, 12, 330
"""Days that make a month, and months or days that make a year, well enough for these bounds."""


def check_days(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Warnings of months and years whose days come to what the figures of another unit would."""
    return _check(records, register, DAYS, YEAR_DAYS)


def check_months(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Warnings of months, and of years of them, whose figures are what those of another unit would be."""
    return _check(records, register, 1, MONTHS)


def _check(records: pl.DataFrame, register: Register, in_month: int, in_year: int) -> pl.DataFrame:
    months = _over(records, pl.col("date").dt.truncate("1mo"), in_month)
    years = _over(records, pl.col("date").dt.truncate("1y"), in_year)
    latitudes = _latitudes(register)
    faults = [fault for month in months.iter_rows(named=True) for fault in _of_month(month, latitudes)]
    for year in years.filter(pl.col("rain_mm") < LEAST_RAIN_MM).iter_rows(named=True):
        facts = {"year": year["period"].year, "station": year["station"], "least": f"{LEAST_RAIN_MM:g}"}
        faults.append(YEAR_RAIN.at(year["line"], f"{year['rain_mm']:.1f}", "rain_mm", **facts))
    return concat(faults)


def _over(records: pl.DataFrame, period: pl.Expr, least: int) -> pl.DataFrame:
    """Mean temperature and wind and sum of rain by station and period, null where fewer records than ``least`` tell."""
    mean = pl.coalesce("tmean_c", (pl.col("tmax_c") + pl.col("tmin_c")) / 2, "tmax_c")

    def enough(values: pl.Expr, made: pl.Expr, name: str) -> pl.Expr:
        return pl.when(values.count() >= least).then(made).alias(name)

    return (
        records.with_columns(mean.alias("mean_c"), period.alias("period"))
        .group_by("station", "period", maintain_order=True)
        .agg(
            pl.col("line").min(),
            enough(pl.col("mean_c"), pl.col("mean_c").mean(), "mean_c"),
            enough(pl.col("rain_mm"), pl.col("rain_mm").sum(), "rain_mm"),
            enough(pl.col("wind_m_s"), pl.col("wind_m_s").mean(), "wind_m_s"),
        )
    )


def _of_month(month: dict[str, Any], latitudes: dict[str, float]) -> Iterator[pl.DataFrame]:
    line, station, period, mean = (month[name] for name in ("line", "station", "period", "mean_c"))
    facts = {"station": station, "month": f"{period:%B %Y}"}
    if mean is not None and (where := _odd_mean(mean, period.month, latitudes.get(station))):
        yield MONTH_TEMPERATURE.at(line, f"{mean:.1f}", "tmax_c", where=where, **facts)
    for fault, name, most in ((MONTH_RAIN, "rain_mm", MOST_RAIN_MM), (MONTH_WIND, "wind_m_s", MOST_WIND_M_S)):
        if month[name] is not None and month[name] > most:
            yield fault.at(line, f"{month[name]:.1f}", name, most=f"{most:g}", **facts)


def _odd_mean(mean: float, month: int, latitude: float | None) -> str:
    """What is odd in a month's mean temperature (°C), "" where nothing is."""
    if mean < COLDEST_C:
        return f"colder than {COLDEST_C:g} °C"
    warmest = WARMEST_C if latitude is None or abs(latitude) < TEMPERATE_DEG else WARMEST_TEMPERATE_C
    if mean > warmest:
        at = f" at {abs(latitude):.0f} degrees of latitude" if latitude is not None else ""
        return f"warmer than {warmest:g} °C{at}"
    summer = {6, 7, 8} if (latitude or 0) > 0 else {12, 1, 2}
    if latitude is not None and month in summer and mean < COLDEST_SUMMER_C:
        return f"in summer, and colder than {COLDEST_SUMMER_C:g} °C"
    return ""


def _latitudes(register: Register) -> dict[str, float]:
    """Latitude of the greens of each station, degrees, south negative."""
    known = register.greens.filter(pl.col("station").is_not_null() & pl.col("latitude_deg").is_not_null())
    return dict(known.group_by("station", maintain_order=True).agg(pl.col("latitude_deg").mean()).iter_rows())
