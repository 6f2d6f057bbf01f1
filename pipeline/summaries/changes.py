"""Clear changes over the years on many greens, and how many of them chance alone would show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.verdicts import LEVEL


@dataclass(frozen=True)
class Changes:
    """What changed over the years on many greens.

    Attributes:
        tested: greens on which at least one change over time was tested.
        figures: those tested, of every green.
        clear: code of a green → its figures whose verdict is a clear change; greens without any left out.
    """

    tested: int
    figures: tuple[Indicator, ...]
    clear: Mapping[str, tuple[Indicator, ...]]

    @property
    def by_chance(self) -> float:
        """Greens on which chance alone would show a clear change, had nothing changed on any: the most expected.

        Source: the verdicts of one green are settled together so that, where nothing changed, one or more is clear
        with probability ``LEVEL`` at most (pipeline/indicators/verdicts.py); expectations of greens add up.
        """
        return by_chance(self.tested)


def by_chance(number: int) -> float:
    """How many of so many tests, each at ``LEVEL``, come out clear where nothing changed: the most expected."""
    return LEVEL * number


def tested(figures: Iterable[Indicator]) -> tuple[Indicator, ...]:
    """The figures of a green whose change over time was tested."""
    return tuple(one for one in figures if one.verdict and one.verdict.p is not None)


def changes(of_greens: Mapping[str, Iterable[Indicator]]) -> Changes:
    """The clear changes among the figures of each green.

    Args:
        of_greens: code of each green → its figures, those not tested among them or not.
    """
    every = {green: tested(figures) for green, figures in of_greens.items()}
    clear = {green: tuple(one for one in found if one.verdict and one.verdict.clear) for green, found in every.items()}
    return Changes(
        tested=sum(bool(found) for found in every.values()),
        figures=tuple(one for found in every.values() for one in found),
        clear={green: found for green, found in clear.items() if found},
    )
