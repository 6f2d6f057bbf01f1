"""What stands out and what changed, in plain words, and the digits that changes are printed with.

The rules of "What stands out":

1. For a club: its greens' figures all of whose places lie outside the middle half of their ranking, or that lie outside
   the limits of their group, the farthest from the middle first (pipeline/compare/standing_out.py). Where there is
   none, that is said.
2. For the association: clear changes over the seasons, then clear changes since the season before, then how many groups
   can be shown and how many cannot. Where no change is clear, that is said.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import floor, log10

from pipeline.common.words import difference_unit, place_words
from pipeline.compare.comparison import Comparison, OverSeasons, Own, Topic, YearChange
from pipeline.compare.standing_out import standing_out
from reports.page import remarks, text
from reports.page.figures import asked

MOST_MATTERS = 4
MORE_DIGITS = 2
"""So many digits more than a figure's are printed of a change, where only they show it and its interval."""
TWO_DIGITS_UP_TO = 3.545
"""Leading digits of an uncertainty up to which a second one is printed."""
IF_RIGHT = "if the entries behind it are right"
"""Stands in a sentence on a group with a figure that rests on an entry to be checked."""
NOTHING_OUT = (
    "Nothing stands out: on every subject each of the club's greens lies, or may lie, among the middle half of its "
    "like."
)
NO_PLACE = "None of the club's greens has a group of like greens that is large enough to be shown."
NO_CLEAR_CHANGE = "No subject shows a clear change, over the seasons or since the season before."


def heading(topic: Topic) -> str:
    """What a topic is called on the page."""
    return text.clean(f"{topic.label}{f', {topic.band}' if topic.band else ''}", 120)


def counts(n: int, clubs: int) -> str:
    """Greens and clubs in words."""
    return f"{text.count(n, 'green')}, {text.count(clubs, 'club')}"


def places_of(low: float, high: float, decimals: int) -> int:
    """Digits after the point for a change with this interval: those that show half its width and no more.

    Two significant digits of half the width where they are 10 to 35, else one; as many as the figure itself carries at
    least, and ``MORE_DIGITS`` more at most. The end of a clear change that is next to zero is never printed as zero.
    −0.27 with an interval from −0.37 to −0.17 is not printed as −0.3.

    Source: rounding rule of the Particle Data Group (Review of Particle Physics, introduction; from memory).
    """
    half = (high - low) / 2
    if half <= 0:
        return decimals
    first = -floor(log10(half))
    leading = half * 10.0**first
    places = max(decimals, min(decimals + MORE_DIGITS, first + (leading < TWO_DIGITS_UP_TO)))
    near = min(abs(low), abs(high)) if low > 0 or high < 0 else 0.0
    return max(places, -floor(log10(near))) if near else places


def changed(value: float, low: float, high: float, topic: Topic, *, questioned: bool, yearly: str = "") -> str:
    """A change with its sign and unit; of shares in percentage points."""
    unit = text.clean(difference_unit(topic.unit), 32) + yearly
    shown = text.with_unit(text.signed(value, places_of(low, high, topic.decimals)), unit)
    return asked(shown, questioned=questioned)


def interval(low: float, high: float, topic: Topic) -> str:
    """The interval of a change, both ends with their signs."""
    places = places_of(low, high, topic.decimals)
    return f"{text.signed(low, places)} to {text.signed(high, places)}"


def said(one: YearChange | OverSeasons) -> str:
    """Which way a change goes, where its interval leaves no doubt."""
    if not one.clear or one.low is None:
        return "not clear"
    return "up" if one.low > 0 else "down"


def seasons_of(one: OverSeasons) -> str:
    """First and last of its seasons, and how many they are where some between are left out."""
    first, last = one.seasons[0], one.seasons[-1]
    whole = int(last) - int(first) + 1 == len(one.seasons)
    return f"{first}–{last}" if whole else f"{len(one.seasons)} seasons of {first}–{last}"


def place(one: Own) -> str:
    """The places a green may hold, or that it has none."""
    if one.cell is None or one.place_low is None or one.place_high is None:
        return "no place"
    return place_words(one.place_low, one.place_high, one.cell.n)


def matters(comparison: Comparison) -> Iterator[str]:
    """What stands out, a few lines."""
    yield from _own(comparison.own) if comparison.club else _county(comparison)


def _own(own: Sequence[Own]) -> Iterator[str]:
    if not any(one.cell is not None and one.place_low is not None for one in own):
        yield NO_PLACE
        return
    found = standing_out(own)
    if not found:
        yield NOTHING_OUT
    for one in found[:MOST_MATTERS]:
        where = f"; it lies {one.funnel} of what its like show" if one.funnel.startswith("outside") else ""
        value = text.quantity(one.value, one.topic.unit, one.topic.decimals)
        yield (
            f"{text.clean(one.green_name, 60)}, {text.inside(heading(one.topic))}: {value}, {place(one)}{where}"
            f"{f', {remarks.IF_RIGHT}' if one.questioned else ''}."
        )


def _county(comparison: Comparison) -> Iterator[str]:
    clear = [*_clear_over_seasons(comparison.over_seasons), *_clear_changes(comparison.changes)]
    yield from clear[: MOST_MATTERS - 1]
    if not clear and (comparison.over_seasons or comparison.changes):
        yield NO_CLEAR_CHANGE
    topics = {c.topic.label for c in comparison.cells}
    shown = text.count(len(comparison.cells), "group")
    hidden = sum(count for _, count in comparison.withheld)
    left = (
        f"; {text.count(hidden, 'group')} had to be withheld: too few greens or clubs, or easy to work out"
        if hidden
        else ""
    )
    yield f"{shown} of like greens can be shown, on {text.count(len(topics), 'subject')}{left}."


def _clear_over_seasons(found: Sequence[OverSeasons]) -> Iterator[str]:
    for one in found:
        if one.clear and one.slope is not None and one.low is not None and one.high is not None:
            much = changed(one.slope, one.low, one.high, one.topic, questioned=False, yearly=" a season")
            doubt = f", {IF_RIGHT}" if one.questioned else ""
            yield (
                f"{heading(one.topic)}: {much} ({interval(one.low, one.high, one.topic)}) over {seasons_of(one)}, "
                f"{counts(one.n, one.clubs)}{doubt}."
            )


def _clear_changes(found: Sequence[YearChange]) -> Iterator[str]:
    """Of each subject the change of its largest group, where it is clear."""
    widest: dict[Topic, YearChange] = {}
    for one in found:
        if one.topic not in widest or one.n > widest[one.topic].n:
            widest[one.topic] = one
    for one in widest.values():
        if one.clear:
            much = changed(one.mean, one.low, one.high, one.topic, questioned=False)
            doubt = f", {IF_RIGHT}" if one.questioned else ""
            yield (
                f"{heading(one.topic)}: {much} ({interval(one.low, one.high, one.topic)}) since "
                f"{text.name(one.before)}, {counts(one.n, one.clubs)}{doubt}."
            )
