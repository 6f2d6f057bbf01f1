"""Where samples were taken: every named place of a visit once, with a mark for what was done there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.visit_observations import Measured, VisitObservations

NEAR_M = 3.0
"""How far outside the levelled ground a reading may lie and still count as on the green, m."""
KINDS = ("counted", "core", "probe", "ring")
"""What is done at a place, in the order of the key: plants counted, a core taken, a probe or hammer, a water ring."""
_OF_THING = {"thatch_depth": "core", "root_depth": "core", "infiltration": "ring"}


Spot = tuple[float, float, float]
"""Place across, place along, value."""


@dataclass(frozen=True)
class Sample:
    """One place on the map.

    Attributes:
        name: as the surveyor calls it; "" where it has no name.
        kind: one of ``KINDS``.
        across_m: across the rinks, in the green's axes.
        along_m: along them.
    """

    name: str
    kind: str
    across_m: float
    along_m: float


def samples(seen: VisitObservations, levels: LevelSurvey) -> tuple[Sample, ...]:
    """The places of a visit on its map of levels, each once; none where one lies in other coordinates."""
    found = dict.fromkeys(_places(seen))
    turned = on_the_green([(x, y, 0.0) for _, _, x, y in found], levels) if found else None
    if turned is None:
        return ()
    return tuple(Sample(name, kind, x, y) for (name, kind, _, _), (x, y, _) in zip(found, turned, strict=True))


def _places(seen: VisitObservations) -> Iterator[tuple[str, str, float, float]]:
    for one in seen.measured:
        for r in one.readings:
            if r.x_m is not None and r.y_m is not None:
                yield r.spot, kind_of(one), r.x_m, r.y_m


def kind_of(one: Measured) -> str:
    """What was done where a thing was measured."""
    return "counted" if one.family == "sward" else _OF_THING.get(one.what, "probe")


def on_the_green(found: list[Spot], levels: LevelSurvey | None) -> list[Spot] | None:
    """The same in the green's axes; None where they lie outside what was levelled, and so in other coordinates."""
    if levels is None:
        return None
    wide, long = levels.size_m
    across, along = levels.axes.of(np.array([x for x, _, _ in found]), np.array([y for _, y, _ in found]))
    turned = [(float(x), float(y), value) for x, y, (_, _, value) in zip(across, along, found, strict=True)]
    inside = all(-NEAR_M <= x <= wide + NEAR_M and -NEAR_M <= y <= long + NEAR_M for x, y, _ in turned)
    return turned if inside else None
