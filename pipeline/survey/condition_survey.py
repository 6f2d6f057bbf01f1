"""The frozen bundle that a condition survey is made from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pipeline.findings.findings import Finding
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.survey.days import Measured
from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.programme import Programme
from pipeline.survey.visit_observations import VisitObservations

MOST_TEXT = 40_000
"""Most characters of a consultant's own text."""


@dataclass(frozen=True)
class ConditionSurvey:
    """Everything a condition survey says of one visit to one green (grain: green and day).

    Attributes:
        day: day of the visit.
        season: the green's season up to that day: figures, works, cautions, notes and files behind them; of levels,
            sward and surface the day's alone.
        levels: the level survey of the day; None where none was made.
        observations: what else was measured and counted.
        findings: rules that hold, gravest first.
        programme: the twelve months after the visit.
        own_text: the consultant's own text as written (Markdown), "" for none.
        measured: on which days the readings behind each figure were taken.
    """

    day: date
    season: GreenSeason
    levels: LevelSurvey | None
    observations: VisitObservations
    findings: tuple[Finding, ...]
    programme: Programme
    own_text: str = ""
    measured: tuple[Measured, ...] = ()

    def measured_on(self, one: Indicator) -> Measured | None:
        """The days of the readings behind a figure; None where it rests on none."""
        return next((found for found in self.measured if (found.name, found.band) == (one.name, one.band)), None)

    def of_the_visit(self, one: Indicator) -> bool:
        """Whether a figure was made of readings of the day and of nothing else."""
        found = self.measured_on(one)
        return found is not None and found.alone and found.first == found.last == self.day
