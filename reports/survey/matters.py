"""What matters, as the first page of a survey says it, and on which day a figure was measured."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from pipeline.common.words import listed
from pipeline.indicators.base import judgement
from pipeline.indicators.base.green_season import Indicator
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.told import Told
from reports.page import figures, remarks, text
from reports.survey.findings import lead_of, sentence

MOST_TOLD = 4


def matters(survey: ConditionSurvey) -> Iterator[str]:
    """What stands out, by these rules: how much was found, the gravest findings, and how much is on target."""
    found = survey.told
    own = [one for one in survey.season.indicators if one.value is not None and survey.of_the_visit(one)]
    said = [judgement.judgement(one) for one in own if judgement.judged(one)]
    if len(said) == 1:
        yield f"The one figure of this visit that has a target is {said[0]}."
    elif said:
        yield f"Of {len(said)} checks of this visit, {figures.tally(said)}."
    elif own:
        yield "No figure of this visit has a target, so the figures stand without a judgement."
    else:
        yield _without_figures(survey)
    for one in found[:MOST_TOLD]:
        yield _matter(one, survey)
    if len(found) > MOST_TOLD:
        left = text.count(len(found) - MOST_TOLD, "further finding stands", "further findings stand")
        yield f"{left} under “Findings”."
    if own and not found:
        yield "No rule for findings holds: nothing measured here asks for more than the usual work."


def _matter(one: Told, survey: ConditionSurvey) -> str:
    """A finding on the first page: its heading, its gravest sign, and that it may be chance or rests on an entry."""
    lead, said = lead_of(one.lead), sentence(one.lead, partial(days_of, survey))
    asked = any(figure.questioned for figure in one.figures)
    parts = [
        f"{lead}: {text.inside(said)}" if lead and not said.casefold().startswith(lead.casefold()) else said,
        "It is close to the limit: this may be chance." if one.doubtful else "",
        f"This holds {remarks.IF_RIGHT}." if asked else "",
    ]
    return " ".join(filter(None, parts))


def _without_figures(survey: ConditionSurvey) -> str:
    """What a visit holds that gave no figure."""
    seen = survey.observations
    parts = []
    if seen.profiles:
        parts.append(text.count(len(seen.profiles), "described core"))
    if seen.photos:
        parts.append(text.count(len(seen.photos), "photo"))
    return f"This visit gave no figure; it holds {listed(parts)}." if parts else "This visit gave no figure."


def days_of(survey: ConditionSurvey, one: Indicator) -> str:
    """When a figure was measured, in words; "" where on the visit alone, or where it rests on no reading."""
    found = survey.measured_on(one)
    if found is None or found.first == found.last == survey.day:
        return ""
    last = "" if found.first == found.last else f" to {text.day(found.last)}"
    return f"measured {text.day(found.first)}{last}"
