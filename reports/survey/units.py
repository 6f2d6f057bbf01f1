"""A condition survey as a page shows it: in the units the workspace asks for. Store and attached data stay in SI."""

from __future__ import annotations

from dataclasses import replace

from pipeline.findings.findings import Finding
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.earlier import Earlier, EarlierFinding
from pipeline.survey.told import Told
from pipeline.survey.visit_observations import Measured, Reading
from pipeline.workspace.customary import Customary, customary
from reports.page.house_style import Units
from reports.page.units import figure_in, in_units


def survey_in(survey: ConditionSurvey, units: Units) -> ConditionSurvey:
    """The survey with its figures and readings in these units.

    Heights and places of levels, depths of cores and amounts of what is advised are turned where they are worded or
    drawn. Sizes of sieves stay in mm, as the trade names them; names of methods and of layers say what was done.
    """
    if units == "metric":
        return survey
    seen, levels = survey.observations, survey.levels
    return replace(
        survey,
        season=in_units(survey.season, units),
        levels=replace(levels, figures=tuple(figure_in(one, units) for one in levels.figures)) if levels else None,
        observations=replace(seen, measured=tuple(_measured(one) for one in seen.measured)),
        told=tuple(_told(one, units) for one in survey.told),
        earlier=_earlier(survey.earlier, units) if survey.earlier else None,
    )


def _told(one: Told, units: Units) -> Told:
    return replace(one, parts=tuple(_finding(part, units) for part in one.parts))


def _finding(one: Finding, units: Units) -> Finding:
    figures, beside = (tuple(figure_in(each, units) for each in of) for of in (one.figures, one.beside))
    return replace(one, figures=figures, beside=beside)


def _earlier(of: Earlier, units: Units) -> Earlier:
    return replace(of, findings=tuple(_earlier_finding(one, units) for one in of.findings))


def _earlier_finding(one: EarlierFinding, units: Units) -> EarlierFinding:
    return replace(one, told=_told(one.told, units), now=figure_in(one.now, units) if one.now else None)


def _measured(one: Measured) -> Measured:
    found = customary(one.unit)
    if found is None:
        return one
    change = one.change
    if change is not None:
        gap = change.difference
        scaled = replace(
            gap,
            change=found.value(gap.change, difference=True),
            low=_turned(gap.low, found),
            high=_turned(gap.high, found),
        )
        change = replace(change, earlier=found.value(change.earlier), difference=scaled)
    return replace(
        one,
        unit=found.unit,
        decimals=found.decimals(one.decimals),
        value=found.value(one.value),
        low=_turned(one.low, found),
        high=_turned(one.high, found),
        readings=tuple(_reading(each, found) for each in one.readings),
        change=change,
    )


def _reading(one: Reading, found: Customary) -> Reading:
    return replace(one, value=found.value(one.value))


def _turned(value: float | None, found: Customary) -> float | None:
    return None if value is None else found.value(value, difference=True)
