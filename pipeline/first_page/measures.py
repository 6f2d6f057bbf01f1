"""The six measures of the first page, the same on every report, and what else was not measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from pipeline.common.grouped import grouped
from pipeline.first_page.standing import waits
from pipeline.indicators.base.first_page import Measure
from pipeline.indicators.base.green_season import Evidence, Indicator

SIX = (
    ("organic_matter_pct", "Organic matter, top", "not sampled"),
    ("dressing_kg_m2", "Top dressing", "none logged"),
    ("nitrogen_kg_ha", "Nitrogen", "none logged"),
    ("speed_s", "Green speed", "not timed"),
    ("speed_range_s", "Evenness of rinks", "not timed"),
    ("level_deviation_mm", "Worst hollow or bump", "not surveyed"),
)
"""Figure, what the page calls it, and what stands there where it is not measured."""
CROWN = "crown_deviation_mm"
"""Stands in the row of levels on a crown green."""
ELSE = (
    ("levels", ("level_range_mm",)),
    ("grass cover", ("cover_pct",)),
    ("thatch", ("thatch_mm",)),
    ("drainage", ("infiltration_mm_h",)),
    ("organic matter", ("organic_matter_pct",)),
    ("green speed", ("speed_s",)),
)
"""What a report can hold, and a figure of it."""


def measures(
    figures: Sequence[Indicator], last: Iterable[Indicator], lines: frozenset[Evidence]
) -> tuple[Measure, ...]:
    """The six, in their order; one that is not measured is there without a figure.

    Args:
        figures: of the green and season.
        last: figures of the season before.
        lines: lines under a warning.
    """
    now, before = grouped(figures, lambda one: one.name), grouped(last, lambda one: one.name)
    return tuple(_measure(one, now, before, lines) for one in SIX)


def _measure(
    of: tuple[str, str, str],
    now: dict[str, list[Indicator]],
    before: dict[str, list[Indicator]],
    lines: frozenset[Evidence],
) -> Measure:
    name, label, absent = of
    if name == "level_deviation_mm" and name not in now and CROWN in now:
        name, label = CROWN, "Farthest off the crown"
    figure = _top(now.get(name, ()))
    if figure is None:
        return Measure(label, None, absent=absent)
    last = next((one for one in before.get(name, ()) if one.band == figure.band and one.value is not None), None)
    return Measure(label, figure, last, waits(figure, lines))


def _top(figures: Sequence[Indicator]) -> Indicator | None:
    """The figure; of several layers the first, which is the top one."""
    return next((one for one in figures if one.value is not None), None)


def not_measured(figures: Iterable[Indicator]) -> Iterator[str]:
    """What was not measured on the green, in words."""
    known = {one.name for one in figures if one.value is not None}
    return (what for what, names in ELSE if not known.intersection(names))
