"""Where on a green something lies, in words for a reader who does not see the drawing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from pipeline.agronomy.levels.level_map import Band, LevelMap, Ring

_ALL = 2 / 3
"""Share of the green's width or length from which on ground is said to reach over all of it."""


@dataclass(frozen=True)
class Stretch:
    """Ground that hangs together, by the rectangle around it.

    Attributes:
        left: least distance across, m.
        right: greatest.
        near: least distance along, m.
        far: greatest.
        area_m2: ground in it, m².
    """

    left: float
    right: float
    near: float
    far: float
    area_m2: float

    def meets(self, other: Stretch) -> bool:
        """Whether the two rectangles touch."""
        across = self.left <= other.right and other.left <= self.right
        return across and self.near <= other.far and other.near <= self.far

    def joined(self, other: Stretch) -> Stretch:
        """Both in one."""
        ends = (min(self.left, other.left), max(self.right, other.right))
        return Stretch(*ends, min(self.near, other.near), max(self.far, other.far), self.area_m2 + other.area_m2)


def stretches(bands: Iterable[Band]) -> list[Stretch]:
    """The ground of these bands in stretches, the largest first; those whose rectangles touch are one."""
    found: list[Stretch] = []
    for shape in (shape for band in bands for shape in band.shapes):
        across, along = zip(*shape.outline, strict=True)
        ground = _area(shape.outline) - sum(map(_area, shape.holes))
        new = Stretch(min(across), max(across), min(along), max(along), ground)
        while meeting := [one for one in found if one.meets(new)]:
            for one in meeting:
                found.remove(one)
                new = new.joined(one)
        found.append(new)
    return sorted(found, key=lambda one: -one.area_m2)


def _area(ring: Ring) -> float:
    """Ground inside a closed line, m² (shoelace formula)."""
    return abs(sum(x * next_y - next_x * y for (x, y), (next_x, next_y) in pairwise(ring))) / 2


def of_stretch(one: Stretch, drawn: LevelMap) -> str:
    """Where a stretch of a map lies: "at the far end, right"."""
    across = _third(one.left, one.right, drawn.width_m, ("left", "middle", "right"))
    along = _third(one.near, one.far, drawn.length_m, ("near end", "middle", "far end"))
    return in_words(across, along)


def of_place(across_m: float, along_m: float, size_m: tuple[float, float]) -> str:
    """Where a place on a green of this width and length lies."""
    across = _third(across_m, across_m, size_m[0], ("left", "middle", "right"))
    return in_words(across, _third(along_m, along_m, size_m[1], ("near end", "middle", "far end")))


def _third(low: float, high: float, whole: float, names: tuple[str, str, str]) -> str:
    """The third in which the middle of a stretch lies; "" where it reaches over the whole."""
    if high - low > _ALL * whole:
        return ""
    return names[min(max(int(3 * (low + high) / 2 / whole), 0), 2)]


def in_words(across: str, along: str) -> str:
    """The third across and the third along as one; "" for all of either."""
    if not across and not along:
        return "over most of the green"
    if not across:
        return "across the middle" if along == "middle" else f"across the {along}"
    if not along:
        return "along the middle" if across == "middle" else f"along the {across} side"
    if along == "middle":
        return "in the middle" if across == "middle" else f"half way along, {across}"
    return f"at the {along}, {across}"
