"""Cores drawn to scale as SVG, each material with a pattern of its own and its words beside it.

So ash is told from turf on a grey print and by any eye. The patterns are those of borehole logs: dots for sand, open
circles for gravel, long dashes for clay (BS 5930, code of practice for ground investigations; from memory). Turf,
fibre, loam and ash have none there: blades, ticks, short dashes and a cross hatch stand for them here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from markupsafe import escape

from pipeline.agronomy.units import MM_PER_INCH
from pipeline.survey.visit_observations import LayerProfile
from reports.page import text
from reports.page.charts import palette
from reports.page.house_style import Units
from reports.page.units import quantity_in

WIDTH, HEIGHT = 260.0, 196.0
LEFT, COLUMN, TOP = 34.0, 62.0, 8.0
FONT, LINE = 9.6, 11.4
"""Size and line height of the words: printed at 86 mm the drawing's unit is 0.94 pt."""
CHARACTERS = 31
"""Characters of a line of words beside the core."""
MATERIALS = {
    "ash": ("ash", "clinker", "cinder"),
    "turf": ("turf", "thatch", "sward", "grass"),
    "fibre": ("fibr", "peat", "root", "organic"),
    "gravel": ("gravel", "stone", "grit"),
    "clay": ("clay", "silt"),
    "sand": ("sand", "dressing"),
    "soil": ("soil", "loam", "earth"),
}
"""Pattern → what the words of a layer hold where it has it; a layer of several materials has the pattern of each."""
STEPS_MM = (10, 20, 25, 50, 100, 200, 500)
STEPS_IN = (0.5, 1.0, 2.0, 4.0, 8.0)


def materials(words: str) -> tuple[str, ...]:
    """The patterns that the words of a layer ask for; none where they name no material."""
    said = words.casefold()
    return tuple(name for name, parts in MATERIALS.items() if any(_names(said, part) for part in parts))


def _names(said: str, part: str) -> bool:
    """Whether the words hold the beginning of a word: "ash" is not in "washed"."""
    return any(word.startswith(part) for word in said.replace("-", " ").split())


def svg(one: LayerProfile, deepest_mm: float, units: Units = "metric") -> bytes:
    """A core.

    Args:
        one: its layers, with the thatch and roots read there.
        deepest_mm: depth at the foot of the drawing, the same for all cores of a survey.
        units: units of the depths.
    """
    scale = (HEIGHT - 2 * TOP) / deepest_mm
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}" '
        f'height="{HEIGHT:g}" font-family="Inter" font-size="{FONT}" fill="{palette.INK}">',
        *_axis(deepest_mm, scale, units),
        *_layers(one, scale),
        *_roots(one, scale),
        *_words(one, scale, units),
        "</svg>",
    ]
    return "".join(parts).encode()


def _y(depth_mm: float, scale: float) -> float:
    return TOP + depth_mm * scale


def _axis(deepest_mm: float, scale: float, units: Units) -> Iterator[str]:
    steps, each = (STEPS_MM, 1.0) if units == "metric" else (STEPS_IN, MM_PER_INCH)
    step = next((one for one in steps if deepest_mm / (one * each) <= 6), steps[-1])
    for i in range(int(deepest_mm / (step * each)) + 1):
        y = _y(i * step * each, scale)
        yield f'<line x1="{LEFT - 4}" y1="{y:.1f}" x2="{LEFT}" y2="{y:.1f}" stroke="{palette.INK}" stroke-width="0.8"/>'
        yield f'<text x="{LEFT - 6}" y="{y + FONT * 0.35:.1f}" text-anchor="end">{i * step:g}</text>'


def _layers(one: LayerProfile, scale: float) -> Iterator[str]:
    for layer in one.layers:
        top, bottom = _y(layer.top_mm, scale), _y(layer.bottom_mm, scale)
        yield _box(top, bottom, "")
        for name in materials(layer.name):
            yield from _PATTERNS[name](top, bottom)
    for start, end in one.gaps:
        yield _box(_y(start, scale), _y(end, scale), ' stroke-dasharray="2 2"')


def _box(top: float, bottom: float, dash: str) -> str:
    return (
        f'<rect x="{LEFT}" y="{top:.1f}" width="{COLUMN}" height="{bottom - top:.1f}" fill="{palette.WHITE}" '
        f'stroke="{palette.INK}" stroke-width="0.9"{dash}/>'
    )


def _strokes(parts: Iterator[str], width: float = 0.8) -> Iterator[str]:
    path = "".join(parts)
    if path:
        yield f'<path d="{path}" fill="none" stroke="{palette.INK}" stroke-width="{width}" stroke-linecap="round"/>'


def _places(top: float, bottom: float, across: float, down: float, shift: float = 0.0) -> Iterator[tuple[float, float]]:
    """Places of a pattern inside a layer, every other row shifted; one row at least where a layer is thin."""
    rows = max(1, int((bottom - top - 2) // down))
    first = (bottom - top - (rows - 1) * down) / 2
    for row in range(rows):
        x = LEFT + 4 + shift + (across / 2 if row % 2 else 0)
        while x < LEFT + COLUMN - 3:
            yield x, top + first + row * down
            x += across


def _turf(top: float, bottom: float) -> Iterator[str]:
    """Blades."""
    half = min(3.2, (bottom - top) / 2 - 0.8)
    return _strokes((f"M{x:.1f} {y - half:.1f}v{2 * half:.1f}" for x, y in _places(top, bottom, 4.6, 8.4)), 1.1)


def _fibre(top: float, bottom: float) -> Iterator[str]:
    """Ticks."""
    return _strokes(f"M{x - 2:.1f} {y - 1.6:.1f}l2 3.2l2 -3.2" for x, y in _places(top, bottom, 12.0, 9.0, 2.0))


def _gravel(top: float, bottom: float) -> Iterator[str]:
    """Open circles."""
    for x, y in _places(top, bottom, 9.0, 8.0):
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.4" fill="none" stroke="{palette.INK}" stroke-width="0.8"/>'


def _clay(top: float, bottom: float) -> Iterator[str]:
    """Long dashes."""
    edge = LEFT + COLUMN - 2
    return _strokes(f"M{x:.1f} {y:.1f}h{min(8.0, edge - x):.1f}" for x, y in _places(top, bottom, 13.0, 7.0))


def _sand(top: float, bottom: float) -> Iterator[str]:
    """Dots."""
    return _strokes((f"M{x:.1f} {y:.1f}h0.01" for x, y in _places(top, bottom, 6.0, 5.4, 1.4)), 1.5)


def _soil(top: float, bottom: float) -> Iterator[str]:
    """Short dashes."""
    return _strokes(f"M{x:.1f} {y:.1f}h3.4" for x, y in _places(top, bottom, 10.0, 10.0, 1.0))


def _ash(top: float, bottom: float) -> Iterator[str]:
    """A cross hatch, cut at the edges of the layer."""

    def lines() -> Iterator[str]:
        height, right = bottom - top, LEFT + COLUMN
        at = LEFT - height + 3.0
        while at < right:
            start, end = max(at, LEFT), min(at + height, right)
            if end > start:
                yield f"M{start:.1f} {top + start - at:.1f}L{end:.1f} {top + end - at:.1f}"
                yield f"M{start:.1f} {bottom - (start - at):.1f}L{end:.1f} {bottom - (end - at):.1f}"
            at += 6.0

    return _strokes(lines(), 0.9)


_PATTERNS: dict[str, Callable[[float, float], Iterator[str]]] = {
    "ash": _ash,
    "turf": _turf,
    "fibre": _fibre,
    "gravel": _gravel,
    "clay": _clay,
    "sand": _sand,
    "soil": _soil,
}


def _roots(one: LayerProfile, scale: float) -> Iterator[str]:
    if one.root_mm is not None:
        y = _y(one.root_mm, scale)
        yield (
            f'<line x1="{LEFT - 4}" y1="{y:.1f}" x2="{LEFT + COLUMN + 8}" y2="{y:.1f}" stroke="{palette.WHITE}" '
            'stroke-width="4"/>'
            f'<line x1="{LEFT - 4}" y1="{y:.1f}" x2="{LEFT + COLUMN + 8}" y2="{y:.1f}" stroke="{palette.INK}" '
            'stroke-width="2" stroke-dasharray="6 3"/>'
        )


def _words(one: LayerProfile, scale: float, units: Units) -> Iterator[str]:
    """What each layer is, beside it, with its depths; lines lead to where the words had to move."""
    told = [((a.top_mm + a.bottom_mm) / 2, f"{text.clean(a.name, 60)}, {_depths(a.top_mm, a.bottom_mm, units)}")
            for a in one.layers]  # fmt: skip
    told += [((top + bottom) / 2, f"not described, {_depths(top, bottom, units)}") for top, bottom in one.gaps]
    if one.root_mm is not None:
        told.append((one.root_mm, f"roots reach {quantity_in(one.root_mm, 'mm', 0, units)}"))
    lines = [(_y(depth, scale), _wrapped(words)) for depth, words in sorted(told)]
    middles = _spread([y for y, _ in lines], [len(words) * LINE + 2 for _, words in lines])
    x = LEFT + COLUMN + 18
    for (y, words), middle in zip(lines, middles, strict=True):
        yield (
            f'<path d="M{LEFT + COLUMN:.1f} {y:.1f}L{x - 3:.1f} {middle:.1f}" stroke="{palette.SOFT}" fill="none" '
            'stroke-width="0.7"/>'
        )
        first = middle - (len(words) - 1) * LINE / 2 + FONT * 0.35
        for i, line in enumerate(words):
            yield f'<text x="{x:.1f}" y="{first + i * LINE:.1f}">{escape(line)}</text>'


def _depths(top_mm: float, bottom_mm: float, units: Units) -> str:
    top, bottom = (quantity_in(one, "mm", 0, units) for one in (top_mm, bottom_mm))
    return f"{top.partition(text.NARROW)[0]}–{bottom}"


def _wrapped(words: str) -> list[str]:
    lines = [""]
    for word in words.split(" "):
        if lines[-1] and len(lines[-1]) + 1 + len(word) > CHARACTERS:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _spread(wanted: Sequence[float], heights: Sequence[float]) -> list[float]:
    """Middles of labels as near as they may be to where they are wanted, none over another, all on the drawing."""
    placed: list[float] = []
    for i, (y, height) in enumerate(zip(wanted, heights, strict=True)):
        least = placed[-1] + (heights[i - 1] + height) / 2 if placed else height / 2
        placed.append(max(y, least))
    foot = HEIGHT
    for i in reversed(range(len(placed))):
        placed[i] = min(placed[i], foot - heights[i] / 2)
        foot = placed[i] - heights[i] / 2
    assert all(a <= b for a, b in pairwise(placed)), "labels keep their order"
    return placed


def name_of(one: LayerProfile) -> str:
    """What a core is called: the surveyor's name of its place; where that is stands on the map."""
    name = one.place.partition(",")[0]
    return f"Core {text.clean(name, 40)}" if name and not name[0].isdigit() else "Core"


def alt(one: LayerProfile, units: Units) -> str:
    """What a core shows, in words."""
    told = [f"{_depths(a.top_mm, a.bottom_mm, units)} {text.clean(a.name, 40)}" for a in one.layers]
    told += [f"{_depths(top, bottom, units)} not described" for top, bottom in one.gaps]
    if one.thatch_mm is not None:
        told.append(f"thatch {quantity_in(one.thatch_mm, 'mm', 0, units)}")
    if one.root_mm is not None:
        told.append(f"roots to {quantity_in(one.root_mm, 'mm', 0, units)}")
    return text.clean(f"{name_of(one)}: {'; '.join(told)}.", text.MOST_ALT)
