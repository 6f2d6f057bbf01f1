"""The charts of a report, made from a season's series and running totals.

A chart is never a bare line: single readings and intervals are drawn, what must not be compared is hollow
and says so. Lines differ by dash and label as well as colour, so grey prints lose nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from pipeline.common.grouped import grouped
from pipeline.indicators.base.green_season import GreenSeason, Running, Series
from reports.page import text
from reports.page.charts import alttext, palette, titles, vega
from reports.page.charts.vega import Spec
from reports.page.figures import QUESTIONED, asked
from reports.page.rendering import Image
from reports.page.season_line import first_days

FULL, HALF, THIRD = 660, 322, 211
"""Widths of a chart in CSS pixels: across the page, two and three abreast."""
MOST_DEPTHS = 4
YEARS_HEIGHT, RUNNING_HEIGHT, SPEED_HEIGHT = 144, 136, 136


@dataclass(frozen=True)
class Chart:
    """A chart as placed on the page: key of its image, width class, title, alternative text, specification."""

    key: str
    width: str
    title: str
    alt: str
    spec: Spec


@dataclass(frozen=True)
class ChartGroup:
    """Charts that share a heading and, where they are small multiples, a scale.

    ``part`` is the class of its share of the page's width, where it stands beside another; "" across the page.
    """

    kind: str
    heading: str
    caption: str
    charts: tuple[Chart, ...]
    part: str = ""


@dataclass(frozen=True)
class Abreast:
    """How charts of the season stand: how wide each is, labelled how often, and which part of a row a group has."""

    width: int
    css: str
    every: int
    part: str = ""


@dataclass(frozen=True)
class Heights:
    """How high charts are drawn, as shares of their full height.

    Attributes:
        others: the share of every row of charts but the first ones.
        rows: how many rows are the first ones.
        first: their share.
    """

    others: float = 1.0
    rows: int = 0
    first: float = 1.0

    def of(self, row: int) -> float:
        """The share of a row, the first being 0."""
        return self.first if row < self.rows else self.others


def _abreast(running: int, speeds: list[list[Series]]) -> tuple[Abreast, Abreast]:
    """How running totals and timed bowls stand: beside each other where that makes a row of two or three."""
    if 1 <= running <= 2 and len(speeds) == 1 and len(speeds[0]) == 1:
        if running == 1:
            return Abreast(HALF, "of1", 2, "half"), Abreast(HALF, "of1", 2, "half")
        return Abreast(THIRD, "of2", 3, "twothirds"), Abreast(THIRD, "of1", 3, "third")
    alone, two = Abreast(FULL, "of1", 1), Abreast(HALF, "of2", 2)
    return (alone if running == 1 else two), (alone if all(len(found) == 1 for found in speeds) else two)


def chart_groups(season: GreenSeason, heights: Heights | None = None) -> tuple[ChartGroup, ...]:
    """The charts that the season's data can carry, in page order; none for what is empty.

    Those of the season stand first: how the green played and what was put on it follow the works of the season; what
    changed over the years is the story behind them.

    Args:
        season: the season.
        heights: how high they are drawn, row by row; None: as high as they can be.
    """
    high = heights or Heights()
    by_name = grouped((series for series in season.series if series.samples), lambda series: series.name)
    speeds = [found for name, found in by_name.items() if "speed" in name.lower()]
    yearly = [found for name, found in by_name.items() if "speed" not in name.lower()]
    groups = _of_season(season, speeds, high)
    row = len(groups) - any(group.part for group in groups[1:])
    groups += [_years(season, f"years{i}", found, high.of(row + i)) for i, found in enumerate(yearly)]
    return tuple(groups)


def _of_season(season: GreenSeason, speeds: list[list[Series]], high: Heights) -> list[ChartGroup]:
    """What was put on beside how it played where that makes one row; else speeds first, each in a row of its own."""
    drawn = [running for running in season.running if running.points]
    of_running, of_speeds = _abreast(len(drawn), speeds)
    if of_speeds.part:
        return [
            _put_on(season, drawn, high.of(0), of_running),
            _speeds(season, "speed0", speeds[0], high.of(0), of_speeds),
        ]
    groups = [_speeds(season, f"speed{i}", found, high.of(i), of_speeds) for i, found in enumerate(speeds)]
    if drawn:
        groups.append(_put_on(season, drawn, high.of(len(groups)), of_running))
    return groups


def pictures(groups: Iterable[ChartGroup]) -> dict[str, Image]:
    """The pictures of charts by the key a page asks for them."""
    return {f"chart:{one.key}": Image("image/svg+xml", vega.svg(one.spec)) for group in groups for one in group.charts}


def totals(found: Iterable[Running]) -> Iterator[float | None]:
    """Every number that a scale for these running totals has to hold."""
    for one in found:
        yield from (one.target_low, one.target_high, *(point.total for point in (*one.points, *one.plan)))


def numbers(found: Iterable[Series]) -> Iterator[float | None]:
    """Every number that a scale for these series has to hold."""
    for series in found:
        yield from (series.target_low, series.target_high)
        for s in series.samples:
            yield from (s.value, s.low, s.high, *s.readings)


def has_odd(found: Iterable[Series]) -> bool:
    """Whether a sample of the series is not comparable with the others."""
    return any(not s.comparable for series in found for s in series.samples)


def asked_words(questioned: Iterable[bool]) -> str:
    """What the mark of an entry to be checked means, where something drawn has it."""
    return f" {QUESTIONED}: rests on an entry to be checked." if any(questioned) else ""


def _titled(name: str, unit: str) -> str:
    """A chart's title with the unit of its scale."""
    shown, measure = text.clean(name, 60), text.clean(unit, 32)
    return f"{shown}, {measure}" if shown and measure else shown or measure


def _aimed(series: Series) -> str:
    """A small multiple's title with the target, whose shade may be too low to be written in; else with its unit."""
    if series.target_low is None and series.target_high is None:
        return _titled(series.band or series.name, series.unit)
    aimed = text.target(series.target_low, series.target_high, text.clean(series.unit, 32))
    return f"{text.clean(series.band or series.name, 60)}, target {aimed}"


def _years(season: GreenSeason, key: str, found: list[Series], height: float) -> ChartGroup:
    """One small multiple a depth, all on one scale, so that depths can be compared by eye."""
    shown = found[:MOST_DEPTHS]
    domain = vega.scale_for(numbers(shown), from_zero=True)
    x = years(shown, lambda number: 2 if number * len(shown) > 18 else 1)
    width = (FULL - 14 * (len(shown) - 1)) // len(shown)
    size = (width, round(YEARS_HEIGHT * height))
    charts = [_years_chart(season, series, x, domain, size) for series in shown]
    css, heading = f"of{len(shown)}", titles.years(shown, season)
    caption = (
        "Large dot: mean with its interval; small: single results"
        + ("; shaded: target." if has_target(shown) else ".")
        + (" No clear change: none that stands out from chance." if "no clear change" in heading else "")
        + (" Hollow square: another method, not comparable." if has_odd(shown) else "")
        + asked_words(s.questioned for series in shown for s in series.samples)
        + (f" {len(found) - MOST_DEPTHS} further depths are in readings.csv." if len(found) > MOST_DEPTHS else "")
    )
    made = tuple(Chart(f"{key}-{i}", css, *parts) for i, parts in enumerate(charts))
    return ChartGroup("years", heading, caption, made)


def years(shown: Iterable[Series], every: Callable[[int], int]) -> Spec:
    """The axis of whole years around the samples of some series.

    Args:
        shown: the series.
        every: number of years → every how manieth of them is labelled, in its middle.
    """
    found = [sample.date.year for series in shown for sample in series.samples]
    first, last = min(found), max(found)
    ticks = [date(year, 7, 1) for year in range(first, last + 1, every(last - first + 1))]
    x = vega.days((date(first, 1, 1), date(last, 12, 31)), "%Y", ticks)
    x["axis"]["ticks"] = False
    return x


def series_layers(series: Series, rows: list[Spec], x: Spec, domain: tuple[float, float]) -> list[Spec]:
    """A series over the years, its latest mean that can be compared named above it, other doubtful ones marked."""
    latest = [row for row in rows if row["same"]][-1:]
    others = [row for row in rows if row not in latest]
    named = vega.labels(latest, x, vega.amount("head", domain), dy=-8, align="center", fontWeight=600)
    return [*vega.sample_layers(series, rows, x, domain), *named, *vega.question_marks(others, x, domain)]


def _years_chart(
    season: GreenSeason, series: Series, x: Spec, domain: tuple[float, float], size: tuple[int, int]
) -> tuple[str, str, Spec]:
    """Title, alternative text and specification of one small multiple."""
    decimals = 1 if max(abs(s.value) for s in series.samples) < 100 else 0
    rows = vega.sample_rows(series, decimals)
    layers = series_layers(series, rows, x, domain)
    odd = [{**row, "label": "other method"} for row in rows if not row["same"]][-1:]
    layers += vega.labels(odd, x, vega.amount("foot", domain), dx=-12, dy=11, align="left")
    title = _aimed(series)
    return title, alttext.series(series, titles.change_words(series, season)), vega.layered(*size, layers)


def months(season: GreenSeason, every: int) -> Spec:
    """The season's time axis, labelled at the start of every month or every so manieth one."""
    span = (season.season_start, season.season_end)
    return vega.days(span, "%b", first_days(span)[::every])


def _put_on(season: GreenSeason, drawn: list[Running], height: float, abreast: Abreast) -> ChartGroup:
    charts = tuple(_running(season, f"running{i}", running, height, abreast) for i, running in enumerate(drawn[:4]))
    caption = (
        "Line: total so far, a dot for each application."
        + (
            " Dashed: an even spread to the target’s lower end, no plan of the works."
            if any(running.plan for running in drawn)
            else ""
        )
        + (" Shaded: target." if has_target(drawn) else "")
        + asked_words(running.questioned for running in drawn)
    )
    return ChartGroup("running", titles.totals(drawn[:4], season), caption, charts, abreast.part)


def has_target(found: Iterable[Running | Series]) -> bool:
    """Whether one of them has a target to be shaded."""
    return any(one.target_low is not None or one.target_high is not None for one in found)


def _running(season: GreenSeason, key: str, running: Running, height: float, abreast: Abreast) -> Chart:
    domain = vega.scale_for(totals([running]), from_zero=True)
    tall = round(RUNNING_HEIGHT * height)
    layers = running_layers(season, running, months(season, abreast.every), domain)
    layers += vega.target_label(running.target_low, running.target_high, running.unit, domain, tall)
    spec = vega.layered(abreast.width, tall, layers)
    return Chart(key, abreast.css, _titled(running.name, running.unit), alttext.running(running), spec)


def running_layers(
    season: GreenSeason, running: Running, x: Spec, domain: tuple[float, float], dot_size: int = 34
) -> list[Spec]:
    """Target, plan, the total from the season's start to the last day of records, a dot for each application."""
    y, last = vega.amount("total", domain), running.points[-1]
    points = [{"day": p.date.isoformat(), "total": p.total} for p in running.points]
    start = {"day": min(season.season_start, running.points[0].date).isoformat(), "total": 0.0}
    until = min(max(season.as_of, last.date), season.season_end).isoformat()
    shown = text.number(last.total, text.places_of_three(last.total))
    end = {"day": until, "total": last.total, "label": asked(shown, questioned=running.questioned)}
    plan = [{"day": p.date.isoformat(), "total": p.total} for p in running.plan]
    line = {"type": "line", "interpolate": "step-after", "color": palette.ACCENT, "strokeWidth": 1.8}
    dashed = {"type": "line", "color": palette.PLAN, "strokeWidth": 1.4, "strokeDash": [5, 3]}
    dot = {"type": "point", "filled": True, "size": dot_size, "color": palette.ACCENT, "opacity": 1}
    return [
        *vega.band(running.target_low, running.target_high, domain),
        vega.layer(plan, dashed, x=x, y=y),
        vega.layer([start, *points, end], line, x=x, y=y),
        vega.layer(points, dot, x=x, y=y),
        *vega.labels([end], x, y, dy=-8, align="right", fontWeight=600),
    ]


def _speeds(season: GreenSeason, key: str, found: list[Series], height: float, abreast: Abreast) -> ChartGroup:
    """Sessions of timed bowls through the season, each series on a scale of its own."""
    charts = []
    for i, series in enumerate(found[:2]):
        domain = vega.scale_for(numbers([series]), from_zero=False)
        rows, x = vega.sample_rows(series, 1), months(season, abreast.every)
        tall = round(SPEED_HEIGHT * height)
        layers = [*vega.sample_layers(series, rows, x, domain), *vega.question_marks(rows, x, domain)]
        layers += vega.target_label(series.target_low, series.target_high, series.unit, domain, tall)
        spec = vega.layered(abreast.width, tall, layers)
        title = _titled(series.band or series.name, series.unit) if len(found) > 1 else ""
        charts.append(
            Chart(f"{key}-{i}", abreast.css, title, alttext.series(series, titles.change_words(series, season)), spec)
        )
    caption = (
        "Large dot: mean of a day; small: single bowls."
        + (" More seconds is faster." if all(one.unit == "s" for one in found) else "")
        + (" Hollow square: measured another way, not comparable." if has_odd(found) else "")
        + asked_words(s.questioned for series in found[:2] for s in series.samples)
        + (f" {len(found) - 2} further series are in readings.csv." if len(found) > 2 else "")
    )
    return ChartGroup("speed", "; ".join(titles.speeds(one) for one in found[:2]), caption, tuple(charts), abreast.part)
