"""Charts of a condition survey: sieve curves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from pipeline.survey.visit_observations import SieveCurve
from reports.page import text
from reports.page.charts import palette, vega
from reports.page.charts.charts import FULL, Chart, ChartGroup
from reports.page.charts.vega import Spec
from reports.survey.sieves import sieve_size

MOST_CURVES = 4
SIEVE_HEIGHT = 190
KEY_TOP_PCT, KEY_STEP_PCT = 98.0, 10.0
"""Height of the first name of the key, and from one to the next, % passing: no curve comes near the upper left."""
DASHES = ([1, 0], [6, 3], [2, 3], [8, 3, 2, 3])
SIEVES_MM = (0.002, 0.05, 0.15, 0.25, 0.5, 1.0, 2.0, 4.0)
"""Sizes marked on the axis: the classes of the USGA root-zone grading."""


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
        key = [{"size": first * stretch, "passing": _height(len(layers) // 3)} for stretch in (1.1, 1.9)]
        layers += [vega.layer(rows, line, x=x, y=y), vega.layer(rows, dot, x=x, y=y), vega.layer(key, line, x=x, y=y)]
    layers += vega.labels(list(_names(drawn, day, first * 2.1)), x, y, align="left", baseline="middle")
    alt = " ".join(_sieve_alt(one) for one in drawn)
    spec = vega.layered(FULL, SIEVE_HEIGHT, layers)
    chart = Chart("sieve-0", "of1", "Finer than each size, % of mass; size in mm", text.clean(alt, text.MOST_ALT), spec)
    caption = "A line a sample, a dot a sieve; each kind of dash is one sample, named at the upper left."
    return ChartGroup("sieves", "Sieve curves", caption, (chart,))


def _names(drawn: Sequence[SieveCurve], day: date, size: float) -> Iterator[Spec]:
    """The key: a name a line, beside its dash."""
    for nth, one in enumerate(drawn):
        yield {"size": size, "passing": _height(nth), "label": _curve_label(one, day)}


def _height(nth: int) -> float:
    return KEY_TOP_PCT - KEY_STEP_PCT * nth


def _curve_label(one: SieveCurve, day: date) -> str:
    owner = text.clean(one.owner, 40)
    return owner if one.day == day else f"{owner}, {text.short_day(one.day)}"


def _sieve_alt(one: SieveCurve) -> str:
    """From where to where a curve rises, what half of the mass is finer than, and what lies outside the band."""
    (first, least), (last, most) = one.points[0], one.points[-1]
    rises = (
        f"rises from {text.quantity(least, '%', 0)} finer than {sieve_size(first)} mm "
        f"to {text.quantity(most, '%', 0)} finer than {sieve_size(last)} mm"
    )
    half = dict(one.sizes_mm).get("D50")
    middle = f"half is finer than {sieve_size(half)} mm" if half is not None else "the middle size is not reached"
    name = f"Sieve curve of {text.clean(one.owner, 60)}, {text.day(one.day)}"
    return f"{name}: {rises}; {middle}. {_outside(one)}"


def _outside(one: SieveCurve) -> str:
    """Which sizes are outside the band that is held against the sample."""
    if not one.judged or not one.checks:
        return "No limits are applied to it."
    known = [each for each in one.checks if each.holds is not None]
    out = [
        f"{text.clean(each.name, 60)} {text.quantity(each.value, '%', 1)} ({text.target(each.low, each.high, '%', 0)})"
        for each in known
        if not each.holds
    ]
    left = len(one.checks) - len(known)
    unknown = f", {text.count(left, 'size')} not reached" if left else ""
    band = text.clean(one.band, 120)
    if not out:
        return f"All of {text.count(len(known), 'size')} within {band}{unknown}."
    return f"Outside {band}: {'; '.join(out)}; the other {len(known) - len(out)} within{unknown}."
