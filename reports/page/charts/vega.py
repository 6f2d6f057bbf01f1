"""Building blocks of the charts: pieces of Vega-Lite specifications as plain dicts, and the SVG made from them."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import Any

from pipeline.indicators.base.green_season import Series
from reports.page import fonts, text
from reports.page.charts import palette
from reports.page.figures import QUESTIONED, asked

VEGA_LITE = "6.4"
KEPT = 16
"""Charts that are kept as drawn: those of one document, which is set several ways before one is printed."""
Spec = dict[str, Any]

_AXIS: Spec = {
    "labelFont": fonts.FAMILY,
    "labelFontSize": 10.5,
    "labelColor": palette.SOFT,
    "labelPadding": 4,
    "domainColor": palette.RULE,
    "tickColor": palette.RULE,
    "gridColor": palette.HAIR,
    "tickSize": 4,
}
CONFIG: Spec = {"font": fonts.FAMILY, "background": None, "view": {"stroke": None}, "axis": _AXIS}


def svg(spec: Spec) -> bytes:
    """The chart as SVG with real text, measured with the bundled typeface; nothing is fetched."""
    return _svg(json.dumps(drawn(spec)))


@lru_cache(maxsize=KEPT)
def _svg(spec: str) -> bytes:
    import vl_convert

    fonts.register_for_charts()
    made: str = vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE, allowed_base_urls=[])
    return made.encode()


def drawn(spec: Spec) -> Spec:
    """The chart without the layers that have no row: each costs as much as a full one."""
    return {**spec, "layer": [one for one in spec["layer"] if one["data"]["values"]]}


def layered(width: int, height: int, layers: list[Spec]) -> Spec:
    """A chart of layers that fits its width and height (CSS pixels) with all its labels."""
    return {
        "width": width,
        "height": height,
        "autosize": {"type": "fit", "contains": "padding"},
        "padding": {"left": 2, "right": 4, "top": 6, "bottom": 2},
        "config": CONFIG,
        "layer": layers,
    }


def layer(rows: list[Spec], mark: Spec, **encoding: Spec) -> Spec:
    """One layer: its rows, its mark, and where the mark goes."""
    return {"data": {"values": rows}, "mark": mark, "encoding": encoding}


def days(domain: tuple[date, date], label_format: str, ticks: Iterable[date]) -> Spec:
    """A time axis in UTC, the same in every time zone, labelled at the given days."""
    inside = [tick.isoformat() for tick in ticks if domain[0] <= tick <= domain[1]]
    axis: Spec = {"format": label_format, "grid": False, "labelOverlap": False, "title": None, "values": inside}
    scale = {"type": "utc", "domain": [d.isoformat() for d in domain], "nice": False}
    return {"field": "day", "type": "temporal", "scale": scale, "axis": axis}


def amount(field: str, domain: tuple[float, float]) -> Spec:
    """A number axis; its unit stands in the chart's title."""
    return scaled(field, domain, {"title": None, "tickCount": 5, "minExtent": 26, "domain": False, "ticks": False})


def scaled(field: str, domain: tuple[float, float], axis: Spec | None = None) -> Spec:
    """A scale of numbers from end to end of its domain, with its axis; None draws none."""
    return {"field": field, "type": "quantitative", "scale": {"domain": list(domain), "nice": False}, "axis": axis}


def scale_for(values: Iterable[float | None], *, from_zero: bool) -> tuple[float, float]:
    """A scale with room above and below; from zero where zero is the honest start."""
    known = [v for v in values if v is not None]
    low, high = min(known), max(known)
    if from_zero and low >= 0:
        return 0.0, (high or 1.0) * 1.12
    margin = (high - low or abs(high) or 1.0) * 0.15
    return (max(0.0, low - margin) if low >= 0 else low - margin), high + margin


def band(low: float | None, high: float | None, domain: tuple[float, float]) -> list[Spec]:
    """The target as a light band with an edge line at each end it has."""
    if low is None and high is None:
        return []
    area = {"low": domain[0] if low is None else low, "high": domain[1] if high is None else high}
    edges = [{"edge": end} for end in (low, high) if end is not None]
    return [
        layer(
            [area],
            {"type": "rect", "color": palette.BAND},
            y=amount("low", domain),
            y2={"field": "high"},
        ),
        layer(edges, {"type": "rule", "color": palette.BAND_EDGE, "strokeWidth": 0.8}, y=amount("edge", domain)),
    ]


LINE_PX = 13.0
"""Height of a line of labels, CSS pixels."""
AXIS_PX = 28.0
"""What the axis of days takes of a chart's height."""


def target_label(
    low: float | None, high: float | None, unit: str, domain: tuple[float, float], height: float
) -> list[Spec]:
    """The target in words with its unit, at the left in its band, where few dots lie; over a band too narrow for it.

    Args:
        low: lower end of the target.
        high: its upper end.
        unit: of both.
        domain: of the scale.
        height: of the chart, CSS pixels.
    """
    if low is None and high is None:
        return []
    inside, over = {"baseline": "top", "dy": 3}, {"baseline": "bottom", "dy": -2}
    if low is not None and high is not None:
        roomy = (high - low) / (domain[1] - domain[0]) * (height - AXIS_PX) >= LINE_PX
        place, style = high, inside if roomy else over
    else:
        place, style = (domain[0], over) if high is not None else (domain[1], inside)
    rows = [{"edge": place, "label": f"target {text.target(low, high, unit)}"}]
    return labels(rows, {"value": 5}, amount("edge", domain), align="left", color=palette.SOFT, **style)


def labels(rows: list[Spec], x: Spec, y: Spec, **style: Any) -> list[Spec]:
    """Direct labels on a pale halo: text beside the thing it names, so that no legend is needed."""
    base = {"type": "text", "font": fonts.FAMILY, "fontSize": 10.5, "color": palette.INK, **style}
    halo = base | {"stroke": palette.WHITE, "strokeWidth": 3, "strokeJoin": "round"}
    words: Spec = {"field": "label", "type": "nominal"}
    return [layer(rows, mark, x=x, y=y, text=words) for mark in (halo, base)]


def sample_rows(series: Series, decimals: int) -> list[Spec]:
    """A row for each sample: day, mean, interval or nothing, its ends, whether comparable, label, whether doubtful."""
    rows = []
    for s in series.samples:
        both = s.low is not None and s.high is not None
        row = {"day": s.date.isoformat(), "value": s.value, "same": s.comparable}
        interval = {"low": s.low, "high": s.high} if both else {"low": None, "high": None}
        ends = {"head": s.high, "foot": s.low} if both else {"head": s.value, "foot": s.value}
        label = asked(text.number(s.value, decimals), questioned=s.questioned)
        rows.append(row | interval | ends | {"label": label, "asked": s.questioned})
    return rows


def question_marks(rows: list[Spec], x: Spec, domain: tuple[float, float]) -> list[Spec]:
    """The mark of an entry to be checked left of the samples that rest on one."""
    marked = [{**row, "label": QUESTIONED} for row in rows if row["asked"]]
    return labels(marked, x, amount("value", domain), dx=-7, align="right", fontWeight=600)


def sample_layers(series: Series, rows: list[Spec], x: Spec, domain: tuple[float, float]) -> list[Spec]:
    """Band, single readings, intervals, means: comparable ones filled and joined, the others hollow."""
    readings = [{"day": s.date.isoformat(), "reading": r} for s in series.samples for r in s.readings]
    spread = [r for r in rows if r["low"] is not None]
    same, odd = [r for r in rows if r["same"]], [r for r in rows if not r["same"]]
    y = amount("value", domain)
    small = {"type": "point", "shape": "circle", "size": 8, "filled": True, "color": palette.READING,
             "opacity": 1, "xOffset": 6}  # fmt: skip
    solid = {"type": "point", "shape": "circle", "size": 42, "filled": True, "color": palette.ACCENT, "opacity": 1}
    hollow = {"type": "point", "shape": "square", "size": 44, "filled": True, "opacity": 1,
              "fill": palette.WHITE, "stroke": palette.INK, "strokeWidth": 1.3}  # fmt: skip
    rule = {"type": "rule", "color": palette.ACCENT, "strokeWidth": 1.4}
    line = {"type": "line", "color": palette.ACCENT, "strokeWidth": 1.1}
    return [
        *band(series.target_low, series.target_high, domain),
        layer(readings, small, x=x, y=amount("reading", domain)),
        layer(spread, rule, x=x, y=amount("low", domain), y2={"field": "high"}),
        layer(same, line, x=x, y=y),
        layer(same, solid, x=x, y=y),
        layer(odd, hollow, x=x, y=y),
    ]
