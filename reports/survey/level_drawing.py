"""The map of a level survey as SVG: stepped bands, rinks, places that stand out, a key and a scale.

Tones run one way, dark for low and pale for high, so that a grey print and any eye for colour read the same; the edges
of what counts as level are drawn strong. Steps, not gradients: each has its range in the key.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from markupsafe import escape

from pipeline.agronomy.levels.level_map import Band, LevelMap, Ring
from reports.page import text
from reports.page.charts import palette

LOW, MIDDLE, HIGH = (0x1F, 0x4A, 0x5C), (0x93, 0xB0, 0xA8), (0xFB, 0xF3, 0xE1)
"""Ends and middle of the tones, sRGB; their lightness rises all the way."""
PLAN = 420.0
"""Longer side of the plan, in the units of the view box."""
KEY_WIDTH, MARGIN, FONT = 142.0, 20.0, 16.5
NICE_M = (1, 2, 5, 10, 20)


def tones(count: int) -> tuple[str, ...]:
    """So many tones from low to high, as "#rrggbb"."""
    made = []
    for i in range(count):
        place = i / (count - 1) if count > 1 else 0.5
        left, right, share = (LOW, MIDDLE, place * 2) if place < 0.5 else (MIDDLE, HIGH, place * 2 - 1)
        mixed = (round(a + (b - a) * share) for a, b in zip(left, right, strict=True))
        made.append("#" + "".join(f"{value:02x}" for value in mixed))
    return tuple(made)


def svg(drawn: LevelMap, tolerance_mm: float | None, heading: str = "Height, mm") -> bytes:
    """The map.

    Args:
        drawn: bands, rinks and marks in the green's axes.
        tolerance_mm: distance from the surface aimed at that counts as level; its edges are drawn strong. None: none.
        heading: heading of the key.
    """
    scale = PLAN / max(drawn.width_m, drawn.length_m)
    wide, high = drawn.width_m * scale, drawn.length_m * scale
    place = _Place(scale, MARGIN, MARGIN + high)
    width, height = wide + KEY_WIDTH + 3 * MARGIN, high + 3.2 * MARGIN
    colours = tones(len(drawn.bands))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.1f} {height:.1f}" '
        f'width="{width:.1f}" height="{height:.1f}" font-family="Inter" font-size="{FONT}" fill="{palette.INK}">',
        *_bands(drawn.bands, colours, tolerance_mm, place),
        *_rinks(drawn, place),
        f'<rect x="{MARGIN}" y="{MARGIN}" width="{wide:.1f}" height="{high:.1f}" fill="none" '
        f'stroke="{palette.INK}" stroke-width="1.4"/>',
        *_marks(drawn, place),
        *_key(drawn.bands, colours, MARGIN * 2 + wide, heading),
        *_scale_bar(drawn.width_m, place),
        "</svg>",
    ]
    return "".join(parts).encode()


class _Place:
    """Metres on the green to places in the view box: along the rinks is up."""

    def __init__(self, scale: float, left: float, bottom: float) -> None:
        self.scale, self.left, self.bottom = scale, left, bottom

    def at(self, across_m: float, along_m: float) -> tuple[float, float]:
        return self.left + across_m * self.scale, self.bottom - along_m * self.scale

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


def _rinks(drawn: LevelMap, place: _Place) -> Iterator[str]:
    for across in drawn.rinks_m:
        (x1, y1), (_, y2) = place.at(across, 0.0), place.at(across, drawn.length_m)
        yield (
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x1:.1f}" y2="{y2:.1f}" stroke="{palette.INK}" '
            'stroke-width="0.7" stroke-dasharray="5 4"/>'
        )
    edges = (0.0, *drawn.rinks_m, drawn.width_m) if drawn.rinks_m else ()
    for number, (left, right) in enumerate(pairwise(edges), start=1):
        x, y = place.at((left + right) / 2, 0.0)
        yield f'<text x="{x:.1f}" y="{y + FONT + 2:.1f}" text-anchor="middle">{number}</text>'


def _marks(drawn: LevelMap, place: _Place) -> Iterator[str]:
    for mark in drawn.marks:
        x, y = place.at(mark.across_m, mark.along_m)
        label = signed(mark.height_mm)
        right = x > MARGIN + drawn.width_m * place.scale * 0.62
        anchor, shift = ("end", -8) if right else ("start", 8)
        ring = f'fill="{palette.WHITE}" stroke="{palette.INK}" stroke-width="1.6"'
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" {ring}/>'
        base = f'x="{x + shift:.1f}" y="{y + 5.6:.1f}" text-anchor="{anchor}" font-weight="600"'
        words = escape(f"{text.clean(mark.what, 24)} {label}")
        yield f'<text {base} stroke="{palette.WHITE}" stroke-width="3.4" stroke-linejoin="round">{words}</text>'
        yield f"<text {base}>{words}</text>"


def _key(bands: Sequence[Band], colours: Sequence[str], left: float, heading: str) -> Iterator[str]:
    top, step = MARGIN + FONT, 25.0
    yield f'<text x="{left:.1f}" y="{top:.1f}" font-weight="600">{escape(heading)}</text>'
    shown = [(band, colour) for band, colour in zip(bands, colours, strict=True) if band.shapes]
    for i, (band, colour) in enumerate(reversed(shown)):
        y = top + 9 + i * step
        yield (
            f'<rect x="{left:.1f}" y="{y:.1f}" width="22" height="17" fill="{colour}" stroke="{palette.RULE}" '
            'stroke-width="0.7"/>'
        )
        yield f'<text x="{left + 29:.1f}" y="{y + 14.2:.1f}">{escape(band_words(band))}</text>'


def _scale_bar(width_m: float, place: _Place) -> Iterator[str]:
    metres = max((m for m in NICE_M if m <= width_m / 3), default=1)
    x, y = place.left, place.bottom + 2.0 * MARGIN
    end = x + metres * place.scale
    yield (
        f'<path d="M{x:.1f} {y - 4:.1f} V{y:.1f} H{end:.1f} V{y - 4:.1f}" fill="none" stroke="{palette.INK}" '
        'stroke-width="1.1"/>'
    )
    yield f'<text x="{end + 6:.1f}" y="{y + 1:.1f}">{metres} m</text>'


def band_words(band: Band) -> str:
    """The range of a band: "+2 to +6", "under −10", "over +10"."""
    if math.isinf(band.low_mm):
        return f"under {signed(band.high_mm)}"
    if math.isinf(band.high_mm):
        return f"over {signed(band.low_mm)}"
    return f"{signed(band.low_mm)} to {signed(band.high_mm)}"


def signed(value: float) -> str:
    """A height with its sign, in whole or tenths of a millimetre."""
    return text.signed(value, 0 if abs(value - round(value)) < 0.05 else 1)
