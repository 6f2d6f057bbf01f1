"""Rules across fields and records: what single fields cannot show. Every limit carries its source."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import polars as pl

from pipeline.common.faults import concat
from pipeline.store.register import Register
from pipeline.validate.rules import (
    ahead,
    codes,
    fractions,
    observations,
    places,
    registers,
    rinks,
    sieves,
    soil,
    speed,
    weather,
    works,
)
from schemas import Kind


def _levels(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    from pipeline.validate.rules import levels  # the arithmetic of surveys: few files are one

    return levels.check(records, register)


_OF_KIND: dict[str, Callable[[pl.DataFrame, Register], pl.DataFrame]] = {
    "job": works.check,
    "soil_test": lambda records, _: soil.check(records),
    "green_speed": speed.check,
    "observation": lambda records, _: observations.check(records),
    "sieve": lambda records, _: sieves.check(records),
    "level": _levels,
    "weather_day": weather.check_days,
    "weather_month": weather.check_months,
    "material": lambda records, register: concat(
        [
            registers.check_material(records),
            registers.check_days(records, register, "material"),
            registers.check_from_start(records, register, "material"),
        ]
    ),
    "green": lambda records, register: concat(
        [
            registers.check_green(records),
            registers.check_stations(records, register),
            registers.check_days(records, register, "green"),
            registers.check_from_start(records, register, "green"),
        ]
    ),
    "target": registers.check_target,
    **ahead.RULES,
}


def check(kind: Kind, records: pl.DataFrame, register: Register, today: date) -> pl.DataFrame:
    """Faults of the rules that hold for this kind of record."""
    faults = []
    if "date" in kind.by_name:
        faults.append(places.check(records, register, today))
    if "rink" in kind.by_name:
        faults.append(rinks.check(records, register))
    if kind.name in _OF_KIND:
        faults.append(_OF_KIND[kind.name](records, register))
    faults += [codes.check(kind, records, register), fractions.check(kind, records)]
    return concat(faults)
