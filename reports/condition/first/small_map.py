"""The small level map of the first page: what is low in three tones, what is high hatched, the deepest place named."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.agronomy.levels.level_map import Band, LevelMap
from pipeline.common.amounts import Amount
from pipeline.indicators.base.first_page import Hollows
from reports.page import text
from reports.page.house_style import Units
from reports.page.units import amount_in

WIDE, HIGH = 130.0, 122.0
"""Most width and height of the map, pt."""
DEPTHS = ("slight", "middle", "deep")
"""Tones of what is low, from the middle band outwards; what lies deeper has the last."""
LABEL_PT = 4.9
"""Width of a character of the label, pt, at 8.5 pt."""


@dataclass(frozen=True)
class Area:
    """Ground of one tone: an SVG path, and its tone."""

    path: str
    tone: str


@dataclass(frozen=True)
class Key:
    """One entry of the key."""

    tone: str
    label: str


@dataclass(frozen=True)
class SmallMap:
    """The map, in points.

    Attributes:
        width: its width.
        height: its height.
        areas: ground that is not level.
        key: what the tones say.
        label: what is said of the deepest place; "" where nothing is low.
        label_x: middle of the label.
        label_y: its baseline.
        place: the deepest place, across and down; none where nothing is low.
        surface: the unit of the key, and what heights are counted from.
        title: what the map shows, in words.
    """

    width: float
    height: float
    areas: tuple[Area, ...]
    key: tuple[Key, ...]
    label: str
    label_x: float
    label_y: float
    place: tuple[float, ...]
    surface: str
    title: str


def small_map(levels: LevelMap, tolerance_mm: float, hollows: Hollows | None, units: Units) -> SmallMap:
    """The map of a survey.

    Args:
        levels: the survey's bands.
        tolerance_mm: distance from the surface aimed at that counts as level.
        hollows: where the green is low.
        units: units of display.
    """
    scale = min(WIDE / levels.width_m, HIGH / levels.length_m)
    height = round(levels.length_m * scale, 1)
    toned = [(band, tone) for band in levels.bands if band.shapes and (tone := _tone(band, levels, tolerance_mm))]
    place: tuple[float, ...] = ()
    label = ""
    if hollows is not None:
        place = (round(hollows.across_m * scale, 1), round(height - hollows.along_m * scale, 1))
        label = f"{_mm(hollows.deepest_mm, units)} low"
    unit = amount_in(Amount(0.0, "mm"), units).split()[-1]
    half = len(label) * LABEL_PT / 2
    wide = round(levels.width_m * scale, 1)
    return SmallMap(
        width=wide,
        height=height,
        areas=tuple(Area(_path(band, scale, height), tone) for band, tone in toned),
        key=tuple(_key(toned, units)),
        label=label,
        label_x=round(min(max(place[0], half + 3), wide - half - 3), 1) if place else 0.0,
        label_y=round(place[1] + 24 if place[1] < height - 34 else place[1] - 16, 1) if place else 0.0,
        place=place,
        surface=f"{unit}, from the {'fitted crown' if 'crown' in levels.surface else 'mean'}; 0: corner",
        title=_title(levels, tolerance_mm, hollows, units),
    )


def _tone(band: Band, levels: LevelMap, tolerance_mm: float) -> str:
    """Tone of a band; "" of what counts as level."""
    if band.high_mm < 0:
        lower = sorted((one.high_mm for one in levels.bands if one.high_mm < 0), reverse=True)
        return DEPTHS[min(lower.index(band.high_mm), len(DEPTHS) - 1)]
    return "high" if band.low_mm >= tolerance_mm - 1e-6 else ""


def _key(toned: list[tuple[Band, str]], units: Units) -> Iterator[Key]:
    for tone in (*reversed(DEPTHS), "high"):
        bands = [band for band, own in toned if own == tone]
        if not bands:
            continue
        if tone == "high":
            yield Key(tone, f"over {_number(min(one.low_mm for one in bands), units)} high")
            continue
        near, far = -max(one.high_mm for one in bands), -min(one.low_mm for one in bands)
        said = f"over {_number(near, units)}" if math.isinf(far) else f"{_number(near, units)}–{_number(far, units)}"
        yield Key(tone, f"{said} low")


def _number(mm: float, units: Units) -> str:
    return amount_in(Amount(mm, "mm", ".2g"), units).split()[0]


def _mm(mm: float, units: Units) -> str:
    return text.clean(amount_in(Amount(mm, "mm", ".0f"), units))


def _path(band: Band, scale: float, height: float) -> str:
    rings = (ring for shape in band.shapes for ring in (shape.outline, *shape.holes))
    return "".join("M" + "L".join(f"{x * scale:.1f} {height - y * scale:.1f}" for x, y in ring) + "Z" for ring in rings)


def _title(levels: LevelMap, tolerance_mm: float, hollows: Hollows | None, units: Units) -> str:
    """Where the ground is low, and how high it rises."""
    top = next((mark for mark in levels.marks if mark.what == "highest"), None)
    high = ""
    if top is not None and top.height_mm > tolerance_mm:
        high = f"; the highest ground is {_mm(top.height_mm, units)} up, at {_at(top.across_m, top.along_m, units)}"
    if hollows is None:
        return f"Map of heights: no ground is too low{high}"
    number, place = text.count(hollows.number, "hollow"), _at(hollows.across_m, hollows.along_m, units)
    deepest = "" if hollows.number == 1 else "the deepest "
    return f"Map of heights: {number}, {deepest}{_mm(hollows.deepest_mm, units)} deep at {place}{high}"


def _at(across_m: float, along_m: float, units: Units) -> str:
    across, along = (text.clean(amount_in(Amount(m, "m", ".0f"), units)) for m in (across_m, along_m))
    return f"{across} across, {along} along"
