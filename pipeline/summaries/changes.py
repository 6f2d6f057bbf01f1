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
        clear: code of a green → its figures whose verdict is a clear change; greens without any left out.
    """

    tested: int
    clear: Mapping[str, tuple[Indicator, ...]]

    @property
    def by_chance(self) -> float:
        """Greens on which chance alone would show a clear change, had nothing changed on any: the most expected.

        Source: the verdicts of one green are settled together so that, where nothing changed, one or more is clear
        with probability ``LEVEL`` at most (pipeline/indicators/verdicts.py); expectations of greens add up.
        """
        return LEVEL * self.tested


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
        sum(bool(found) for found in every.values()), {green: found for green, found in clear.items() if found}
    )
