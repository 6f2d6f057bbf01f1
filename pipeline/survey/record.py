"""The frozen bundle that a condition survey is made from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pipeline.indicators.record import GreenSeason
from pipeline.survey.findings import Finding
from pipeline.survey.level_record import LevelSurvey
from pipeline.survey.observation_record import VisitObservations
from pipeline.survey.programme import Programme

MOST_TEXT = 40_000
"""Most characters of a consultant's own text."""


@dataclass(frozen=True)
class ConditionSurvey:
    """Everything a condition survey says of one visit to one green (grain: green and day).

    Attributes:
        day: day of the visit.
        season: the green's season up to that day: figures, works, cautions, notes and files behind them.
        levels: the level survey of the day; None where none was made.
        observations: what else was measured and counted.
        findings: rules that hold, gravest first.
        programme: the twelve months after the visit.
        own_text: the consultant's own text as written (Markdown), "" for none.
    """

    day: date
    season: GreenSeason
    levels: LevelSurvey | None
    observations: VisitObservations
    findings: tuple[Finding, ...]
    programme: Programme
    own_text: str = ""
