"""The circumstances of a visit as printed: who, with what, in what weather; what no record holds is said to lack."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.on_the_day import DAYS_BEFORE, DayWeather
from reports.page import text
from reports.page.house_style import Units
from reports.page.remarks import Fact
from reports.page.units import quantity_in, turned, unit_in


def visit_facts(survey: ConditionSurvey, units: Units) -> tuple[Fact, ...]:
    """Who surveyed, with what and in what weather."""
    return tuple(Fact(label, value or text.MISSING) for label, value in _facts(survey, units))


def _facts(survey: ConditionSurvey, units: Units) -> Iterator[tuple[str, str]]:
    of, levels = survey.circumstances, survey.levels
    yield "Surveyor", text.clean(of.notes.surveyor, 120)
    yield "Conditions", text.clean(of.notes.conditions, 400)
    yield "Weather at the station", _weather(of.weather, units) if of.weather else ""
    if survey.observations.measured or of.notes.instruments:
        ways = dict.fromkeys(text.clean(one.method, 120) for one in survey.observations.measured if one.method)
        noted = (text.clean(one) for one in of.notes.instruments)
        yield "Measured by", "; ".join([*ways, *noted])
    if of.levelled_with or levels:
        yield "Levelled with", text.clean(", ".join(of.levelled_with))
        yield "Heights from", text.clean(", ".join(of.benchmarks))
        error = None if levels is None else levels.accuracy_mm
        yield "Standard error of a height", "" if error is None else quantity_in(error, "mm", 1, units)
        closing = of.notes.closing_error_mm
        yield "Closing error", "" if closing is None else quantity_in(closing, "mm", 1, units)


def _weather(of: DayWeather, units: Units) -> str:
    parts = []
    if of.low_c is not None and of.high_c is not None:
        low, high = (turned(one, "°C", 0, units) for one in (of.low_c, of.high_c))
        parts.append(text.span(low[0], high[0], unit_in("°C", units), max(low[2], 0)))
    parts.append("rain of the day not recorded" if of.rain_mm is None else _rain(of.rain_mm, units))
    if of.before_mm is None:
        parts.append(f"rain of the {DAYS_BEFORE} days before not recorded")
    else:
        known = "" if of.known == DAYS_BEFORE else f" ({of.known} of them on record)"
        parts.append(f"{_rain(of.before_mm, units)} in the {DAYS_BEFORE} days before{known}")
    return f"{', '.join(parts)} ({text.clean(of.station, 60)})"


def _rain(mm: float, units: Units) -> str:
    return f"{quantity_in(mm, 'mm', 1, units)} of rain" if mm else "no rain"
