"""Kinds of record. A field is described once, here; everything else is made from it."""

from schemas.calendar import CALENDAR
from schemas.club import CLUB
from schemas.green import GREEN
from schemas.green_speed import GREEN_SPEED
from schemas.job import JOB
from schemas.kind import Kind
from schemas.level import LEVEL
from schemas.material import MATERIAL
from schemas.observation import OBSERVATION
from schemas.photo import PHOTO
from schemas.planned_work import PLANNED_WORK
from schemas.price import PRICE
from schemas.rate import RATE
from schemas.sieve import SIEVE
from schemas.soil_test import SOIL_TEST
from schemas.stock import STOCK
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
    PLANNED_WORK,
    PRICE,
    STOCK,
    RATE,
    CALENDAR,
)

KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}
"""Every kind, registers first: the order in which a folder is loaded."""

AHEAD = tuple(kind.name for kind in _ALL if kind.ahead)
"""Kinds of what is to come and what it costs: no figure rests on them, nor on what was met while they were loaded."""

__all__ = ["AHEAD", "KINDS", "Kind"]
