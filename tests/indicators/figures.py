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
