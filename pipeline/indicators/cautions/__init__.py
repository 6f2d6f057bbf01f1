"""Cautions whose trigger stands in the season's records, each with its source or "common practice"."""

from __future__ import annotations

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Caution
from pipeline.indicators.cautions.exposure import public, services, vibration
from pipeline.indicators.cautions.materials import bags, iron, sand, water
from pipeline.indicators.cautions.protection import records_kept
from pipeline.indicators.cautions.weather import drought, frost, heat, rain

_RULES = (
    records_kept,
    vibration,
    services,
    sand,
    frost,
    heat,
    drought,
    rain,
    water,
    bags,
    public,
    iron,
)
"""What may harm people first, then grass and water, then stains: the short report prints the first of them."""


def cautions(records: GreenRecords) -> list[Caution]:
    """Every caution that the season's jobs, and the weather around them, give reason for."""
    return [one for rule in _RULES if (one := rule(records)) is not None]
