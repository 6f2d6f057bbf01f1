"""From a frozen condition survey to its PDF: what one visit measured, what it may mean, what may be done and when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache, partial

from pipeline.survey.condition_survey import ConditionSurvey
from reports.page.charts.charts import ChartGroup, pictures
from reports.page.document import Document, Pages
from reports.page.house_style import HouseStyle, Units
from reports.page.own_text import address
from reports.page.rendering import Image
from reports.page.templating import fill
from reports.survey import charts as survey_charts
from reports.survey.cores import core_images
from reports.survey.data import csv_files
from reports.survey.levels import level_images
from reports.survey.plan_drawing import plan_images
from reports.survey.units import survey_in
from reports.survey.view import LAYOUT_LEVELS, PICTURE, beside_levels, view

MOST_PAGES = 12


def _images(survey: ConditionSurvey, drawn: Sequence[ChartGroup], units: Units) -> dict[str, Image]:
    """Every picture of the survey by its key: charts, cores, photos, maps."""
    plans = plan_images(survey_in(survey, units).observations.measured, survey.levels)
    photos = {f"photo:{i}": Image("image/jpeg", one.jpeg) for i, one in enumerate(survey.observations.photos)}
    own = {address(name, PICTURE): Image(kind, content) for name, (kind, content) in survey.pictures.items()}
    levels = level_images(survey.levels, units, beside_levels(survey)) if survey.levels else {}
    return {**pictures(drawn), **plans, **photos, **own, **levels, **core_images(survey.observations.profiles, units)}


def _drafts(survey: ConditionSurvey, attached: Sequence[str], version: str, house: HouseStyle) -> Iterator[Pages]:
    groups = {"sieves": survey_charts.sieves(survey.observations.curves, survey.day)}
    images = cache(partial(_images, survey, [*filter(None, groups.values())], house.units))
    for level in LAYOUT_LEVELS:
        report = view(survey, level, version=version, units=house.units)
        yield Pages(fill("survey.html.j2", house, report=report, groups=groups, attached=attached), images)


DOCUMENT = Document(
    drafts=_drafts,
    attached=csv_files,
    day=lambda survey: survey.day,
    most_pages=lambda *_: MOST_PAGES,
    styles=("survey.css",),
)
html, render = DOCUMENT.html, DOCUMENT.render
