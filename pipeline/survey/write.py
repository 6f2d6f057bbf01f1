"""The condition survey as a file."""

from __future__ import annotations

import os
from datetime import date
from importlib.metadata import version

from pipeline.house import house_of
from pipeline.indicators.records import read_records
from pipeline.progress import SILENT, Progress
from pipeline.reporting import WORKERS_MOST, Written, file_stem
from pipeline.store import Store
from pipeline.survey.build import condition_survey, last_visits
from pipeline.workspace import Workspace
from reports.pool import Outcome, Task, render_many


def write_survey(workspace: Workspace, green: str, day: date) -> Written:
    """Write the condition survey of a green on a day; a page that cannot be made is told in the result.

    Raises:
        WrongUsage: the green is not in the register, or nothing was surveyed there on that day.
        CannotDo: the store cannot be read, or a setting, a rule or the consultant's text does not fit.
    """
    house = house_of(workspace)
    task = _task(workspace, green, day)
    (done,) = render_many([task], workers=1, version=version("swardtally"), house=house)
    return _written(task, done)


def write_surveys(workspace: Workspace, *, progress: Progress = SILENT) -> list[Written]:
    """Write the condition survey of the last visit of every green that was visited, in order of the greens."""
    with Store(workspace.store, read_only=True) as store:
        days = last_visits(read_records(store))
    tasks = {green: _task(workspace, green, day) for green, day in sorted(days.items())}
    workers = min(os.cpu_count() or 1, WORKERS_MOST)
    made = render_many(tasks.values(), workers=workers, version=version("swardtally"), house=house_of(workspace))
    done = {one.name: one for one in progress.over(made, len(tasks), "Surveys")}
    return [_written(task, done[green]) for green, task in tasks.items()]


def _task(workspace: Workspace, green: str, day: date) -> Task:
    survey = condition_survey(workspace, green, day)
    target = workspace.reports / survey.season.season / f"{file_stem(green)}-survey-{day.isoformat()}.pdf"
    return Task(green, "survey", survey, target)


def _written(task: Task, done: Outcome) -> Written:
    season = task.content.season
    return Written("survey", task.name, season.club, season.season, task.target, done.pages, fault=done.fault)
