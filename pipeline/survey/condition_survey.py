"""The frozen bundle that a condition survey is made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from pipeline.findings.findings import Finding
from pipeline.indicators.base.green_season import GreenSeason, Indicator, Seal
from pipeline.survey.advice import Advice
from pipeline.survey.days import Measured
from pipeline.survey.earlier import Earlier
from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.on_the_day import NOTHING_NOTED, OnTheDay
from pipeline.survey.programme import NO_PROGRAMME, Programme
from pipeline.survey.told import Told
from pipeline.survey.visit_observations import VisitObservations


@dataclass(frozen=True)
class ConditionSurvey:
    """Everything a condition survey says of one visit to one green (grain: green and day).

    Attributes:
        day: day of the visit.
        season: the green's season up to that day: figures, works, cautions, notes and files behind them; of levels,
            sward and surface the day's alone.
        levels: the level survey of the day; None where none was made.
        observations: what else was measured and counted.
        told: what was found, of the visit first, gravest first.
        advice: the works that are asked for, with amount and cost.
        programme: the twelve months after the visit.
        earlier: what the visit before found and what became of it; None where none was made.
        circumstances: of the day of the visit.
        own_text: the consultant's own text as written (Markdown), "" for none.
        pictures: media type and bytes of the pictures that the text shows, by name.
        measured: on which days the readings behind each figure were taken.
    """

    day: date
    season: GreenSeason
    levels: LevelSurvey | None
    observations: VisitObservations
    told: tuple[Told, ...] = ()
    advice: tuple[Advice, ...] = ()
    programme: Programme = NO_PROGRAMME
    earlier: Earlier | None = None
    circumstances: OnTheDay = NOTHING_NOTED
    own_text: str = ""
    pictures: Mapping[str, tuple[str, bytes]] = field(default_factory=dict)
    measured: tuple[Measured, ...] = ()

    @property
    def seal(self) -> Seal:
        """The last load that touched the season."""
        return self.season.seal

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every rule that holds, in the order in which it is told."""
        return tuple(part for one in self.told for part in one.parts)

    def measured_on(self, one: Indicator) -> Measured | None:
        """The days of the readings behind a figure; None where it rests on none."""
        return next((found for found in self.measured if (found.name, found.band) == (one.name, one.band)), None)

    def of_the_visit(self, one: Indicator) -> bool:
        """Whether a figure was made of readings of the day and of nothing else."""
        found = self.measured_on(one)
        return found is not None and found.on(self.day)
