"""Rules for green speeds: unit against device, and what greens are played at."""

from __future__ import annotations

import polars as pl

from pipeline.agronomy.green_speed import seconds_at_27_m
from pipeline.faults import FaultKind, together

SPEED_UNIT = FaultKind(
    "speed.unit",
    "Unit and device do not go together",
    "A {device} is not read in “{value}”.",
    "A timed bowl is read in seconds, a Stimpmeter in metres or feet.",
)
SPEED_ODD = FaultKind(
    "speed.odd",
    "Green speed outside what is played on",
    "{value} s over 27 m is outside 5 to 25 s.",
    "Check the reading; seconds grow as the green gets faster (bounds: common practice, no source).",
    severity="warning",
)


def check(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of green speeds that single fields cannot show."""
    return together([_speed_unit(records), _speed(records)])


def _speed_unit(records: pl.DataFrame) -> pl.DataFrame:
    faults = []
    for device, units in {"timed_bowl": ["s"], "stimpmeter": ["m", "ft"]}.items():
        odd = records.filter((pl.col("device") == device) & ~pl.col("unit").is_in(units))
        faults.append(SPEED_UNIT.frame(odd["line"], odd["unit"], "unit", device=device.replace("_", " ")))
    return together(faults)


def _speed(records: pl.DataFrame) -> pl.DataFrame:
    at_27_m = seconds_at_27_m(pl.col("value"), pl.col("distance_m").fill_null(27.0))
    odd = records.filter((pl.col("device") == "timed_bowl") & (pl.col("unit") == "s") & ~at_27_m.is_between(5, 25))
    return SPEED_ODD.frame(odd["line"], odd["value"], "value")
