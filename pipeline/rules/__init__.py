"""Rules across fields and records: what single fields cannot show. Every limit carries its source."""

from __future__ import annotations

from datetime import date

import polars as pl

from pipeline.faults import together
from pipeline.register import Register
from pipeline.rules import levels, observations, places, registers, sieves, soil, speed, works
from schemas import Kind


def check(kind: Kind, records: pl.DataFrame, register: Register, today: date) -> pl.DataFrame:
    """Faults of the rules that hold for this kind of record."""
    faults = []
    if "date" in kind.by_name:
        faults.append(places.check(records, register, today))
    if kind.name == "job":
        faults.append(works.check(records, register))
    elif kind.name == "soil_test":
        faults.append(soil.check(records))
    elif kind.name == "green_speed":
        faults.append(speed.check(records, register))
    elif kind.name == "observation":
        faults.append(observations.check(records))
    elif kind.name == "sieve":
        faults.append(sieves.check(records))
    elif kind.name == "level":
        faults.append(levels.check(records, register))
    elif kind.name == "material":
        faults.append(registers.check_material(records))
    elif kind.name == "green":
        faults.append(registers.check_green(records))
    return together(faults)
