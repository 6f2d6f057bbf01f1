"""A club's greens as small multiples: one panel a green, every panel on the same scale."""

from __future__ import annotations

from pipeline.indicators.base.green_season import GreenSeason, Running, Series
from pipeline.summaries.club_season import ClubSeason, Topic
from reports.page import figures, text
from reports.page.charts import alttext, vega
from reports.page.charts import charts as shared
from reports.page.charts.charts import FULL, Chart, ChartGroup
from reports.page.charts.vega import Spec
from reports.summary import wording as summary_wording

ABREAST = 4
"""Panels in a row."""
GAP = 14


def chart_groups(club: ClubSeason, *, height: int, most: int) -> tuple[ChartGroup, ...]:
    """Organic matter over the years and dressing through the season, as far as the records carry them.

    Args:
        club: the club's season, in the units of the page.
        height: height of a panel, CSS pixels.
        most: greens drawn in each group.
    """
    found = (_over_years(club, height, most), _through_season(club, height, most))
    return tuple(group for group in found if group is not None)


def _over_years(club: ClubSeason, height: int, most: int) -> ChartGroup | None:
    topic = next((topic for topic in club.topics if topic.name == "organic_matter_pct"), None)
    pairs = [(green, series) for green in club.greens if topic and (series := _series(green, topic))]
    if topic is None or not pairs:
        return None
    shown = pairs[:most]
    drawn = [series for _, series in shown]
    domain = vega.scale_for(shared.numbers(drawn), from_zero=True)
    size = (_width(len(shown)), height)
    x = shared.years(drawn, lambda number: max(1, number * _columns(len(shown)) // 16))
    charts = [_years(i, green, series, x, domain, size) for i, (green, series) in enumerate(shown)]
    caption = (
        f"{figures.named(topic, 60)}, {text.clean(shown[0][1].unit, 24)}. Large dot: mean of a sampling, with "
        "its interval. Small dots: single results."
        + (" Shaded: target." if shared.has_target(drawn) else "")
        + (" Hollow square: another method, not comparable." if shared.has_odd(drawn) else "")
        + _scale_words(len(pairs), most)
    )
    return ChartGroup("years", "Organic matter over the years", caption, tuple(charts))


def _series(green: GreenSeason, topic: Topic) -> Series | None:
    return next((s for s in green.series if s.samples and s.name == topic.label and s.band == topic.band), None)


def _years(
    i: int, green: GreenSeason, series: Series, x: Spec, domain: tuple[float, float], size: tuple[int, int]
) -> Chart:
    layers = shared.series_layers(series, vega.sample_rows(series, 1), x, domain)
    alt = f"{summary_wording.short_name(green)}. {alttext.series(series)}"
    return Chart(f"years-{i}", f"of{_columns_class(size)}", _title(green), alt, vega.layered(*size, layers))


def _through_season(club: ClubSeason, height: int, most: int) -> ChartGroup | None:
    pairs = [(green, r) for green in club.greens for r in green.running if r.name == "Top dressing" and r.points]
    if not pairs:
        return None
    shown = pairs[:most]
    domain = vega.scale_for(shared.totals(running for _, running in shown), from_zero=True)
    size = (_width(len(shown)), height)
    x = shared.months(club.greens[0], 4 if _columns(len(shown)) > 2 else 2)
    charts = [_running(i, green, running, x, domain, size) for i, (green, running) in enumerate(shown)]
    undressed = [summary_wording.short_name(g) for g in club.greens if not any(g is green for green, _ in pairs)]
    caption = (
        f"Total so far, {text.clean(shown[0][1].unit, 24)}; a dot for each application."
        + (" Dashed: straight plan to the target’s lower end." if any(r.plan for _, r in shown) else "")
        + (" Shaded: target." if shared.has_target(running for _, running in shown) else "")
        + _scale_words(len(pairs), most)
        + (f" No dressing with a known rate: {summary_wording.named(undressed)}." if undressed else "")
    )
    return ChartGroup("running", "Top dressing through the season", caption, tuple(charts))


def _running(
    i: int,
    green: GreenSeason,
    running: Running,
    x: Spec,
    domain: tuple[float, float],
    size: tuple[int, int],
) -> Chart:
    layers = shared.running_layers(green, running, x, domain, dot_size=30)
    alt = f"{summary_wording.short_name(green)}. {alttext.running(running)}"
    return Chart(f"running-{i}", f"of{_columns_class(size)}", _title(green), alt, vega.layered(*size, layers))


def _columns(panels: int) -> int:
    return min(panels, ABREAST) if panels > 1 else 2


def _width(panels: int) -> int:
    columns = _columns(panels)
    return (FULL - GAP * (columns - 1)) // columns


def _columns_class(size: tuple[int, int]) -> int:
    """How many panels of this width stand in a row."""
    return round((FULL + GAP) / (size[0] + GAP))


def _title(green: GreenSeason) -> str:
    return text.name(green.green_name, 36)


def _scale_words(found: int, most: int) -> str:
    left = found - most
    more = f" {text.count(left, 'further green is', 'further greens are')} in readings.csv." if left > 0 else ""
    return (" Every panel has the same scale." if found > 1 else "") + more
