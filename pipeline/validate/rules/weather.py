"""Rules for weather: months that a place where grass grows cannot have, as figures in another unit make them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import polars as pl

from pipeline.agronomy.evaporation import daylight_hours, extraterrestrial_radiation_mj_m2
from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register
from pipeline.validate.rules import weather_days

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
MONTH_RADIATION = FaultKind(
    "weather.month_radiation",
    "Month with more or less radiation than the sky lets through",
    "The radiation of {month} at {station} comes to {value} MJ/m² a day, {where}.",
    "Look whether the figures are in J/cm², kWh/m² or W/m²; if they are right, nothing need be done (FAO-56, equations "
    "21, 35 and 37).",
    severity="warning",
)
MONTH_SUN = FaultKind(
    "weather.month_sun",
    "Month with more sunshine than daylight",
    "The sunshine of {month} at {station} comes to {value} hours a day, more than the {most} hours that the sun is up "
    "at {latitude} degrees of latitude.",
    "Look whether the figures are in minutes or tenths of an hour (FAO-56, equation 34).",
    severity="warning",
)
MONTH_HUMIDITY = FaultKind(
    "weather.month_humidity",
    "Month drier than a place where grass grows",
    "The mean humidity of {month} at {station} comes to {value} %, less than {least} %.",
    "Look whether the figures are fractions of 1, or another column was taken for humidity (RH is rain to some "
    "services); if they are right, nothing need be done (bound: common practice, no source).",
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
SUNLESS_C, BY_RADIATION_C = 8.0, 0.95
"""What a month's mean is at most, °C: so much where the sun stays down, warmed by the sea alone, and so much more for
each MJ/m² a day above the atmosphere (common practice, no source; held against open station data in tests/outside)."""
COLDEST_SUMMER_C = 3.0
"""Mean of a summer month under which grass does not grow (common practice, no source)."""
MOST_RAIN_MM, LEAST_RAIN_MM, MOST_WIND_M_S = 1500.0, 100.0, 12.0
"""Rain of a month, rain of a year, mean wind of a month (common practice, no source)."""
LEAST_HUMIDITY_PCT = 25.0
"""Mean relative humidity of a month (common practice, no source)."""
CLEAR_SKY, HALF_OVERCAST = 0.80, 0.12
"""Share of the radiation above the atmosphere: of a clear sky at 2500 m (FAO-56 eq. 37), and half of the 0.25 that a
sky overcast all day lets through (FAO-56 eq. 35)."""
LOW_SUN_MJ_M2 = 2.0
"""Radiation above the atmosphere under which twilight counts, and shares say nothing (common practice, no source)."""
DAYS, MONTHS, YEAR_DAYS = 20, 12, 330
"""Days that make a month, and months or days that make a year, well enough for these bounds."""
_MID_MONTH = 15
"""Day that stands for its month (FAO-56, annex 2, tables 2.6 and 2.7)."""


def check_days(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of days that cannot be, and warnings of months and years that the figures of another unit would make."""
    months = _check(records, register, DAYS, YEAR_DAYS)
    warned = months.filter(pl.col("code") == MONTH_TEMPERATURE.code).height > 0
    return concat([weather_days.check(records, warm_months=warned), months])


def check_months(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of months that cannot be, and warnings of those, and of years, that another unit would make."""
    by_day = records.with_columns(pl.col("sun_h") / pl.col("date").dt.days_in_month())
    return concat([weather_days.below(records), _check(by_day, register, 1, MONTHS)])


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
    """Means and the sum of rain by station and period, null where fewer records than ``least`` tell."""
    mean = pl.coalesce("tmean_c", (pl.col("tmax_c") + pl.col("tmin_c")) / 2, "tmax_c")

    def enough(values: pl.Expr, made: pl.Expr, name: str) -> pl.Expr:
        return pl.when(values.count() >= least).then(made).alias(name)

    means = ("mean_c", "wind_m_s", "radiation_mj_m2", "sun_h", "humidity_pct")
    return (
        records.with_columns(mean.alias("mean_c"), period.alias("period"))
        .group_by("station", "period", maintain_order=True)
        .agg(
            pl.col("line").min(),
            enough(pl.col("rain_mm"), pl.col("rain_mm").sum(), "rain_mm"),
            *(enough(pl.col(name), pl.col(name).mean(), name) for name in means),
        )
    )


def _of_month(month: dict[str, Any], latitudes: dict[str, float]) -> Iterator[pl.DataFrame]:
    line, station, period, mean = (month[name] for name in ("line", "station", "period", "mean_c"))
    facts = {"station": station, "month": f"{period:%B %Y}"}
    latitude = latitudes.get(station)
    if mean is not None and (where := _odd_mean(mean, period.month, latitude)):
        yield MONTH_TEMPERATURE.at(line, f"{mean:.1f}", "tmax_c", where=where, **facts)
    for fault, name, most in ((MONTH_RAIN, "rain_mm", MOST_RAIN_MM), (MONTH_WIND, "wind_m_s", MOST_WIND_M_S)):
        if month[name] is not None and month[name] > most:
            yield fault.at(line, f"{month[name]:.1f}", name, most=f"{most:g}", **facts)
    humidity, least = month["humidity_pct"], LEAST_HUMIDITY_PCT
    if humidity is not None and humidity < least:
        yield MONTH_HUMIDITY.at(line, f"{humidity:.1f}", "humidity_pct", least=f"{least:g}", **facts)
    if latitude is not None:
        yield from _under_the_sun(month, latitude, facts)


def _under_the_sun(month: dict[str, Any], latitude: float, facts: dict[str, str]) -> Iterator[pl.DataFrame]:
    """Warnings of a month with another radiation, or more sunshine, than its latitude can have."""
    radiation, sun = month["radiation_mj_m2"], month["sun_h"]
    above, longest = above_the_air(latitude, month["period"].month), _longest(latitude, month["period"].month)
    if radiation is not None and above >= LOW_SUN_MJ_M2:
        where = ""
        if radiation > CLEAR_SKY * above:
            where = f"more than a clear sky lets through at {abs(latitude):.0f} degrees of latitude"
        elif radiation < HALF_OVERCAST * above:
            where = f"less than half of what a sky overcast all day does at {abs(latitude):.0f} degrees of latitude"
        if where:
            yield MONTH_RADIATION.at(month["line"], f"{radiation:.1f}", "radiation_mj_m2", where=where, **facts)
    if sun is not None and sun > longest:
        told = {"most": f"{longest:.1f}", "latitude": f"{abs(latitude):.0f}", **facts}
        yield MONTH_SUN.at(month["line"], f"{sun:.1f}", "sun_h", **told)


def warmest_mean_c(latitude: float | None, month: int) -> float:
    """The most that a month's mean temperature can be, °C; without a latitude what it can be anywhere."""
    if latitude is None:
        return WARMEST_C
    anywhere = WARMEST_C if abs(latitude) < TEMPERATE_DEG else WARMEST_TEMPERATE_C
    return min(anywhere, SUNLESS_C + BY_RADIATION_C * above_the_air(latitude, month))


def above_the_air(latitude: float, month: int) -> float:
    """Radiation above the atmosphere in the middle of a month, MJ/m² a day."""
    return float(extraterrestrial_radiation_mj_m2(_off_the_pole(latitude), _day_of_year(month)))


def _longest(latitude: float, month: int) -> float:
    return float(daylight_hours(_off_the_pole(latitude), _day_of_year(month)))


def _off_the_pole(latitude: float) -> float:
    return max(-89.0, min(89.0, latitude))


def _day_of_year(month: int) -> float:
    """Day of the year that stands for a month (FAO-56, annex 2: J = 30.4 · month - 15)."""
    return float(int(30.4 * month - _MID_MONTH))


def _odd_mean(mean: float, month: int, latitude: float | None) -> str:
    """What is odd in a month's mean temperature (°C), "" where nothing is."""
    if mean < COLDEST_C:
        return f"colder than {COLDEST_C:g} °C"
    warmest = warmest_mean_c(latitude, month)
    if mean > warmest:
        at = f", the most at {abs(latitude):.0f} degrees of latitude" if latitude is not None else ""
        return f"warmer than {warmest:.0f} °C{at}"
    summer = {6, 7, 8} if (latitude or 0) > 0 else {12, 1, 2}
    if latitude is not None and month in summer and mean < COLDEST_SUMMER_C:
        return f"in summer, and colder than {COLDEST_SUMMER_C:g} °C"
    return ""


def _latitudes(register: Register) -> dict[str, float]:
    """Latitude of the greens of each station, degrees, south negative."""
    known = register.greens.filter(pl.col("station").is_not_null() & pl.col("latitude_deg").is_not_null())
    return dict(known.group_by("station", maintain_order=True).agg(pl.col("latitude_deg").mean()).iter_rows())
