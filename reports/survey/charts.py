"""Charts of a condition survey: readings where they were read, sieve curves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.visit_observations import Measured, SieveCurve
from reports.page import text
from reports.page.charts import palette, vega
from reports.page.charts.charts import FULL, Chart, ChartGroup
from reports.page.charts.vega import Spec
from reports.survey.samples import Spot, on_the_green

MOST_PLANS, PLANS_ABREAST, LEAST_PLACES = 6, 3, 3
MOST_CURVES = 4
PLAN_WIDTH, SIEVE_HEIGHT = 206, 190
LABEL_HEIGHTS_PCT = (62.0, 44.0, 26.0, 80.0)
DASHES = ([1, 0], [6, 3], [2, 3], [8, 3, 2, 3])
SIEVES_MM = (0.002, 0.05, 0.15, 0.25, 0.5, 1.0, 2.0, 4.0)
"""Sizes marked on the axis: the classes of the USGA root-zone grading."""


def plans(measured: Sequence[Measured], levels: LevelSurvey | None) -> tuple[ChartGroup, ...]:
    """Where each value was read, for things read at three places at least, three plans a row; measured things first.

    Args:
        measured: things of the visit.
        levels: the level survey of the visit, whose outline and coordinates are those of the green; None for none.
    """
    ordered = sorted(measured, key=lambda one: one.family != "physical")
    shown = [one for one in ordered if len(_placed(one)) >= LEAST_PLACES][:MOST_PLANS]
    charts = [_plan(f"plan-{i}", one, levels) for i, one in enumerate(shown)]
    caption = "Each figure stands where it was read" + (
        "; the green seen from above, as on the map of levels." if levels else ", in the surveyor's own coordinates."
    )
    return tuple(
        ChartGroup(
            "plans", "" if at else "Where it was read", "" if at else caption, tuple(charts[at : at + PLANS_ABREAST])
        )
        for at in range(0, len(charts), PLANS_ABREAST)
    )


def _placed(one: Measured) -> list[Spot]:
    """The readings whose place is known, in the surveyor's coordinates."""
    return [(r.x_m, r.y_m, r.value) for r in one.readings if r.x_m is not None and r.y_m is not None]


def _plan(key: str, one: Measured, levels: LevelSurvey | None) -> Chart:
    placed = _placed(one)
    turned = on_the_green(placed, levels)
    found = placed if turned is None else turned
    edge: list[Spec] = []
    left, right = min(x for x, _, _ in found), max(x for x, _, _ in found)
    low, high = min(y for _, y, _ in found), max(y for _, y, _ in found)
    if turned is not None and levels is not None:
        wide, long = levels.size_m
        edge = [{"x": 0.0, "x2": wide, "y": 0.0, "y2": long}]
        left, right, low, high = min(0.0, left), max(wide, right), min(0.0, low), max(long, high)
    rows = [{"x": x, "y": y, "label": text.number(value, one.decimals)} for x, y, value in found]
    across, along = max(right - left, 1.0), max(high - low, 1.0)
    room = 0.0 if edge else 0.15
    x = vega.scaled("x", (left - 1 - room * across, right + 1 + room * across))
    y = vega.scaled("y", (low - 1 - room * along, high + 1 + room * along))
    dot = {"type": "point", "filled": True, "size": 14, "color": palette.ACCENT, "opacity": 1}
    box = {"type": "rect", "fill": palette.TINT, "stroke": palette.RULE, "strokeWidth": 1}
    layers = [
        vega.layer(edge, box, x=x, y=y, x2={"field": "x2"}, y2={"field": "y2"}),
        vega.layer(rows, dot, x=x, y=y),
        *vega.labels(rows, x, y, dy=-8, align="center"),
    ]
    height = round(PLAN_WIDTH * min(1.2, max(0.5, along / across)))
    title = f"{text.clean(one.label, 60)}, {text.clean(one.unit, 24)}"
    method = text.clean(one.method, 60)
    told = "; ".join(
        f"{text.clean(r.spot, 60) or 'a place not named'} {text.number(r.value, one.decimals)}"
        for r in one.readings
        if r.x_m is not None
    )
    alt = f"{title}{f' ({method})' if method else ''}, read at {text.count(len(found), 'place')}: {told}."
    return Chart(key, "of3", title, text.clean(alt, 600), vega.layered(PLAN_WIDTH, height, layers))


def sieves(curves: Sequence[SieveCurve], day: date) -> ChartGroup | None:
    """Root zone and dressings on one scale, those not sampled on the day with theirs; None where there is no curve."""
    drawn = [one for one in curves if one.points][:MOST_CURVES]
    if not drawn:
        return None
    ticks = [size for size in SIEVES_MM if size <= max(x for c in drawn for x, _ in c.points) * 1.01]
    first = min(ticks[0], *(x for c in drawn for x, _ in c.points if x > 0))
    last = max(x for c in drawn for x, _ in c.points)
    scale = {"type": "log", "domain": [first, last * 1.6], "nice": False}
    axis: Spec = {"title": None, "values": ticks, "format": "~g", "grid": True, "domain": False}
    x: Spec = {"field": "size", "type": "quantitative", "scale": scale, "axis": axis}
    y = vega.amount("passing", (0.0, 106.0))
    layers: list[Spec] = []
    for dash, one in zip(DASHES, drawn, strict=False):
        rows = [{"size": s, "passing": p} for s, p in one.points if s > 0]
        line = {"type": "line", "color": palette.ACCENT, "strokeWidth": 1.6, "strokeDash": dash}
        dot = {"type": "point", "filled": True, "size": 20, "color": palette.ACCENT, "opacity": 1}
        layers += [vega.layer(rows, line, x=x, y=y), vega.layer(rows, dot, x=x, y=y)]
    layers += vega.labels(list(_curve_labels(drawn, day)), x, y, dx=6, align="left")
    alt = " ".join(_sieve_alt(one) for one in drawn)
    spec = vega.layered(FULL, SIEVE_HEIGHT, layers)
    chart = Chart("sieve-0", "of1", "Finer than each size, % of mass; size in mm", text.clean(alt, 900), spec)
    caption = "A line a sample, a dot a sieve; each kind of dash is one sample, named beside it."
    return ChartGroup("sieves", "Sieve curves", caption, (chart,))


def _curve_labels(drawn: Sequence[SieveCurve], day: date) -> Iterator[Spec]:
    """A name beside each curve, at heights far enough apart to be read."""
    for one, height in zip(drawn, LABEL_HEIGHTS_PCT, strict=False):
        size, passing = min((p for p in one.points if p[0] > 0), key=lambda p: abs(p[1] - height))
        yield {"size": size, "passing": passing, "label": _curve_label(one, day)}


def _curve_label(one: SieveCurve, day: date) -> str:
    owner = text.clean(one.owner, 40)
    return owner if one.day == day else f"{owner}, {text.short_day(one.day)}"


def _sieve_alt(one: SieveCurve) -> str:
    sizes = ", ".join(f"{name} {text.number(size, 2)} mm" for name, size in one.sizes_mm if size is not None)
    return f"Sieve curve of {text.clean(one.owner, 60)}, {text.day(one.day)}: {sizes or 'too few sieves for a size'}."
