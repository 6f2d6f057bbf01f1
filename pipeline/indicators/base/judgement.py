"""What is said of a figure against its target: one table from standing and doubt to the word that every page prints."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Literal, get_args

from pipeline.common.money import rounded
from pipeline.indicators.base.green_season import Change, Indicator, Standing

Judgement = Literal["on target", "close", "off", "too early to say", "too few to say", "no target"]
JUDGEMENTS: tuple[Judgement, ...] = get_args(Judgement)

SoFar = Literal["on target so far"]
"""What is said for "on target" of a total of a season that still runs."""

Doubt = Literal["none", "some", "much"]
"""Whether an interval leaves it open on which side of a limit the true figure lies: not, narrowly, or by far."""

TABLE: dict[tuple[Standing, Doubt], Judgement] = {
    ("within", "none"): "on target",
    ("within", "some"): "close",
    ("within", "much"): "too few to say",
    ("below", "none"): "off",
    ("below", "some"): "close",
    ("below", "much"): "too few to say",
    ("above", "none"): "off",
    ("above", "some"): "close",
    ("above", "much"): "too few to say",
    **{("too early", doubt): "too early to say" for doubt in get_args(Doubt)},
    **{("too few", doubt): "too few to say" for doubt in get_args(Doubt)},
    **{("not comparable", doubt): "too few to say" for doubt in get_args(Doubt)},
    **{("no target", doubt): "no target" for doubt in get_args(Doubt)},
}
"""Standing and doubt → what is said; doubt counts on both sides of a limit alike."""
WIDE = 0.25
"""An interval that reaches across a limit and, to one side, is wider than this share of it, is too wide to say: 8.0 %
(5.9 to 10.1) is not close to 6 %, it is known too roughly. Common practice, no source."""
ROUNDING = 1e-9
"""Share of a value that sums of its parts may be off by, as a computer adds."""
SUMS_OF_MONEY = frozenset({"cost", "cost_of"})
"""Figures that are a sum of money, added up in decimal; one per square metre or kilogram is a ratio."""
MOST_DIGITS = 2
"""So many digits more than its uncertainty carries are printed where only they show on which side of a limit it is."""


def as_shown(one: Indicator, decimals: int) -> float | Decimal:
    """The value of a figure that has one, to be printed with so many decimals: a sum of money rounded as a bill is.

    Any other is left to the format, which rounds it.
    """
    assert one.value is not None
    return rounded(one.value, decimals) if one.name in SUMS_OF_MONEY else one.value


def judgement(one: Indicator) -> Judgement:
    """The one word on the page for a figure against its target."""
    found = TABLE[one.standing, doubt(one)]
    return next((word for word in JUDGEMENTS if word == one.judged_as), found)


def said(one: Indicator) -> Judgement | Change | SoFar:
    """What stands beside a figure: its judgement; of a change over time without a target, the verdict on it.

    A total that is on target while its season runs may leave it yet: it is so far.
    """
    if one.verdict and not judged(one):
        return one.verdict.word
    word = judgement(one)
    return "on target so far" if word == "on target" and one.so_far else word


def stand(value: float, low: float | None, high: float | None, *, reached: bool = False) -> Standing:
    """A value against a band: within, below or above; no target where neither end is given.

    A limit is met by what is equal to it but for the rounding of sums; an upper one that is missed as soon as it is
    ``reached`` is not.
    """
    if low is None and high is None:
        return "no target"
    if low is not None and value < low and not math.isclose(value, low, rel_tol=ROUNDING):
        return "below"
    if high is not None and (reached if math.isclose(value, high, rel_tol=ROUNDING) else value > high):
        return "above"
    return "within"


def has_target(one: Indicator) -> bool:
    """Whether a target is in force for a figure, and is in its unit."""
    return one.standing != "no target" and (one.target_low is not None or one.target_high is not None)


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
    """Whether a figure's interval, or what its reading is known to, reaches across a limit of its target.

    Out of it or into it, chance may say which.
    """
    return bool(_crossed(one))


def doubt(one: Indicator) -> Doubt:
    """How much doubt there is on which side of a limit of its target a figure lies."""
    ends = _crossed(one)
    if not ends:
        return "some" if on_the_limit(one) else "none"
    low, high = _ends(one)
    return "much" if any((high - low) / 2 > WIDE * (abs(end) or 1.0) for end in ends) else "some"


def _crossed(one: Indicator) -> list[float]:
    """The limits of its target that a judged figure's interval, or what its reading is known to, reaches across."""
    if not judged(one):
        return []
    low, high = _ends(one)
    return [end for end in (one.target_low, one.target_high) if end is not None and low < end < high]


def _ends(one: Indicator) -> tuple[float, float]:
    """The ends between which a judged figure may lie: its interval's, or its reading's; itself where it has neither."""
    value = one.value or 0.0
    if one.unsure is not None:
        return value - one.unsure, value + one.unsure
    return (value, value) if one.low is None or one.high is None else (one.low, one.high)


def by_reading(one: Indicator) -> bool:
    """Whether it is in doubt for no interval of its own, but for what laboratories differ by."""
    return one.unsure is not None and doubtful(one)


def digits(one: Indicator) -> int:
    """Digits after the point with which a figure is printed: those its uncertainty carries, more at a limit.

    94.7 % against "at least 95 %" is not printed as 95 %: the digit that shows why it is below is printed too.
    """
    for places in range(one.decimals, one.decimals + MOST_DIGITS + 1):
        if _shows(one, places):
            return places
    return one.decimals


def interval_digits(one: Indicator) -> int:
    """Digits after the point with which a figure's interval is printed: more where its ends hide their side of a limit.

    4.003 to 5.04 against "at most 4" is not printed as 4.0 to 5.0 beside "off".
    """
    first = digits(one)
    if one.low is None or one.high is None or not judged(one):
        return one.decimals
    limits = [end for end in (one.target_low, one.target_high) if end is not None]
    for places in range(one.decimals, first + MOST_DIGITS + 1):
        if all(_side(round(end, places), at) == _side(end, at) for end in (one.low, one.high) for at in limits):
            return places
    return one.decimals


def _side(value: float, limit: float) -> int:
    """Below, on or above a limit: −1, 0 or 1."""
    return (value > limit) - (value < limit)


def on_the_limit(one: Indicator) -> bool:
    """Whether a figure is so near a limit of its target that no digit it may be printed with shows its side of it."""
    return not any(_shows(one, places) for places in range(one.decimals, one.decimals + MOST_DIGITS + 1))


def _shows(one: Indicator, places: int) -> bool:
    """Whether the figure, rounded so, still stands against its printed limits as it is judged to stand."""
    if not judged(one):
        return True
    low, high = (None if end is None else _as_printed(end, places) for end in (one.target_low, one.target_high))
    return stand(round(one.value or 0.0, places), low, high, reached=one.reached) == one.standing


def _as_printed(limit: float, places: int) -> float:
    """A limit as it is printed beside a figure: whole, where three digits hold it, else with the figure's digits."""
    return limit if math.isclose(limit, round(limit, 3), rel_tol=ROUNDING) else round(limit, places)


def _missed(one: Indicator) -> float | None:
    """The end of the target that the figure misses; None where it misses none."""
    return {"below": one.target_low, "above": one.target_high}.get(one.standing)
