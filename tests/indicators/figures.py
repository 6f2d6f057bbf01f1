"""Finding one figure among a season's."""

from __future__ import annotations

from collections.abc import Callable

from pipeline.indicators.base.green_season import GreenSeason, Indicator

Figures = Callable[..., GreenSeason]


def of(done: GreenSeason, name: str, band: str = "") -> Indicator:
    """The one indicator of this name and band."""
    found = [one for one in done.indicators if (one.name, one.band) == (name, band)]
    assert len(found) == 1, f"{name} {band}: {[(one.name, one.band) for one in done.indicators]}"
    return found[0]


def names(done: GreenSeason) -> set[str]:
    """Names of every indicator made."""
    return {one.name for one in done.indicators}


def lines(one: Indicator) -> list[int]:
    """Lines of the file the figure leads back to."""
    return [place.line for place in one.evidence]


HOUSE = (
    "indicator,scope,scope_name,band,low,high,unit,source\n"
    "nitrogen_kg_ha,club,ALD,,80,200,kg/ha,house\n"
    "organic_matter_pct,club,ALD,0–20 mm,,6,%,house\n"
    "organic_matter_pct,club,ALD,20–40 mm,,4,%,house\n"
    "ph,club,ALD,,5.5,6.5,pH,house\n"
    "thatch_mm,club,ALD,,,12,mm,house\n"
    "disturbed_pct,club,ALD,,,20,%,house\n"
)
"""A club's own targets where no published figure for bowling greens stands in the set "standard"."""
