"""Where each value was read, as SVG: the outline of the green, a dot a place, the value above it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import escape

from pipeline.common.words import listed
from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.visit_observations import Measured, Reading
from reports.page import text
from reports.page.charts import palette
from reports.page.rendering import Image
from reports.survey.label_places import around, free, leader
from reports.survey.samples import Spot, on_the_green
from reports.survey.where import of_place

MOST_PLANS, ABREAST, LEAST_PLACES = 6, 3, 3
MOST_NAMED = 3
"""Places that the words for a plan name where several share its lowest or highest reading."""
WIDTH, MARGIN, FONT = 206.0, 14.0, 11.0
"""Printed at 57 mm the drawing's unit is 0.78 pt, so that its letters have 8.6 pt."""
LEAST_HEIGHT, MOST_HEIGHT = 103.0, 240.0


@dataclass(frozen=True)
class PlanBox:
    """A plan as placed."""

    key: str
    title: str
    alt: str


@dataclass(frozen=True)
class PlanRow:
    """Plans side by side; heading and caption stand over the first."""

    heading: str
    caption: str
    plans: tuple[PlanBox, ...]


def plan_rows(measured: Sequence[Measured], levels: LevelSurvey | None) -> tuple[PlanRow, ...]:
    """Plans of what was read at three places at least, three a row; measured things first.

    Args:
        measured: things of the visit.
        levels: the level survey of the visit, whose outline and coordinates are those of the green; None for none.
    """
    boxes = [_box(i, one, levels) for i, one in enumerate(_shown(measured))]
    caption = "Each figure stands where it was read" + (
        "; the green seen from above, as on the map of levels." if levels else ", in the surveyor's own coordinates."
    )
    return tuple(
        PlanRow("" if at else "Where it was read", "" if at else caption, tuple(boxes[at : at + ABREAST]))
        for at in range(0, len(boxes), ABREAST)
    )


def plan_images(measured: Sequence[Measured], levels: LevelSurvey | None) -> dict[str, Image]:
    """The drawings of the plans by key."""
    return {f"plan:{i}": Image("image/svg+xml", _svg(one, levels)) for i, one in enumerate(_shown(measured))}


def _shown(measured: Sequence[Measured]) -> list[Measured]:
    ordered = sorted(measured, key=lambda one: one.family != "physical")
    return [one for one in ordered if len(_placed(one)) >= LEAST_PLACES][:MOST_PLANS]


def _placed(one: Measured) -> list[Spot]:
    """The readings whose place is known, in the surveyor's coordinates."""
    return [(r.x_m, r.y_m, r.value) for r in one.readings if r.x_m is not None and r.y_m is not None]


def _box(number: int, one: Measured, levels: LevelSurvey | None) -> PlanBox:
    unit = text.PRINTED_UNITS.get(one.unit, one.unit)
    title, method = f"{text.clean(one.label, 60)}, {text.clean(unit, 24)}", text.clean(one.method, 120)
    places = text.count(len(_placed(one)), "place")
    alt = f"{title}{f' ({method})' if method else ''}, read at {places}: {_told(one, levels)}"
    return PlanBox(f"plan:{number}", title, text.clean(alt, text.MOST_ALT))


def _told(one: Measured, levels: LevelSurvey | None) -> str:
    """The mean of the readings on a plan, and where the lowest and the highest lie; each stands in the table."""
    placed = _placed(one)
    readings = [r for r in one.readings if r.x_m is not None and r.y_m is not None]
    values = [value for *_, value in placed]
    mean = text.number(one.value if len(values) == len(one.readings) else sum(values) / len(values), one.decimals)
    if min(values) == max(values):
        return f"{mean} everywhere."
    turned = on_the_green(placed, levels)
    size = levels.size_m if turned is not None and levels is not None else None
    ends = []
    for what, value in (("lowest", min(values)), ("highest", max(values))):
        at = [i for i, each in enumerate(values) if each == value]
        ends.append(f"{what} {text.number(value, one.decimals)} {_named(readings, at, turned, size)}")
    return f"mean {mean}, {', '.join(ends)}."


def _named(
    readings: Sequence[Reading], at: Sequence[int], turned: list[Spot] | None, size: tuple[float, float] | None
) -> str:
    """Names of places on a plan and where on the green they lie; how many, where they are many."""
    if len(at) > MOST_NAMED:
        return f"at {len(at)} places"
    names = []
    for i in at:
        name = text.clean(readings[i].spot, 60) or "a place not named"
        where = f" ({of_place(*turned[i][:2], size)})" if turned is not None and size is not None else ""
        names.append(f"{name}{where}")
    return f"at {listed(names)}"


def _svg(one: Measured, levels: LevelSurvey | None) -> bytes:
    placed = _placed(one)
    turned = on_the_green(placed, levels)
    found = placed if turned is None else turned
    edges = [(x, y) for x, y, _ in found]
    if turned is not None and levels is not None:
        edges += [(0.0, 0.0), levels.size_m]
    left, low = (min(each) for each in zip(*edges, strict=True))
    wide, high = (max(max(each) - min(each), 1.0) for each in zip(*edges, strict=True))
    room = WIDTH - 2 * MARGIN
    tall = min(max(room * high / wide, LEAST_HEIGHT), MOST_HEIGHT)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {tall + 2 * MARGIN:.1f}" width="{WIDTH:g}" '
        f'height="{tall + 2 * MARGIN:.1f}" font-family="Inter" font-size="{FONT}" fill="{palette.INK}">',
        *(_outline(tall) if turned is not None else ()),
        *_readings(
            [(MARGIN + (x - left) / wide * room, MARGIN + tall - (y - low) / high * tall, v) for x, y, v in found],
            one.decimals,
            tall,
        ),
        "</svg>",
    ]
    return "".join(parts).encode()


def _outline(tall: float) -> Iterator[str]:
    yield (
        f'<rect x="{MARGIN}" y="{MARGIN}" width="{WIDTH - 2 * MARGIN}" height="{tall:.1f}" fill="{palette.TINT}" '
        f'stroke="{palette.RULE}"/>'
    )


def _readings(found: Sequence[Spot], decimals: int, tall: float) -> Iterator[str]:
    """Dots in one path, values above them, or beside them where another stands there."""
    dots = "".join(f"M{x:.1f} {y:.1f}h0.01" for x, y, _ in found)
    yield f'<path d="{dots}" stroke="{palette.ACCENT}" stroke-width="4" stroke-linecap="round"/>'
    taken = [around((x, y), 2.0) for x, y, _ in found]
    for x, y, value in found:
        words = text.number(value, decimals)
        size = len(words) * FONT * 0.58, FONT * 0.8
        to = free((x, y), size, taken, (0.0, 0.0, WIDTH, tall + 2 * MARGIN), gap=4.6)
        taken.append(to.box)
        if to.aside:
            yield leader((x, y), to)
        u, v = to.middle
        yield f'<text x="{u:.1f}" y="{v + FONT * 0.36:.1f}" text-anchor="middle">{escape(words)}</text>'
