"""A measure against its target as a bar: geometry in points, limits at the band's ends, last season as a ring."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.indicators.base import judgement
from pipeline.indicators.base.first_page import Measure
from pipeline.indicators.base.green_season import Indicator
from reports.page import figures, text

WIDTH = 128.0
"""Width of a bar, pt."""
PAD = 8.0
NARROW_BAND = 34.0
"""Width of a band, pt, below which its two limits are one label."""
LABEL_PT = 4.6
"""Width of a character of a limit's label, pt, at 8 pt: figures of the typeface are that wide."""


@dataclass(frozen=True)
class Limit:
    """A limit printed below the bar, its middle at ``x``."""

    x: float
    label: str


@dataclass(frozen=True)
class Bar:
    """The bar, in points.

    Attributes:
        band_x: left end of the target band; None without a target.
        band_width: its width.
        edges: where an end of the target is drawn.
        limits: labels below.
        low_x: left end of the interval; None without one.
        high_x: right end of it.
        value_x: place of the figure.
        last_x: place of last season's; None without one.
        crossed: whether the figure rests on an entry under a warning: a cross stands for the dot.
        title: what the bar shows, in words.
    """

    band_x: float | None
    band_width: float
    edges: tuple[float, ...]
    limits: tuple[Limit, ...]
    low_x: float | None
    high_x: float | None
    value_x: float
    last_x: float | None
    crossed: bool
    title: str


def bar(of: Measure) -> Bar | None:
    """The bar of a measure on a scale of its own; None where it is not measured."""
    one = of.figure
    if one is None or one.value is None:
        return None
    last = of.last.value if of.last else None
    scale = _Scale(one, last)
    low, high = one.target_low, one.target_high
    judged = low is not None or high is not None
    left = scale.at(low) if low is not None else 0.0
    right = scale.at(high) if high is not None else WIDTH
    known = one.low is not None and one.high is not None
    return Bar(
        band_x=left if judged else None,
        band_width=max(round(right - left, 2), 1.5),
        edges=tuple(scale.at(end) for end in (low, high) if end is not None),
        limits=tuple(_limits(one, scale)),
        low_x=scale.at(one.low) if known and one.low is not None else None,
        high_x=scale.at(one.high) if known and one.high is not None else None,
        value_x=scale.at(one.value),
        last_x=None if last is None else scale.at(last),
        crossed=of.waits,
        title=_title(of, one),
    )


class _Scale:
    """From values to places: from a little below to a little above all that is shown, or from zero with one limit."""

    def __init__(self, one: Indicator, last: float | None) -> None:
        shown = (one.value, one.target_low, one.target_high, last, *_interval(one))
        ends = [end for end in shown if end is not None]
        first, self.last = min(ends), max(ends)
        margin = (self.last - first or abs(self.last) or 1.0) * 0.2
        if first >= 0 and None in (one.target_low, one.target_high):
            self.first = 0.0
        else:
            self.first = max(0.0, first - margin) if first >= 0 else first - margin
        self.last += margin

    def at(self, value: float) -> float:
        """Place of a value."""
        return round(PAD + (value - self.first) / (self.last - self.first) * (WIDTH - 2 * PAD), 2)


def _interval(one: Indicator) -> tuple[float | None, ...]:
    return (one.low, one.high) if one.low is not None and one.high is not None else ()


def _limits(one: Indicator, scale: _Scale) -> list[Limit]:
    low, high, places = one.target_low, one.target_high, judgement.digits(one)
    if low is None and high is None:
        return []
    if low is not None and high is not None:
        first, second = text.limit_number(low, places), text.limit_number(high, places)
        if scale.at(high) - scale.at(low) < max(NARROW_BAND, LABEL_PT * (len(first) + len(second) + 2) / 2 + 8):
            return [_inside((scale.at(low) + scale.at(high)) / 2, f"{first}–{second}")]
        return [_inside(scale.at(low), first), _inside(scale.at(high), second)]
    end = low if low is not None else high
    assert end is not None
    word = "at least" if low is not None else "under" if one.reached else "at most"
    return [_inside(scale.at(end), f"{word} {text.limit_number(end, places)}")]


def _inside(x: float, label: str) -> Limit:
    """A label whose middle is at ``x``, moved so that it does not leave the bar."""
    half = len(label) * LABEL_PT / 2
    return Limit(round(min(max(x, half), WIDTH - half), 2), label)


def _title(of: Measure, one: Indicator) -> str:
    """What the bar shows, in words: where the figure lies to the target, and where last season's lay."""
    said = f"{of.label}: {figures.drawn_so(one, 'cross' if of.waits else 'dot')}"
    if of.last is None or of.last.value is None or one.value is None:
        return said
    far = figures.gap_of(one, of.last.value)
    if not any(digit in far.partition(text.NARROW)[0] for digit in "123456789"):
        return f"{said}; the ring of last season round the dot"
    return f"{said}; the ring of last season {far} {'right' if of.last.value > one.value else 'left'} of it"
