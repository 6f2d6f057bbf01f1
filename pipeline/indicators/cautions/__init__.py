"""Cautions whose trigger stands in the season's records, each with its source or "common practice"."""

from __future__ import annotations

from pipeline.indicators.cautions import exposure, materials, protection, sky
from pipeline.indicators.record import Caution
from pipeline.indicators.records import GreenRecords

_RULES = (
    protection.records_kept,
    exposure.vibration,
    exposure.services,
    materials.sand,
    sky.frost,
    sky.heat,
    sky.drought,
    sky.rain,
    materials.water,
    materials.bags,
    exposure.public,
    materials.iron,
)
"""What may harm people first, then grass and water, then stains: the short report prints the first of them."""


def cautions(records: GreenRecords) -> list[Caution]:
    """Every caution that the season's jobs, and the weather around them, give reason for."""
    return [one for rule in _RULES if (one := rule(records)) is not None]
