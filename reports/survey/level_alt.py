"""Alternative text of the maps of a level survey: how much lies level, where high and low ground is and by how much."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.agronomy.levels.level_map import LevelMap, Mark
from pipeline.survey.level_survey import LevelSurvey
from reports.page import text
from reports.page.house_style import Units
from reports.page.units import quantity_in, turned, unit_in
from reports.survey.level_drawing import signed
from reports.survey.where import Stretch, of_stretch, stretches

EDGE_MM = 1e-6
"""What an edge of a band may be off a limit by rounding."""


LEAST_M2 = 0.5
"""Ground of less is told as none that can be seen."""


@dataclass(frozen=True)
class Words:
    """What a map calls ground that is level, too low and too high."""

    level: str
    low: str
    high: str


HEIGHTS = Words("lie within {} of it", "Lower", "Higher")
CUT_AND_FILL = Words("lie within {} and may stay", "To fill", "To cut")
MOVED = Words("moved by no more than {}", "Sunk by more", "Risen by more")


def heights_alt(found: LevelSurvey, samples: int, units: Units) -> str:
    """The map of heights: level ground, where it is lower and higher, the lowest and the highest place.

    Args:
        found: the survey.
        samples: places of samples that are marked on the map.
        units: units of display.
    """
    marks = {one.what: one for one in found.map.marks}
    limit = found.tolerance_mm or limit_of(found.map)
    told = map_alt(f"Map of heights over {found.surface}", found.map, limit, HEIGHTS, units, marks)
    crown = marks.get("top of the crown")
    top = [f"Top of the crown: {_at(crown, units)}."] if crown else []
    marked = [f"Samples are marked at {text.count(samples, 'place')}."] if samples else []
    return text.clean(" ".join([told, *top, *marked]), text.MOST_ALT)


def limit_of(drawn: LevelMap) -> float:
    """How far from the surface the middle step of a map reaches, mm."""
    return next(one.high_mm for one in drawn.bands if one.low_mm < 0 < one.high_mm)


def map_alt(
    name: str, drawn: LevelMap, limit_mm: float, words: Words, units: Units, marks: dict[str, Mark] | None = None
) -> str:
    """What a map shows of level, low and high ground."""
    low = [one for one in drawn.bands if one.high_mm <= -limit_mm + EDGE_MM and one.shapes]
    high = [one for one in drawn.bands if one.low_mm >= limit_mm - EDGE_MM and one.shapes]
    level = sum(one.area_m2 for one in drawn.bands if one not in low and one not in high)
    within = words.level.format(as_set(limit_mm, "mm", units))
    parts = [f"{name}: {quantity_in(level, 'm²', 0, units)} {within}."]
    for what, bands, mark in ((words.low, low, "lowest"), (words.high, high, "highest")):
        ends = [f"{mark} {_height(one, units)} at {_at(one, units)}"] if (one := (marks or {}).get(mark)) else []
        ground = sum(one.area_m2 for one in bands)
        if ground < LEAST_M2:
            parts.append(text.sentence("; ".join([f"{what}: {'hardly anywhere' if bands else 'nowhere'}", *ends])))
            continue
        where = list(_where(stretches(bands), drawn, units))
        parts.append(text.sentence("; ".join([f"{what}: {quantity_in(ground, 'm²', 0, units)}, {where[0]}", *ends])))
    return text.clean(" ".join(parts), text.MOST_ALT)


def as_set(value: float, unit: str, units: Units) -> str:
    """A limit as it was set, with no more digits than it needs."""
    number, unit, places = turned(value, unit, 1, units)
    return text.with_unit(text.limit_number(number, max(places, 0)), unit)


def _where(found: list[Stretch], drawn: LevelMap, units: Units) -> Iterator[str]:
    """Where the ground lies: its one stretch, or the largest and how many more there are."""
    most = found[0]
    across, along = ((quantity_in(low, "m", 0, units), quantity_in(high, "m", 0, units))
                     for low, high in ((most.left, most.right), (most.near, most.far)))  # fmt: skip
    place = f"{of_stretch(most, drawn)} ({across[0]} to {across[1]} across, {along[0]} to {along[1]} along)"
    if len(found) == 1:
        yield place
        return
    much = quantity_in(most.area_m2, "m²", 0, units)
    yield f"{much} of it {place}, the rest in {text.count(len(found) - 1, 'other place')}"


def _height(mark: Mark, units: Units) -> str:
    return f"{signed(mark.height_mm, units)} {unit_in('mm', units)}"


def _at(mark: Mark, units: Units) -> str:
    return f"{quantity_in(mark.across_m, 'm', 1, units)} across, {quantity_in(mark.along_m, 'm', 1, units)} along"
