"""From a frozen season of a green to the bytes of its condition report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from pipeline.indicators.base.green_season import GreenSeason
from reports.condition.view import view
from reports.page import attachments
from reports.page.charts import charts
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle
from reports.page.layout_levels import MOST_PAGES, MOST_PAGES_SHORT, levels_for
from reports.page.templating import fill
from reports.page.units import in_units


def _drafts(season: GreenSeason, _: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    """The report, each time set more closely, in the units of the house; what is attached stays in SI."""
    shown, attached = in_units(season, house.units), attachments.file_names(season)
    for level in levels_for(len(season.indicators), short=house.short, every_figure=house.every_figure):
        report = view(shown, level, version=version)
        groups = charts.chart_groups(shown, level.chart_height)
        left_out = tuple(sorted({*house.left_out, *level.left_out}))
        made = fill("condition.html.j2", house, report=report, groups=groups, attached=attached, left_out=left_out)
        yield Pages(made, partial(charts.pictures, groups))


DOCUMENT = Document(
    drafts=_drafts,
    attached=attachments.csv_files,
    day=lambda season: season.as_of,
    most_pages=lambda _, house: MOST_PAGES_SHORT if house.short else MOST_PAGES,
)
html, render = DOCUMENT.html, DOCUMENT.render
