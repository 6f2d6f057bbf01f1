"""A round-up in the units a workspace asks for, for the page; what is attached stays in SI."""

from __future__ import annotations

from dataclasses import replace

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.summaries.club_season import GreenLine, RoundUp
from reports.page.house_style import Units
from reports.page.units import in_customary, in_units, rescaled, reworded


def round_up_in_units(whole: RoundUp, units: Units) -> RoundUp:
    """The round-up with every quantity in these units."""
    if units == "metric":
        return whole
    nothing = GreenSeason("", "", "", "", "", "", whole.season_start, whole.season_end, whole.as_of, (), (), ())
    greens = tuple(_line(line, nothing, units) for line in whole.greens)
    due = tuple(rescaled(reworded(one), "low", "high", "applied") for one in whole.due)
    return replace(whole, greens=greens, due=due)


def _line(line: GreenLine, nothing: GreenSeason, units: Units) -> GreenLine:
    """The line, its figures and what is due said by way of a season that holds nothing else."""
    shown = in_units(
        replace(nothing, indicators=tuple(key.indicator for key in line.figures), due=(*line.due, *line.overdue)), units
    )
    figures = tuple(replace(key, indicator=i) for key, i in zip(line.figures, shown.indicators, strict=True))
    due, overdue = shown.due[: len(line.due)], shown.due[len(line.due) :]
    behind = tuple(rescaled(reworded(lag), "done", "planned", "goal") for lag in line.behind)
    questions = tuple(map(reworded, line.questions))
    laboratory = tuple(in_customary(said, units) for said in line.laboratory)
    return replace(
        line, figures=figures, due=due, overdue=overdue, behind=behind, questions=questions, laboratory=laboratory
    )
