"""Whether a green's figures changed over time, settled for all of them together and said once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pipeline.common.amounts import joined
from pipeline.common.words import counted
from pipeline.indicators.base.green_season import Indicator, Verdict
from pipeline.statistics.many_tests import false_discovery_p

LEVEL = 0.05
"""Share of false verdicts among a green's clear changes of a season, and chance of any where nothing changed."""


def settled(figures: Iterable[Indicator]) -> tuple[Indicator, ...]:
    """The figures with the verdict of each change at the head of its note.

    All figures of one green in one season pass here, and no verdict is changed or worded anywhere after. The family of
    tests is the changes over time of this one green and season: a change is clear where its own test and interval show
    it and its p, adjusted for the others of the family, is at most ``LEVEL``. No other green's records alter it.

    Args:
        figures: every figure of one green in one season, their notes without the verdict.

    Source: Benjamini & Hochberg 1995 (``pipeline.statistics.many_tests``).
    """
    every = tuple(figures)
    tested = [(one.verdict.p, at) for at, one in enumerate(every) if one.verdict and one.verdict.p is not None]
    adjusted = dict(zip((at for _, at in tested), false_discovery_p([p for p, _ in tested]).tolist(), strict=True))
    return tuple(_said(_among(one, adjusted.get(at), len(tested))) for at, one in enumerate(every))


def _among(one: Indicator, p: float | None, family: int) -> Indicator:
    """The figure with its verdict as it stands among the others of its family."""
    if one.verdict is None or p is None or family < 2:
        return one
    found = replace(one.verdict, p_adjusted=p)
    if found.clear and p > LEVEL:
        why = f"{found.why}; among {counted(family, 'change')} looked at together {p:.2g}, more than {LEVEL:g}"
        found = replace(found, word="no clear change", why=why)
    return replace(one, verdict=found)


def _said(one: Indicator) -> Indicator:
    if one.verdict is None:
        return one
    return replace(one, note=joined(" ", list(filter(None, (_words(one, one.verdict), one.note)))))


def _words(one: Indicator, verdict: Verdict) -> str:
    """The verdict as it heads the note, with a word where the interval alone would say another."""
    words = f"{verdict.word.capitalize()}: {verdict.why}."
    apart = one.low is not None and one.high is not None and (one.low > 0 or one.high < 0)
    if verdict.word == "no clear change" and apart and (verdict.p or 0.0) > LEVEL:
        words += " The interval just leaves out no change; the test does not, and it decides."
    return words
