"""What documents of many greens say of changes over the years: which are clear, and how many chance would show."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from pipeline.common.words import listed
from pipeline.indicators.base.green_season import Indicator
from pipeline.summaries.changes import Changes
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
    greens = text.count(found.tested, "green")
    if not found.clear:
        yield f"No clear change over the years on {greens} tested."
        return
    told = [f"{name(green)} ({listed([_change(one) for one in each])})" for green, each in found.clear.items()]
    left = len(told) - MOST_GREENS
    named = [*told[:MOST_GREENS], *([text.count(left, "more green", "more greens")] if left > 0 else [])]
    chance = text.number(found.by_chance, 1 if found.by_chance >= 0.1 else 2)
    yield (
        f"A real change over the years on {len(found.clear)} of {greens} tested: {listed(named)}. If nothing changed "
        f"on any green, chance would still show one on {chance} of them at most."
    )


def _change(one: Indicator) -> str:
    """A clear change in few words: "organic matter 0–20 mm falling"."""
    assert one.verdict is not None, "only changes over time come here"
    what = text.clean(one.label, 60).partition(",")[0]
    words = " ".join(filter(None, (text.inside(what), text.clean(one.band, 40), one.verdict.word)))
    return f"{words}, {remarks.IF_RIGHT}" if one.questioned else words
