"""Kinds of record. A field is described once, here; everything else is made from it."""

from schemas.club import CLUB
from schemas.green import GREEN
from schemas.green_speed import GREEN_SPEED
from schemas.job import JOB
from schemas.kind import Kind
from schemas.level import LEVEL
from schemas.material import MATERIAL
from schemas.observation import OBSERVATION
from schemas.photo import PHOTO
from schemas.sieve import SIEVE
from schemas.soil_test import SOIL_TEST
from schemas.target import TARGET
from schemas.weather_day import WEATHER_DAY
from schemas.weather_month import WEATHER_MONTH

_ALL = (
    CLUB,
    GREEN,
    MATERIAL,
    TARGET,
    JOB,
    SOIL_TEST,
    GREEN_SPEED,
    OBSERVATION,
    SIEVE,
    LEVEL,
    PHOTO,
    WEATHER_DAY,
    WEATHER_MONTH,
)

KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}
"""Every kind, registers first: the order in which a folder is loaded."""

__all__ = ["KINDS", "Kind"]
