"""Whether a green's figures changed over time, settled for all of them together and said once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pipeline.indicators.base.green_season import Indicator


def settled(figures: Iterable[Indicator]) -> tuple[Indicator, ...]:
    """The figures with the verdict of each change at the head of its note.

    All figures of one green in one season pass here, and no verdict is changed or worded anywhere after: what has to
    look at several tests of a green together (each carries its p) belongs in this place.

    Args:
        figures: every figure of one green in one season, their notes without the verdict.
    """
    return tuple(_said(one) for one in figures)


def _said(one: Indicator) -> Indicator:
    if one.verdict is None:
        return one
    words = f"{one.verdict.word.capitalize()}: {one.verdict.why}."
    return replace(one, note=f"{words} {one.note}".rstrip())
