"""Condition surveys as files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from pipeline.common.file_names import file_stem
from pipeline.common.progress import SILENT, Progress
from pipeline.publish.branding import house_style_of
from pipeline.publish.pictures import texts_of
from pipeline.publish.seals import refuse_altered, seals
from pipeline.publish.writer import Planned, Written, write_documents
from pipeline.store.store import Store
from pipeline.survey.build import condition_survey, last_surveys, own_text_file
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Season, Workspace


def write_survey(
    workspace: Workspace, green: str, day: date, *, issued_on: date | None = None, force: bool = False
) -> Written:
    """What became of the condition survey of a green on a day; a page that cannot be made is told in it.

    ``issued_on`` is the day printed as that of issue; None prints none.

    Raises:
        WrongUsage: the green is not in the register, or nothing was surveyed there on that day.
        CannotDo: the store cannot be read, or a setting, a rule or the consultant's text does not fit.
    """
    (done,) = _write(workspace, [condition_survey(workspace, green, day)], issued_on=issued_on, force=force)
    return done


def write_surveys(workspace: Workspace, *, progress: Progress = SILENT) -> list[Written]:
    """Write the condition survey of the last visit of every green that was visited, in order of the greens."""
    return _write(workspace, last_surveys(workspace), progress=progress)


def _write(
    workspace: Workspace,
    surveys: list[ConditionSurvey],
    *,
    issued_on: date | None = None,
    force: bool = False,
    progress: Progress = SILENT,
) -> list[Written]:
    refuse_altered(workspace)
    planned = [_planned(workspace, _with_pictures(workspace, survey)) for survey in _sealed(workspace, surveys)]
    house = house_style_of(workspace, issued_on=issued_on)
    return write_documents(planned, house=house, force=force, progress=progress, what="Surveys")


def _sealed(workspace: Workspace, surveys: Sequence[ConditionSurvey]) -> Iterator[ConditionSurvey]:
    """The surveys with the last load that touched each."""
    with Store(workspace.store, read_only=True) as store:
        for survey in surveys:
            season = survey.season
            held = seals(store, [season.green], Season(season.season, season.season_start, season.season_end))
            yield replace(survey, season=held.on(season))


def _with_pictures(workspace: Workspace, survey: ConditionSurvey) -> ConditionSurvey:
    """The survey with the pictures that the consultant's text shows, of the folder in which the text lies.

    Raises:
        CannotDo: the text cannot be printed as it is meant, or a picture cannot be drawn.
    """
    path = own_text_file(workspace, survey.season.green, survey.day)
    texts = {path.name: survey.own_text}
    return replace(survey, pictures=texts_of(path.parent, texts, "h3", workspace.settings.limits)[1])


def _planned(workspace: Workspace, survey: ConditionSurvey) -> Planned:
    """The survey's document; its content alone tells whether it changed, for rules and texts lie outside the store."""
    season = survey.season
    path = workspace.reports / season.season / f"{file_stem(season.green)}-survey-{survey.day.isoformat()}.pdf"
    return Planned("survey", season.season, path, lambda: survey, season.green, season.club)
