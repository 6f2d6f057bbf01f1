"""What documents of many greens say of changes over the years: which are clear, and how many chance would show."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from pipeline.common.words import listed
from pipeline.indicators.base.green_season import Indicator
from pipeline.summaries.changes import Changes, by_chance
from reports.page import remarks, text

MOST_GREENS = 3
"""Greens whose clear changes are named; the others are counted."""


def sentences(found: Changes, name: Callable[[str], str]) -> Iterator[str]:
    """The clear changes by green, and on how many greens chance would show one; nothing where none was tested.

    Args:
        found: the changes.
        name: what a green of this code is called.
    """
    if not found.tested:
        return
    names = dict.fromkeys(_named(one) for one in found.figures)
    greens = f"{text.count(found.tested, 'green')} tested ({listed(list(names))})"
    if not found.clear:
        yield f"No clear change over the years on {greens}."
        return
    told = [f"{name(green)} ({listed([_change(one) for one in each])})" for green, each in found.clear.items()]
    left = len(told) - MOST_GREENS
    named = [*told[:MOST_GREENS], *([text.count(left, "more green", "more greens")] if left > 0 else [])]
    yield f"A real change over the years on {len(found.clear)} of {greens}: {listed(named)}. {_by_chance(found)}"


def _by_chance(found: Changes) -> str:
    """How often chance alone would show a change: of so few greens that it is less than one, once in how many."""
    if found.by_chance < 1:
        return f"Where nothing changed, chance would still show one on 1 green in {1 / by_chance(1):.0f} at most."
    expected = _expected(found.by_chance)
    return f"If nothing changed on any green, chance would still show one on {expected} of them at most."


def comparisons(number: int) -> str:
    """How many of so many comparisons of two visits chance would call a change; "" where none is made.

    Each is by an interval of 95 %, by itself: they are not settled together as changes over the years are.
    """
    if not number:
        return ""
    made = f"{text.count(number, 'comparison')} with the visit before, each at 95 %"
    return f"{made}: if nothing changed, chance would still show {_expected(by_chance(number))} of them as a change."


def _expected(number: float) -> str:
    return text.number(number, 1 if number >= 0.1 else 2)


def _named(one: Indicator) -> str:
    """What was tested for a change, in few words, without its depth: "organic matter"."""
    return text.inside(text.clean(one.label, 60).partition(",")[0])


def _change(one: Indicator) -> str:
    """A clear change in few words: "organic matter 0–20 mm falling"."""
    assert one.verdict is not None, "only changes over time come here"
    words = " ".join(filter(None, (_named(one), text.clean(one.band, 40), one.verdict.word)))
    return f"{words}, {remarks.IF_RIGHT}" if one.questioned else words
