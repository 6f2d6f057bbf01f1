"""The condition survey as a file."""

from __future__ import annotations

from datetime import date
from importlib.metadata import version

from pipeline.common.progress import SILENT, Progress
from pipeline.publish.branding import house_style_of
from pipeline.publish.documents import Written, processes
from pipeline.publish.pool import Outcome, Task, render_many
from pipeline.survey.build import condition_survey, last_surveys
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Workspace, file_stem


def write_survey(workspace: Workspace, green: str, day: date) -> Written:
    """Write the condition survey of a green on a day; a page that cannot be made is told in the result.

    Raises:
        WrongUsage: the green is not in the register, or nothing was surveyed there on that day.
        CannotDo: the store cannot be read, or a setting, a rule or the consultant's text does not fit.
    """
    house = house_style_of(workspace)
    task = _task(workspace, condition_survey(workspace, green, day))
    (done,) = render_many([task], workers=1, version=version("swardtally"), house=house)
    return _written(task, done)


def write_surveys(workspace: Workspace, *, progress: Progress = SILENT) -> list[Written]:
    """Write the condition survey of the last visit of every green that was visited, in order of the greens."""
    house = house_style_of(workspace)
    tasks = [_task(workspace, survey) for survey in last_surveys(workspace)]
    made = render_many(tasks, workers=processes(len(tasks)), version=version("swardtally"), house=house)
    done = {one.name: one for one in progress.over(made, len(tasks), "Surveys")}
    return [_written(task, done[task.name]) for task in tasks]


def _task(workspace: Workspace, survey: ConditionSurvey) -> Task:
    season, day = survey.season, survey.day.isoformat()
    target = workspace.reports / season.season / f"{file_stem(season.green)}-survey-{day}.pdf"
    return Task(season.green, "survey", survey, target)


def _written(task: Task, done: Outcome) -> Written:
    season = task.content.season
    return Written("survey", task.name, season.club, season.season, task.target, done.pages, fault=done.fault)
