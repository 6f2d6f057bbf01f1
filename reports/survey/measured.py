"""What was counted and measured on a visit, as printed: figures, spread, standing, change since the visit before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pipeline.indicators.base import judgement
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.surface.readings import Change
from pipeline.statistics.difference import Difference
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.visit_observations import Measured
from reports.page import figures, text
from reports.page.figures import figure

NO_FIGURE = Indicator("", "", "", None, "", 0)
"""What stands for the figure of a thing that has none: nothing is set for it."""


@dataclass(frozen=True)
class MeasuredRow:
    """One thing by one method as printed."""

    ref: str
    label: str
    method: str
    value: str
    interval: str
    spread: str
    n: str
    target: str
    mark: str
    standing: str
    marked: bool
    since: str


def measured_rows(
    measured: tuple[Measured, ...], survey: ConditionSurvey, refs: dict[tuple[str, str], int]
) -> tuple[MeasuredRow, ...]:
    """The things of a table, each with the number its figure is printed under."""
    dated = _same_day(measured) is None
    return tuple(_row(one, survey, refs, dated=dated) for one in measured)


def _same_day(measured: tuple[Measured, ...]) -> date | None:
    """The day that every comparison goes back to; None where they go back to several, or none is made."""
    days = {one.change.since for one in measured if one.change}
    return days.pop() if len(days) == 1 else None


def compared(one: Measured) -> bool:
    """Whether it is said of a thing whether it changed: against a visit before, and with an interval."""
    return one.change is not None and one.change.difference.low is not None


def since_heading(measured: tuple[Measured, ...]) -> str:
    """The heading of what has changed: since which day, where it is the same for all."""
    day = _same_day(measured)
    return f"Since {text.short_day(day)}" if day else "Since the last visit"


def _row(one: Measured, survey: ConditionSurvey, refs: dict[tuple[str, str], int], *, dated: bool) -> MeasuredRow:
    own = survey.season.indicators
    held = next((i for i in own if (i.name, i.band) == (one.figure, one.method)), None)
    unit = text.clean(one.unit, 32)
    judged = figure(0, held or NO_FIGURE)
    places = judgement.digits(held) if held else one.decimals
    return MeasuredRow(
        ref=str(refs[held.name, held.band]) if held else "",
        label=text.clean(one.label, 60),
        method=text.clean(one.method, 120),
        value=figures.marked(text.quantity(one.value, unit, places), held or NO_FIGURE),
        interval=text.interval(one.low, one.high, one.decimals),
        spread="" if one.cv_pct is None else text.quantity(one.cv_pct, "%", 0),
        n=f"{one.n:,}",
        target=judged.target,
        mark=judged.mark,
        standing=judged.standing,
        marked=judged.marked,
        since=since(one.change, one.decimals, text.clean(one.note), dated=dated),
    )


def since(found: Change | None, decimals: int, note: str, *, dated: bool) -> str:
    """What changed since the visit before, and whether the readings show it."""
    if found is None:
        return text.sentence(note) or "first by this method"
    gap = found.difference
    shown = "no interval" if gap.low is None else "no change shown"
    if gap.shown:
        shown = "higher" if gap.change > 0 else "lower"
    change = text.number(gap.change, decimals)
    signed = f"+{change}" if gap.change > 0 else change
    interval = text.interval(gap.low, gap.high, _telling(gap, decimals))
    when = f" since {text.short_day(found.since)}" if dated else ""
    return f"{signed}{f' ({interval})' if interval else ''}{when}: {shown}"


def _telling(gap: Difference, decimals: int) -> int:
    """Digits with which the interval of a change shows whether it leaves zero out: −14 to 0 would not."""
    ends = [end for end in (gap.low, gap.high) if end is not None]
    for places in range(decimals, decimals + judgement.MOST_DIGITS):
        if not gap.shown or all(round(end, places) for end in ends):
            return places
    return decimals + judgement.MOST_DIGITS
