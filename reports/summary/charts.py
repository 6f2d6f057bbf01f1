"""A club's greens as small multiples: one panel a green, every panel on the same scale."""

from __future__ import annotations

from collections.abc import Iterable

from pipeline.indicators.base.green_season import GreenSeason, Series
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
    x = shared.years(drawn, lambda number: max(1, number * _columns(len(shown)) // 16))
    caption = (
        f"{figures.named(topic, 60)}, {text.clean(drawn[0].unit, 32)}. Large dot: mean of a sampling, with "
        "its interval. Small dots: single results."
        + (" Shaded: target." if shared.has_target(drawn) else "")
        + (" Hollow square: another method, not comparable." if shared.has_odd(drawn) else "")
        + shared.asked_words(s.questioned for series in drawn for s in series.samples)
        + _scale_words(len(pairs), most)
    )
    panels = (
        (green, alttext.series(one), shared.series_layers(one, vega.sample_rows(one, 1), x, domain))
        for green, one in shown
    )
    return ChartGroup("years", "Organic matter over the years", caption, _charts("years", panels, len(shown), height))


def _series(green: GreenSeason, topic: Topic) -> Series | None:
    return next((s for s in green.series if s.samples and s.name == topic.label and s.band == topic.band), None)


def _through_season(club: ClubSeason, height: int, most: int) -> ChartGroup | None:
    pairs = [(green, r) for green in club.greens for r in green.running if r.name == "Top dressing" and r.points]
    if not pairs:
        return None
    shown = pairs[:most]
    drawn = [running for _, running in shown]
    domain = vega.scale_for(shared.totals(drawn), from_zero=True)
    x = shared.months(club.greens[0], 4 if _columns(len(shown)) > 2 else 2)
    undressed = [summary_wording.short_name(g) for g in club.greens if not any(g is green for green, _ in pairs)]
    caption = (
        f"Total so far, {text.clean(drawn[0].unit, 32)}; a dot for each application."
        + (" Dashed: an even spread to the target’s lower end." if any(one.plan for one in drawn) else "")
        + (" Shaded: target." if shared.has_target(drawn) else "")
        + shared.asked_words(one.questioned for one in drawn)
        + _scale_words(len(pairs), most)
        + (f" No dressing with a known rate: {summary_wording.named(undressed)}." if undressed else "")
    )
    panels = (
        (green, alttext.running(one), shared.running_layers(green, one, x, domain, dot_size=30)) for green, one in shown
    )
    charts = _charts("running", panels, len(shown), height)
    return ChartGroup("running", "Top dressing through the season", caption, charts)


def _charts(
    key: str, panels: Iterable[tuple[GreenSeason, str, list[Spec]]], number: int, height: int
) -> tuple[Chart, ...]:
    """So many panels, as many a row as there is room for; of each its green, alternative text and layers."""
    columns = _columns(number)
    width = (FULL - GAP * (columns - 1)) // columns
    return tuple(
        Chart(
            f"{key}-{i}",
            f"of{columns}",
            text.name(green.green_name, 36),
            f"{summary_wording.short_name(green)}. {alt}",
            vega.layered(width, height, layers),
        )
        for i, (green, alt, layers) in enumerate(panels)
    )


def _columns(panels: int) -> int:
    return min(panels, ABREAST) if panels > 1 else 2


def _scale_words(found: int, most: int) -> str:
    left = found - most
    more = f" {text.count(left, 'further green is', 'further greens are')} in readings.csv." if left > 0 else ""
    return (" Every panel has the same scale." if found > 1 else "") + more
