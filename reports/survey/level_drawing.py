"""The map of a level survey as SVG: stepped bands, rinks, places that stand out, samples, a key, north and a scale.

Tones run one way, dark for low and pale for high, so that a grey print and any eye for colour read the same; the edges
of what counts as level are drawn strong. Steps, not gradients: each has its range in the key.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import escape

from pipeline.agronomy.levels.level_map import Band, LevelMap, Ring
from pipeline.agronomy.units import M_PER_FOOT
from reports.page import text
from reports.page.charts import palette
from reports.page.house_style import Units
from reports.page.units import turned, unit_in
from reports.survey.label_places import ASIDE_FIRST, Box, Place, around, free, leader
from reports.survey.samples import KINDS, Sample

LOW, MIDDLE, HIGH = (0x1F, 0x4A, 0x5C), (0x93, 0xB0, 0xA8), (0xFB, 0xF3, 0xE1)
"""Ends and middle of the tones, sRGB; their lightness rises all the way."""
PLAN = 420.0
"""Longer side of the plan, in the units of the view box."""
MARGIN = 20.0
NICE_M, NICE_FT = (1, 2, 5, 10, 20), (5, 10, 20, 50)
MOST_DIGITS = 2
"""Digits of an inch on a map: a hundredth is a quarter of a millimetre."""
MOST_POINTS = 1200
"""Levelled points that are drawn: a scan of thousands would cover the map."""
CALLED = {"counted": "plants counted", "core": "core", "probe": "probe or hammer", "ring": "infiltration ring"}


@dataclass(frozen=True)
class Lettering:
    """How large a map is lettered, in the units of its view box: a map printed smaller has larger letters.

    Attributes:
        font: size of the letters.
        names: size of the names of samples.
        key_width: room for the key.
    """

    font: float
    names: float
    key_width: float


WIDE, HALF = Lettering(18.0, 17.6, 205.0), Lettering(24.0, 21.0, 245.0)
"""A map that has 112 mm of the page, and one that has half of it: no letter is under 8 pt."""


@dataclass(frozen=True)
class Beside:
    """What a map shows beside its bands.

    Attributes:
        samples: places where samples were taken.
        points_m: places that were levelled, across and along.
        north_deg: how far north lies from the top of the map, degrees clockwise; None where that is not recorded.
    """

    samples: Sequence[Sample] = ()
    points_m: Sequence[tuple[float, float]] = ()
    north_deg: float | None = None


NOTHING = Beside()


def tones(count: int) -> tuple[str, ...]:
    """So many tones from low to high, as "#rrggbb"."""
    made = []
    for i in range(count):
        place = i / (count - 1) if count > 1 else 0.5
        left, right, share = (LOW, MIDDLE, place * 2) if place < 0.5 else (MIDDLE, HIGH, place * 2 - 1)
        mixed = (round(a + (b - a) * share) for a, b in zip(left, right, strict=True))
        made.append("#" + "".join(f"{value:02x}" for value in mixed))
    return tuple(made)


def svg(
    drawn: LevelMap,
    tolerance_mm: float | None,
    heading: str = "Height",
    units: Units = "metric",
    letters: Lettering = WIDE,
    beside: Beside = NOTHING,
) -> bytes:
    """The map.

    Args:
        drawn: bands, rinks and marks in the green's axes.
        tolerance_mm: distance from the surface aimed at that counts as level; its edges are drawn strong. None: none.
        heading: heading of the key, to which the unit is added.
        units: units of display.
        letters: how large it is lettered.
        beside: what it shows beside its bands.
    """
    scale = PLAN / max(drawn.width_m, drawn.length_m)
    wide, high = drawn.width_m * scale, drawn.length_m * scale
    place = _Place(scale, MARGIN, MARGIN + high)
    width, height = wide + letters.key_width + 3 * MARGIN, high + MARGIN + 2.8 * letters.font
    colours = tones(len(drawn.bands))
    left = MARGIN * 2 + wide
    said = _said(drawn, beside.samples, place, units)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.1f} {height:.1f}" '
        f'width="{width:.1f}" height="{height:.1f}" font-family="Inter" font-size="{letters.font}" '
        f'fill="{palette.INK}">',
        *_bands(drawn.bands, colours, tolerance_mm, place),
        *_points(beside.points_m, place),
        *_rinks(drawn, place, letters),
        f'<rect x="{MARGIN}" y="{MARGIN}" width="{wide:.1f}" height="{high:.1f}" fill="none" '
        f'stroke="{palette.INK}" stroke-width="1.4"/>',
        *_samples(beside.samples, drawn, [to.box for _, to in said], place, letters),
        *_marks(drawn, said, place),
        *_key(_entries(drawn.bands, colours, units), left, f"{heading}, {unit_in('mm', units)}", letters),
        *_signs(beside.samples, left, MARGIN + high - 78, letters),
        *_north(beside.north_deg, left + 22, MARGIN + high - 30),
        *_scale_bar(drawn.width_m, place, units, letters),
        "</svg>",
    ]
    return "".join(parts).encode()


class _Place:
    """Metres on the green to places in the view box: along the rinks is up."""

    def __init__(self, scale: float, left: float, bottom: float) -> None:
        self.scale, self.left, self.bottom = scale, left, bottom

    def at(self, across_m: float, along_m: float) -> tuple[float, float]:
        return self.left + across_m * self.scale, self.bottom - along_m * self.scale

    def frame(self, drawn: LevelMap) -> Box:
        """The outline of the plan."""
        (left, bottom), (right, top) = self.at(0.0, 0.0), self.at(drawn.width_m, drawn.length_m)
        return left, top, right, bottom

    def path(self, rings: Sequence[Ring]) -> str:
        parts = []
        for ring in rings:
            points = " L".join(f"{x:.1f} {y:.1f}" for x, y in (self.at(*point) for point in ring))
            parts.append(f"M{points} Z")
        return "".join(parts)


def _bands(bands: Sequence[Band], colours: Sequence[str], tolerance: float | None, place: _Place) -> Iterator[str]:
    for band, colour in zip(bands, colours, strict=True):
        for shape in band.shapes:
            path = place.path((shape.outline, *shape.holes))
            yield f'<path d="{path}" fill="{colour}" fill-rule="evenodd" stroke="{palette.WHITE}" stroke-width="0.6"/>'
    if tolerance is None:
        return
    for band in bands:
        edge = -band.high_mm if band.high_mm < 0 else band.low_mm
        if math.isclose(edge, tolerance, rel_tol=1e-6):
            for shape in band.shapes:
                path = place.path((shape.outline, *shape.holes))
                yield f'<path d="{path}" fill="none" stroke="{palette.INK}" stroke-width="1.3"/>'


def _points(points: Sequence[tuple[float, float]], place: _Place) -> Iterator[str]:
    """Every levelled point as a small dot; of a scan none."""
    if 0 < len(points) <= MOST_POINTS:
        dots = "".join(f"M{x:.1f} {y:.1f}h0" for x, y in (place.at(*one) for one in points))
        yield f'<path d="{dots}" stroke="{palette.INK}" stroke-width="1.5" stroke-linecap="round" opacity="0.55"/>'


def _rinks(drawn: LevelMap, place: _Place, letters: Lettering) -> Iterator[str]:
    for across in drawn.rinks_m:
        (x1, y1), (_, y2) = place.at(across, 0.0), place.at(across, drawn.length_m)
        yield (
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x1:.1f}" y2="{y2:.1f}" stroke="{palette.INK}" '
            'stroke-width="0.7" stroke-dasharray="5 4"/>'
        )
    edges = (0.0, *drawn.rinks_m, drawn.width_m) if drawn.rinks_m else ()
    for number, (left, right) in enumerate(pairwise(edges), start=1):
        x, y = place.at((left + right) / 2, 0.0)
        yield f'<text x="{x:.1f}" y="{y + letters.font + 2:.1f}" text-anchor="middle">{number}</text>'


def _samples(
    found: Sequence[Sample], drawn: LevelMap, words: Sequence[Box], place: _Place, letters: Lettering
) -> Iterator[str]:
    """Each place with its mark and its name, which steps aside from every mark and from what is written already."""
    at = [place.at(one.across_m, one.along_m) for one in found]
    taken = [*words, *_marked(found, drawn, place)]
    frame = place.frame(drawn)
    for one, mark in zip(found, at, strict=True):
        name = text.clean(one.name, 8)
        to = free(mark, (len(name) * letters.names * 0.6, letters.names), taken, frame)
        taken.append(to.box)
        if to.aside:
            yield leader(mark, to)
        yield _sign(one.kind, *mark)
        base = f'x="{to.middle[0]:.1f}" y="{to.middle[1] + letters.names * 0.36:.1f}" text-anchor="middle"'
        yield from haloed(base, name, letters.names, 500)


def _marked(found: Sequence[Sample], drawn: LevelMap, place: _Place) -> list[Box]:
    """What the marks of samples and of places that stand out cover."""
    at = [(one.across_m, one.along_m) for one in found] + [(one.across_m, one.along_m) for one in drawn.marks]
    return [around(place.at(*one), 6.0) for one in at]


def _sign(kind: str, x: float, y: float) -> str:
    """The mark of a kind of sample, told by its shape."""
    ring = f'fill="{palette.WHITE}" stroke="{palette.INK}" stroke-width="1.4"'
    if kind == "core":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.4" {ring}/>'
    if kind == "counted":
        return f'<rect x="{x - 4:.1f}" y="{y - 4:.1f}" width="8" height="8" {ring}/>'
    if kind == "ring":
        return f'<path d="M{x:.1f} {y - 5.6:.1f}l5.6 5.6l-5.6 5.6l-5.6 -5.6Z" {ring}/>'
    return f'<path d="M{x:.1f} {y - 5.2:.1f}l5 8.8h-10Z" {ring}/>'


def _signs(found: Sequence[Sample], left: float, bottom: float, letters: Lettering) -> Iterator[str]:
    """The key of the marks that a map has."""
    kinds = [kind for kind in KINDS if any(one.kind == kind for one in found)]
    for i, kind in enumerate(reversed(kinds)):
        y = bottom - i * letters.font * 1.4
        yield _sign(kind, left + 11, y)
        yield f'<text x="{left + 29:.1f}" y="{y + letters.font * 0.35:.1f}">{escape(CALLED[kind])}</text>'


def _north(degrees: float | None, x: float, y: float) -> Iterator[str]:
    """An arrow to north; nothing where it is not recorded."""
    if degrees is None:
        return
    yield (
        f'<g transform="rotate({degrees:.1f} {x:.1f} {y:.1f})">'
        f'<path d="M{x:.1f} {y - 8:.1f}l8 34l-8 -7l-8 7Z" fill="{palette.INK}"/>'
        f'<text x="{x:.1f}" y="{y - 12:.1f}" text-anchor="middle" font-weight="600">N</text></g>'
    )


def haloed(base: str, words: str, size: float, weight: int = 600) -> Iterator[str]:
    """A label that stands out from every tone: its words twice, first as a white halo."""
    base = f'{base} font-size="{size}" font-weight="{weight}"'
    yield f'<text {base} stroke="{palette.WHITE}" stroke-width="3.4" stroke-linejoin="round">{escape(words)}</text>'
    yield f"<text {base}>{escape(words)}</text>"


def _said(drawn: LevelMap, found: Sequence[Sample], place: _Place, units: Units) -> list[tuple[str, Place]]:
    """The words of each place that stands out, and where they stand: at its side where that is free."""
    taken, placed = _marked(found, drawn, place), []
    for mark in drawn.marks:
        words = f"{text.clean(mark.what, 24)} {signed(mark.height_mm, units)}"
        size = len(words) * WIDE.font * 0.58, WIDE.font
        to = free(place.at(mark.across_m, mark.along_m), size, taken, place.frame(drawn), ASIDE_FIRST)
        taken.append(to.box)
        placed.append((words, to))
    return placed


def _marks(drawn: LevelMap, said: Sequence[tuple[str, Place]], place: _Place) -> Iterator[str]:
    ring = f'fill="{palette.INK}" stroke="{palette.WHITE}" stroke-width="1.6"'
    for mark, (words, to) in zip(drawn.marks, said, strict=True):
        x, y = place.at(mark.across_m, mark.along_m)
        if to.aside:
            yield leader((x, y), to)
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.6" {ring}/>'
        base = f'x="{to.middle[0]:.1f}" y="{to.middle[1] + 5.6:.1f}" text-anchor="middle"'
        yield from haloed(base, words, WIDE.font)


def _entries(bands: Sequence[Band], colours: Sequence[str], units: Units) -> Iterator[tuple[str, str]]:
    """Tone and range of every band that is on the map, from high to low."""
    for band, colour in reversed(list(zip(bands, colours, strict=True))):
        if band.shapes:
            yield colour, band_words(band, units)


def _key(entries: Iterator[tuple[str, str]], left: float, heading: str, letters: Lettering) -> Iterator[str]:
    top, step = MARGIN + letters.font, letters.font * 1.5
    yield f'<text x="{left:.1f}" y="{top:.1f}" font-weight="600">{escape(heading)}</text>'
    for i, (colour, words) in enumerate(entries):
        y = top + letters.font * 0.55 + i * step
        yield (
            f'<rect x="{left:.1f}" y="{y:.1f}" width="22" height="17" fill="{colour}" stroke="{palette.RULE}" '
            'stroke-width="0.7"/>'
        )
        yield f'<text x="{left + 29:.1f}" y="{y + 8.5 + letters.font * 0.35:.1f}">{escape(words)}</text>'


def _scale_bar(width_m: float, place: _Place, units: Units, letters: Lettering) -> Iterator[str]:
    nice, unit, metres_each = (NICE_M, "m", 1.0) if units == "metric" else (NICE_FT, "ft", M_PER_FOOT)
    length = max((one for one in nice if one * metres_each <= width_m / 3), default=nice[0])
    x, y = place.left, place.bottom + 2.3 * letters.font
    end = x + length * metres_each * place.scale
    yield (
        f'<path d="M{x:.1f} {y - 4:.1f} V{y:.1f} H{end:.1f} V{y - 4:.1f}" fill="none" stroke="{palette.INK}" '
        'stroke-width="1.1"/>'
    )
    yield f'<text x="{end + 6:.1f}" y="{y + 1:.1f}">{length} {unit}</text>'


def band_words(band: Band, units: Units = "metric") -> str:
    """The range of a band: "+2 to +6", "under −10", "over +10"."""
    if math.isinf(band.low_mm):
        return f"under {signed(band.high_mm, units)}"
    if math.isinf(band.high_mm):
        return f"over {signed(band.low_mm, units)}"
    return f"{signed(band.low_mm, units)} to {signed(band.high_mm, units)}"


def signed(value_mm: float, units: Units = "metric") -> str:
    """A height with its sign: in whole or tenths of a millimetre, or in inches to match."""
    value, _, places = turned(value_mm, "mm", 0 if abs(value_mm - round(value_mm)) < 0.05 else 1, units)
    return text.signed(value, min(places, MOST_DIGITS))
