"""Rules for single days of weather: what cannot be, what was never measured, and days that are something else."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.common.faults import FaultKind, concat

MAX_BELOW_MIN = FaultKind(
    "weather.max_below_min",
    "Highest below the lowest",
    "{column}: {value} is below the {low} of the same row.",
    "Look whether the two columns were taken for one another, or one figure is wrong.",
)
MEAN_OUTSIDE = FaultKind(
    "weather.mean_outside",
    "Mean temperature outside highest and lowest",
    "{column}: {value} °C does not lie between the highest and the lowest of the same row.",
    "Look whether the columns are of the same hours and in the same unit; the row is kept as it stands.",
    severity="warning",
)
HOTTEST = FaultKind(
    "weather.day_hot",
    "Hotter than was ever measured in Europe",
    "{column}: up to {value} °C at {station}; days above {most} °C: {days}.",
    "Look whether the figures are in °F, or a digit is wrong; if they are right, nothing need be done (bound: the "
    "highest of continental Europe, Sicily on 11 August 2021, WMO Archive of Weather and Climate Extremes).",
    severity="warning",
)
WETTEST = FaultKind(
    "weather.day_rain",
    "Day with more rain than hardly any ever had",
    "{column}: up to {value} mm in a day at {station}; days of more than {most} mm: {days}.",
    "Look whether the figure is a sum of several days, or in tenths of a millimetre; if it is right, nothing need be "
    "done (bound: common practice; the most in 24 hours in the United Kingdom was 341 mm, on 5 December 2015).",
    severity="warning",
)
FAHRENHEIT = FaultKind(
    "weather.fahrenheit",
    "Highest temperatures that look like °F",
    "{column}: the {days} days at {station} all have a highest temperature from {value} to {most}, as figures in °F "
    "do.",
    "Look whether the figures are in °F; if they are in °C, nothing need be done (bounds: common practice, no source).",
    severity="warning",
)
MONTHS = FaultKind(
    "weather.days_of_months",
    "Days that may be months",
    "{column}: all {days} days at {station} are the first of a month, so that these may be figures of months.",
    "If they are, load the file with --kind weather_month (or kind in its profile): a month's rain is not that of a "
    "day.",
    severity="warning",
)

HOTTEST_C = 48.8
"""Highest temperature measured in continental Europe (WMO Archive of Weather and Climate Extremes, 2024)."""
WETTEST_MM = 250.0
"""Rain of one day that is asked about (common practice; the United Kingdom's record of 24 hours is 341 mm)."""
FREEZING_F, HOT_F, FEW_DAYS = 32.0, 110.0, 5
"""Between these all highest temperatures of a mild place lie in °F; days that make it worth a question (common
practice, no source)."""
FEW_MONTHS = 6
"""First days of months in a row that no log of days has by chance (common practice, no source)."""
_ROUNDED_C = 0.6
"""So far a mean may lie outside two figures that are rounded to whole °C or °F (0.5 °C and 1 °F are at most that)."""
_PAIRS = (("tmax_c", "tmin_c"), ("humidity_max_pct", "humidity_min_pct"))


def check(records: pl.DataFrame, *, warm_months: bool) -> pl.DataFrame:
    """Faults of days; ``warm_months``: whether months were found too warm, so that °F is asked about already."""
    faults = [below(records), *_most(records, HOTTEST, ("tmax_c", "tmean_c", "tmin_c"), HOTTEST_C)]
    faults += _most(records, WETTEST, ("rain_mm",), WETTEST_MM)
    faults += [] if warm_months else _fahrenheit(records)
    return concat([*faults, *_first_days(records)])


def below(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of records whose highest lies below their lowest, or their mean outside both."""
    faults = []
    for high, low in _PAIRS:
        if high in records.columns:
            faults.append(MAX_BELOW_MIN.of(records.filter(pl.col(high) < pl.col(low)), high, low=low))
    mean, highest, lowest = pl.col("tmean_c"), pl.col("tmax_c"), pl.col("tmin_c")
    outside = (mean > highest + _ROUNDED_C) | (mean < lowest - _ROUNDED_C)
    odd = records.filter((lowest <= highest).fill_null(value=True) & outside)
    return concat([*faults, MEAN_OUTSIDE.of(odd, "tmean_c", mean.round(1))])


def _most(records: pl.DataFrame, fault: FaultKind, fields: tuple[str, ...], most: float) -> Iterator[pl.DataFrame]:
    """One warning a station and field: the largest figure beyond ``most``, and how many there are."""
    for field in fields:
        beyond = records.filter(pl.col(field) > most).sort(field, descending=True, maintain_order=True)
        for (station,), days in beyond.group_by("station", maintain_order=True):
            facts = {"station": station, "days": days.height, "most": f"{most:g}"}
            yield fault.at(days["line"][0], f"{days[field][0]:.1f}", field, **facts)


def _fahrenheit(records: pl.DataFrame) -> Iterator[pl.DataFrame]:
    for (station,), days in records.drop_nulls("tmax_c").group_by("station", maintain_order=True):
        low, high = days.select(pl.col("tmax_c").min().alias("low"), pl.col("tmax_c").max().alias("high")).row(0)
        if days.height >= FEW_DAYS and low >= FREEZING_F and high <= HOT_F:
            facts = {"station": station, "days": days.height, "most": f"{high:g}"}
            yield FAHRENHEIT.at(days["line"][0], f"{low:g}", "tmax_c", **facts)


def _first_days(records: pl.DataFrame) -> Iterator[pl.DataFrame]:
    for (station,), days in records.group_by("station", maintain_order=True):
        if days.height >= FEW_MONTHS and (days["date"].dt.day() == 1).all():
            yield MONTHS.at(days["line"][0], str(days["date"][0]), "date", station=station, days=days.height)
