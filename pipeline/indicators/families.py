"""Every family of indicators, and every indicator by its name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.at_least import at_least
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.so_far import so_far
from pipeline.indicators.base.standing import against_target
from pipeline.indicators.feeding import clippings, feeding, nutrients, release
from pipeline.indicators.organic_matter import forecasts
from pipeline.indicators.play import speed_change, stimpmeter, surface
from pipeline.indicators.soil import need, sieves, soil
from pipeline.indicators.surface import levels, observations
from pipeline.indicators.weather import weather
from pipeline.indicators.works import disturbance, dressing, trays, works

FAMILIES: tuple[Family, ...] = (
    soil.DEPTHS,
    forecasts.FAMILY,
    dressing.FAMILY,
    trays.FAMILY,
    nutrients.FAMILY,
    release.FAMILY,
    clippings.FAMILY,
    feeding.FAMILY,
    disturbance.FAMILY,
    surface.FAMILY,
    stimpmeter.FAMILY,
    speed_change.FAMILY,
    soil.CHEMISTRY,
    need.FAMILY,
    levels.FAMILY,
    observations.FAMILY,
    sieves.FAMILY,
    weather.FAMILY,
    works.FAMILY,
)
"""In the order of the report."""
DESCRIBED: dict[str, Description] = {one.name: one for family in FAMILIES for one in family.described}
"""Name of every indicator → what it is."""


def made(family: Family, asked: Asked) -> Iterator[Indicator]:
    """The figures of a family; those that need no day also of records known to the month or year (grain: indicator).

    Those of one green and season stand in the order of the report.
    """
    counting = asked.counting
    bare: dict[tuple[int, str, str], Indicator] = {}
    for one in family.made(asked):
        if one.of not in counting.each:
            yield one
        elif DESCRIBED[one.name].day_needed:
            bare[one.of, one.name, one.band] = one
    if not counting.each:
        return
    for one in family.made(counting):
        if not DESCRIBED[one.name].day_needed:
            yield one
        elif (key := (one.of, one.name, one.band)) in bare:
            yield bare.pop(key)
    yield from bare.values()


def judged(figures: Iterable[Indicator], records: GreenRecords) -> tuple[Indicator, ...]:
    """Figures of a green and season, each with its target and standing."""
    described = ((one, DESCRIBED[one.name]) for one in figures)
    judged_so = ((so_far(against_target(one, records, what), records, what), what) for one, what in described)
    return tuple(at_least(one, records, what) for one, what in judged_so)
