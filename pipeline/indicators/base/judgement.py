"""What is said of a figure against its target: one table from standing and doubt to the word that every page prints."""

from __future__ import annotations

import math
from typing import Literal, get_args

from pipeline.indicators.base.green_season import Change, Indicator, Standing

Judgement = Literal["on target", "close", "off", "too few to say", "no target"]
JUDGEMENTS: tuple[Judgement, ...] = get_args(Judgement)

TABLE: dict[tuple[Standing, bool], Judgement] = {
    ("within", False): "on target",
    ("within", True): "close",
    ("below", False): "off",
    ("below", True): "close",
    ("above", False): "off",
    ("above", True): "close",
    ("too few", False): "too few to say",
    ("too few", True): "too few to say",
    ("not comparable", False): "too few to say",
    ("not comparable", True): "too few to say",
    ("no target", False): "no target",
    ("no target", True): "no target",
}
"""Standing, and whether the interval or rounding leaves it in doubt → what is said; doubt counts on both sides."""
FEWEST = 3
"""An interval from fewer records than this that reaches across a limit says nothing: the word is "too few to say".
Common practice, no source."""
ROUNDING = 1e-9
"""Share of a value that sums of its parts may be off by, as a computer adds."""
MOST_DIGITS = 2
"""So many digits more than its uncertainty carries are printed where only they show on which side of a limit it is."""


def judgement(one: Indicator) -> Judgement:
    """The one word on the page for a figure against its target."""
    found = TABLE[one.standing, doubtful(one) or on_the_limit(one)]
    if found == "close" and one.n < FEWEST and one.low is not None:
        return "too few to say"
    return found


def said(one: Indicator) -> Judgement | Change:
    """What stands beside a figure: its judgement; of a change over time without a target, the verdict on it."""
    return one.verdict.word if one.verdict and not judged(one) else judgement(one)


def stand(value: float, low: float | None, high: float | None) -> Standing:
    """A value against a band: within, below or above; no target where neither end is given.

    A limit is met by what is equal to it but for the rounding of sums.
    """
    if low is None and high is None:
        return "no target"
    if low is not None and value < low and not math.isclose(value, low, rel_tol=ROUNDING):
        return "below"
    if high is not None and value > high and not math.isclose(value, high, rel_tol=ROUNDING):
        return "above"
    return "within"


def judged(one: Indicator) -> bool:
    """Whether a figure has a value and a target that it is held against."""
    return one.value is not None and one.standing in ("within", "below", "above")


def miss(one: Indicator) -> float:
    """How far a figure is from its target, as a share of the end it misses; 0 where it misses none."""
    end = _missed(one)
    if end is None or one.value is None:
        return 0.0
    return abs(one.value - end) / (abs(end) or 1.0)


def doubtful(one: Indicator) -> bool:
    """Whether a figure's interval reaches across a limit of its target: out of it or into it, chance may say which."""
    if one.low is None or one.high is None:
        return False
    low, high = one.target_low, one.target_high
    if one.standing == "within":
        return (low is not None and one.low < low) or (high is not None and one.high > high)
    if one.standing == "below":
        return low is not None and one.high >= low
    return one.standing == "above" and high is not None and one.low <= high


def digits(one: Indicator) -> int:
    """Digits after the point with which a figure is printed: those its uncertainty carries, more at a limit.

    94.7 % against "at least 95 %" is not printed as 95 %: the digit that shows why it is below is printed too.
    """
    for places in range(one.decimals, one.decimals + MOST_DIGITS + 1):
        if _shows(one, places):
            return places
    return one.decimals


def on_the_limit(one: Indicator) -> bool:
    """Whether a figure is so near a limit of its target that no digit it may be printed with shows its side of it."""
    return not any(_shows(one, places) for places in range(one.decimals, one.decimals + MOST_DIGITS + 1))


def _shows(one: Indicator, places: int) -> bool:
    """Whether the figure, rounded so, still stands as it is judged to stand."""
    return not judged(one) or stand(round(one.value or 0.0, places), one.target_low, one.target_high) == one.standing


def _missed(one: Indicator) -> float | None:
    """The end of the target that the figure misses; None where it misses none."""
    return {"below": one.target_low, "above": one.target_high}.get(one.standing)
