"""Rules for green speeds: unit against device, and what greens are played at."""

from __future__ import annotations

import polars as pl

from pipeline.agronomy.green_speed import PLAYED_S, STIMP_PLAYED_M, seconds_at_27_m
from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register
from pipeline.validate.rules.goals import with_goal

SPEED_UNIT = FaultKind(
    "speed.unit",
    "Unit and device do not go together",
    "A {device} is not read in “{value}”.",
    "A timed bowl is read in seconds, a Stimpmeter in metres or feet.",
)
SPEED_ODD = FaultKind(
    "speed.odd",
    "Green speed outside what is played on",
    "{value} s over 27 m is outside {low} to {high} s.",
    "Check the reading; seconds grow as the green gets faster (bounds: common practice, no source).",
    severity="warning",
)
STIMP_ODD = FaultKind(
    "speed.odd_stimpmeter",
    "Stimpmeter reading outside what greens give",
    "{value} m off a Stimpmeter is outside {low} to {high} m.",
    "Check the reading and its unit (bounds: common practice, no source).",
    severity="warning",
)


def check(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of green speeds that single fields cannot show."""
    return concat([_speed_unit(records), _speed(records, register), _stimp(records)])


def _speed_unit(records: pl.DataFrame) -> pl.DataFrame:
    faults = []
    for device, units in {"timed_bowl": ["s"], "stimpmeter": ["m", "ft"]}.items():
        odd = records.filter((pl.col("device") == device) & ~pl.col("unit").is_in(units))
        faults.append(SPEED_UNIT.of(odd, "unit", device=device.replace("_", " ")))
    return concat(faults)


def _stimp(records: pl.DataFrame) -> pl.DataFrame:
    low, high = STIMP_PLAYED_M
    rolled = records.filter((pl.col("device") == "stimpmeter") & (pl.col("unit") == "m"))
    odd = rolled.filter(~pl.col("value").is_between(low, high))
    return STIMP_ODD.of(odd, "value", pl.col("value").round(2), low=f"{low:g}", high=f"{high:g}")


def _speed(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    at_27_m = seconds_at_27_m(pl.col("value"), pl.col("distance_m").fill_null(27.0))
    timed = records.filter((pl.col("device") == "timed_bowl") & (pl.col("unit") == "s"))
    low, high = (pl.lit(end) for end in PLAYED_S)
    odd = (
        with_goal(timed, register, "speed_s", "s")
        .with_columns(
            pl.min_horizontal("goal_low", low).alias("low"),
            pl.max_horizontal("goal_high", high).alias("high"),
        )
        .filter(~at_27_m.is_between(pl.col("low"), pl.col("high")))
    )
    return concat(
        SPEED_ODD.of(part, "value", low=f"{least:g}", high=f"{most:g}")
        for (least, most), part in odd.group_by("low", "high", maintain_order=True)
    )
