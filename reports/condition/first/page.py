"""The frozen view-model of the first page: everything formatted, nothing left to work out."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.common.words import listed
from pipeline.indicators.base import judgement
from pipeline.indicators.base.first_page import FirstPage, Measure
from pipeline.indicators.base.green_season import GreenSeason
from reports.condition.first.actions import ActionTable, table
from reports.condition.first.bars import Bar, bar
from reports.condition.first.checks import CheckBox, box
from reports.condition.first.found import FoundLine, count_line, found_line
from reports.condition.first.level import FIRST_LEVELS, FirstLevel
from reports.condition.first.small_map import SmallMap, small_map
from reports.condition.first.spent import SpentCell, cells, nothing_logged
from reports.page import text
from reports.page.house_style import Units

SAID = {
    "on target": ("on target", "plain"),
    "close": ("close", "boxed"),
    "off": ("off", "inked"),
    "too early to say": ("too early", "plain"),
    "too few to say": ("too few", "plain"),
    "no target": ("no target", "plain"),
}
"""Judgement → the word beside a measure, and how it is set: white on ink, boxed, or plain."""


LAYERED = "organic_matter_pct"
"""The measure that is one of several layers: its row says which, for a finding may be of another."""


@dataclass(frozen=True)
class MeasureRow:
    """One measure as printed; ``absent`` stands in the place of its bar where it is not measured."""

    label: str
    value: str
    unit: str
    bar: Bar | None
    word: str
    set: str
    absent: str


@dataclass(frozen=True)
class FirstPageView:
    """The first page as printed; every field is final text.

    Attributes:
        period: first and last day of the season.
        verdict: two short sentences at most.
        counts: how the checks stand, one line.
        spent: the four sums; none where no job is logged.
        spent_note: that nothing is logged, where that is so.
        found: what was found; ``found_none`` where nothing was.
        found_more: what there is no room for, and where it stands; "" where all of it is told.
        checks: the box of entries to check.
        actions: what to do.
        measures: the six measures.
        key: how the bars are read.
        map: the small map; None where the green was not surveyed, or there is no room.
        not_measured: what was not measured, where there is no map.
        closely: whether less space stands between the blocks.
    """

    period: str
    verdict: str
    counts: str
    spent: tuple[SpentCell, ...]
    spent_note: str
    found: tuple[FoundLine, ...]
    found_none: str
    found_more: str
    checks: CheckBox
    actions: ActionTable
    measures: tuple[MeasureRow, ...]
    key: str
    map: SmallMap | None
    not_measured: str
    closely: bool


def first_page(season: GreenSeason, level: FirstLevel = FIRST_LEVELS[0], units: Units = "metric") -> FirstPageView:
    """The first page of a green's report, in units of display already.

    Args:
        season: the season with its first page.
        level: how closely it is set.
        units: units of display, for quantities that are worded here.
    """
    of = season.first
    assert of is not None, "a condition report has a first page"
    mapped = of.levels is not None and level.map
    return FirstPageView(
        period=f"{text.day(season.season_start)} to {text.day(season.season_end)}",
        verdict=" ".join(of.verdict),
        counts=count_line(of.counts, sum(one.value is not None for one in season.indicators)),
        spent=cells(of.spent, season.currency, units) if of.spent else (),
        spent_note=nothing_logged(of.spent) if of.spent else "",
        found=tuple(found_line(i, one, units, mapped=mapped) for i, one in enumerate(of.found[: level.found], start=1)),
        found_none=none_found(of),
        found_more=_found_left(len(of.found) - level.found),
        checks=box(of, level),
        actions=table(of, level, season, units),
        measures=tuple(_measure(one) for one in of.measures),
        key=_key(of, mapped=mapped),
        map=small_map(of.levels, of.tolerance_mm, of.hollows, units) if of.levels is not None and mapped else None,
        not_measured=_not_measured(of),
        closely=level.closely,
    )


def _found_left(number: int) -> str:
    """Where findings stand that have no room on the page."""
    if number <= 0:
        return ""
    return f"{text.count(number, 'further finding stands', 'further findings stand')} under “Figures against target”."


def none_found(of: FirstPage) -> str:
    """What is said where nothing was found; "" where something was."""
    if of.found:
        return ""
    judged = of.counts.of - of.counts.early - of.counts.few - of.counts.waiting
    return "Nothing that asks for work." if judged else "Nothing can be said: no figure could be held against a target."


def _measure(of: Measure) -> MeasureRow:
    one = of.figure
    if one is None or one.value is None:
        return MeasureRow(of.label, "–", "", None, "", "plain", of.absent)
    layer = text.clean(one.band, 24) if one.name == LAYERED else ""
    label = f"{of.label.partition(',')[0]} {layer}" if layer else of.label
    digits = judgement.digits(one)
    word, how = ("check", "inked") if of.waits else SAID[judgement.judgement(one)]
    value = text.number(judgement.as_shown(one, digits), digits)
    return MeasureRow(label, value, text.clean(one.unit, 32), bar(of), word, how, "")


def _key(of: FirstPage, *, mapped: bool) -> str:
    """How the bars are read: of each mark and word that stands beside one, and of no other."""
    bars = [drawn for one in of.measures if (drawn := bar(one))]
    words = {judgement.judgement(one.figure) for one in of.measures if one.figure and not one.waits}
    known = any(one.low_x is not None for one in bars)
    unmapped = bool(of.levels) and not mapped
    told = {
        "Shaded: target": any(one.band_x is not None for one in bars),
        f"Dot: this season{', with its 95 % interval where there is one' if known else ''}": any(
            not one.crossed for one in bars
        ),
        "Ring: last season": any(one.last_x is not None for one in bars),
        "Cross: rests on an entry to be checked": any(one.crossed for one in bars),
        "Close: the interval reaches the limit": bool(bars) and "close" in words,
        "Too few: known too roughly to say": bool(bars) and "too few to say" in words,
        "No room for the map of levels: its heights are in the attached records-level.csv": unmapped,
    }
    return "".join(f"{said}. " for said, stands in told.items() if stands).rstrip()


def _not_measured(of: FirstPage) -> str:
    if not of.not_measured:
        return ""
    said = listed(of.not_measured)
    verb = "is" if len(of.not_measured) == 1 else "are"
    return text.sentence(f"{said} {verb} not on record, and not judged here")
