"""A round-up in the units a workspace asks for, for the page; what is attached stays in SI."""

from __future__ import annotations

from dataclasses import replace

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.summaries.club_season import Behind, GreenLine, RoundUp, SharedDue
from reports.page.units import Units, converted, in_units


def round_up_in_units(whole: RoundUp, units: Units) -> RoundUp:
    """The round-up with every quantity in these units."""
    if units == "metric":
        return whole
    nothing = GreenSeason("", "", "", "", "", "", whole.season_start, whole.season_end, whole.as_of, (), (), ())
    greens = tuple(_line(line, nothing, units) for line in whole.greens)
    return replace(whole, greens=greens, due=tuple(_due(due) for due in whole.due))


def _line(line: GreenLine, nothing: GreenSeason, units: Units) -> GreenLine:
    """The line, its figures and what is due said by way of a season that holds nothing else."""
    shown = in_units(
        replace(nothing, indicators=tuple(key.indicator for key in line.figures), due=(*line.due, *line.overdue)), units
    )
    figures = tuple(replace(key, indicator=i) for key, i in zip(line.figures, shown.indicators, strict=True))
    due, overdue = shown.due[: len(line.due)], shown.due[len(line.due) :]
    return replace(line, figures=figures, due=due, overdue=overdue, behind=tuple(_behind(lag) for lag in line.behind))


def _behind(lag: Behind) -> Behind:
    done, planned, goal = (converted(end, lag.unit, 2)[0] for end in (lag.done, lag.planned, lag.goal))
    return replace(lag, unit=converted(lag.goal, lag.unit, 2)[1], done=done, planned=planned, goal=goal)


def _due(due: SharedDue) -> SharedDue:
    if due.low is None:
        return due
    low, unit, _ = converted(due.low, due.unit, 1)
    high, applied = (None if end is None else converted(end, due.unit, 1)[0] for end in (due.high, due.applied))
    return replace(due, low=low, high=high, applied=applied, unit=unit)
