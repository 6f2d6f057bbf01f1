"""The condition survey as a file."""

from __future__ import annotations

from datetime import date
from importlib.metadata import version

from pipeline.house import house_of
from pipeline.reporting import Written, file_stem
from pipeline.survey.build import condition_survey
from pipeline.workspace import Workspace
from reports.pool import Task, render_many


def write_survey(workspace: Workspace, green: str, day: date) -> Written:
    """Write the condition survey of a green on a day; a page that cannot be made is told in the result.

    Raises:
        WrongUsage: the green is not in the register, or nothing was surveyed there on that day.
        CannotDo: the store cannot be read, or a setting, a rule or the consultant's text does not fit.
    """
    house = house_of(workspace)
    survey = condition_survey(workspace, green, day)
    target = workspace.reports / survey.season.season / f"{file_stem(green)}-survey-{day.isoformat()}.pdf"
    task = Task(green, "survey", survey, target)
    (done,) = render_many([task], workers=1, version=version("swardtally"), house=house)
    return Written("survey", green, survey.season.club, survey.season.season, target, done.pages, fault=done.fault)
