"""From a frozen season of a green to the bytes of its condition report."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

from pipeline.indicators.base.green_season import GreenSeason
from reports.condition import view as viewmodel
from reports.page import attachments
from reports.page.charts import charts
from reports.page.document import Pages, moment_of, pdf
from reports.page.house_style import PLAIN, HouseStyle
from reports.page.layout_levels import MOST_PAGES, MOST_PAGES_SHORT, LayoutLevel, levels_for
from reports.page.templating import fill
from reports.page.units import in_units


def html(season: GreenSeason, *, created: datetime | None = None, version: str, house: HouseStyle = PLAIN) -> str:
    """The report as HTML without style, for tests and for templates of one's own."""
    season = in_units(season, house.units)
    level = _levels(season, house)[0]
    report = viewmodel.view(season, level, created=_moment(season, created), version=version)
    return _html(report, charts.chart_groups(season), house, level, attachments.file_names(season))


def render(season: GreenSeason, *, created: datetime | None = None, version: str, house: HouseStyle = PLAIN) -> bytes:
    """The condition report as a PDF (PDF/A-3a and PDF/UA-1), its data attached as CSV.

    Args:
        season: everything the report says.
        created: time zone aware; the date in the document's properties. None takes the day the records reach.
        version: version of the calculation, attached.
        house: the workspace's own style.

    Raises:
        RenderingFault: the renderer complained, or something outside the report was asked for.
    """
    moment = _moment(season, created)
    drafts = _drafts(season, moment, version, house)
    most = MOST_PAGES_SHORT if house.short else MOST_PAGES
    files = attachments.csv_files(season)
    return pdf(drafts, most_pages=most, attached=files, moment=moment, version=version, house=house)


def _drafts(season: GreenSeason, moment: datetime, version: str, house: HouseStyle) -> Iterator[Pages]:
    """The report, each time set more closely, in the units of the house; what is attached stays in SI."""
    season = in_units(season, house.units)
    for level in _levels(season, house):
        report = viewmodel.view(season, level, created=moment, version=version)
        groups = charts.chart_groups(season, level.chart_height)
        made = _html(report, groups, house, level, attachments.file_names(season))
        yield Pages(made, charts.pictures(groups))


def _levels(season: GreenSeason, house: HouseStyle) -> tuple[LayoutLevel, ...]:
    return levels_for(len(season.indicators), short=house.short, every_figure=house.every_figure)


def _html(
    report: viewmodel.ConditionReport,
    groups: tuple[charts.ChartGroup, ...],
    house: HouseStyle,
    level: LayoutLevel,
    attached: tuple[str, ...],
) -> str:
    left_out = tuple(sorted({*house.left_out, *level.left_out}))
    return fill("condition.html.j2", house, report=report, groups=groups, attached=attached, left_out=left_out)


def _moment(season: GreenSeason, created: datetime | None) -> datetime:
    """The time written into the document, in UTC: as given, or the start of the day the records reach."""
    if created is None:
        return moment_of(season.as_of)
    assert created.tzinfo is not None, "created must know its time zone"
    return created.astimezone(UTC).replace(microsecond=0)
