"""Titles of charts: a sentence on what each shows of this green, no more than its verdict and its dots say.

A change is told by its verdict alone: the size by the slope, never by two dots that may be chance or of other weeks of
the year. A total is told by its standing, a season's speeds by how many of the days lie on target.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.common.grouped import grouped
from pipeline.common.words import difference_unit, listed
from pipeline.first_page.found import CHANGE_OF
from pipeline.first_page.standing import waiting_lines, waits
from pipeline.indicators.base.green_season import Change, GreenSeason, Indicator, Running, Series, Standing
from pipeline.indicators.base.judgement import Judgement, SoFar, has_target, judgement, said, stand
from reports.page import remarks, text

TOTAL_OF = {"Top dressing": "dressing_kg_m2", "Nitrogen": "nitrogen_kg_ha"}
"""What runs through the season → the figure of its whole."""
WENT: dict[Change, str] = {
    "rising": "rose",
    "falling": "fell",
    "faster": "became faster",
    "slower": "became slower",
}
TOLD: dict[Change, str] = {
    "no clear change": "no clear change",
    "too few": "too few years to tell a change",
    "not comparable": "measured in ways that cannot be compared",
}
"""Verdict on a change → what is said where there is none that chance hardly makes."""
STANDS: dict[Judgement | SoFar, tuple[str, str]] = {
    "on target": ("is on target", "are on target"),
    "on target so far": ("is on target so far", "are on target so far"),
    "close": ("is close to a limit of its target", "are close to limits of their targets"),
    "too early to say": ("is too early to judge", "are too early to judge"),
    "too few to say": ("has too few records to be judged", "have too few records to be judged"),
    "no target": ("is held against no target", "are held against no target"),
}
OFF: dict[Standing, tuple[str, str]] = {
    "below": ("is below its target", "are below their targets"),
    "above": ("is above its target", "are above their targets"),
}
LATEST: dict[Judgement, str] = {"close": "close to its limit", "too few to say": "too roughly known"}
WAITS = ("rests on an entry to be checked", "rest on entries to be checked")
"""What is said of one total, and of several: by judgement, by which way it is off, under a warning."""


def trend_of(series: Series, season: GreenSeason) -> Indicator | None:
    """The figure whose verdict says whether a series changed; None where none is made."""
    names = [one.name for one in season.indicators if (one.label, one.band) == (series.name, series.band)]
    wanted = {CHANGE_OF[name] for name in names if name in CHANGE_OF}
    return next((i for i in season.indicators if i.name in wanted and i.band == series.band and i.verdict), None)


def years(found: Sequence[Series], season: GreenSeason) -> str:
    """What series of one thing over the years show, of each depth; in words alone where no verdict is made."""
    name = text.clean(found[0].name, 60)
    pairs = [(one, trend_of(one, season)) for one in found]
    told = [(one, trend, trend.verdict) for one, trend in pairs if trend and trend.verdict]
    clear = [_went(one, trend, season) for one, trend, verdict in told if verdict.clear]
    still = grouped(((one, TOLD[verdict.word]) for one, _, verdict in told if not verdict.clear), lambda pair: pair[1])
    open_ones = [
        f"{what}{'' if _everywhere(same, found) else _at([one for one, _ in same])}" for what, same in still.items()
    ]
    if clear:
        return "; ".join([f"{name} {listed(clear)}", *open_ones])
    if stands := _levels(found, season) if set(still) == {TOLD["too few"]} else "":
        return f"{name} is {stands}; {TOLD['too few']}"
    if not open_ones:
        return f"{name} over the years" if max(len(one.samples) for one in found) > 1 else f"{name}, sampled once"
    if len(open_ones) == 1 and len(found) > 1 and len(next(iter(still.values()))) == len(found):
        return f"{name}: {open_ones[0]}{' at any depth' if 'no clear change' in still else ''}"
    return f"{name}: {'; '.join(open_ones)}"


def _levels(found: Sequence[Series], season: GreenSeason) -> str:
    """How the latest of each depth stands against its target, those that stand alike together; "" without one."""
    lines = waiting_lines(season.questions)
    told = []
    for series in found:
        of = next((i for i in season.indicators if (i.label, i.band) == (series.name, series.band)), None)
        if of is None or of.value is None or not has_target(of):
            return ""
        word = judgement(of)
        told.append((series, "in doubt, for an entry is to be checked," if waits(of, lines) else
                     f"{of.standing} its limit" if word == "off" else LATEST.get(word, word)))  # fmt: skip
    return ", ".join(f"{word}{_at([one for one, _ in same])}" for word, same in
                     grouped(told, lambda pair: pair[1]).items())  # fmt: skip


def _everywhere(same: Sequence[object], found: Sequence[Series]) -> bool:
    return len(same) == len(found) and (len(found) > 1 or not found[0].band)


def _at(those: Sequence[Series]) -> str:
    """Where: the depths, their unit once."""
    bands = [text.clean(one.band, 60) for one in those if one.band]
    unit = bands[-1][-3:] if bands else ""
    short = [band.removesuffix(unit) if nth < len(bands) - 1 else band for nth, band in enumerate(bands)]
    return f" at {listed(short)}" if bands else ""


def _went(series: Series, trend: Indicator, season: GreenSeason) -> str:
    """Which way a clear change went, by how much a year, from when to when, and what it rests on."""
    assert trend.verdict is not None
    same = [one for one in series.samples if one.comparable]
    much = ""
    if trend.value is not None:
        size = text.quantity(abs(trend.value), difference_unit(text.clean(trend.unit, 32)), trend.decimals)
        much = f" by {size}"
    spans = f" from {same[0].date.year} to {same[-1].date.year}" if same[0].date.year < same[-1].date.year else ""
    of_laboratory = trend.family == "soil" and any(one.topic == "laboratory" for one in season.data_notes)
    if_so = ", if the laboratory has not moved" if of_laboratory else ""
    if_right = f", {remarks.IF_RIGHT}" if trend.questioned else ""
    return f"{WENT[trend.verdict.word]}{much}{_at([series])}{spans}{if_so}{if_right}"


def totals(drawn: Sequence[Running], season: GreenSeason) -> str:
    """How the totals of a season stand, those that stand alike together."""
    told = grouped(((text.clean(one.name, 60), _stands(one, season)) for one in drawn), lambda pair: pair[1])
    parts = []
    for words, same in told.items():
        names = [name if not nth else text.inside(name) for nth, (name, _) in enumerate(same)]
        parts.append(f"{listed(names)} {words[len(same) > 1]}")
    return "; ".join(part if not nth else text.inside(part) for nth, part in enumerate(parts))


def _stands(one: Running, season: GreenSeason) -> tuple[str, str]:
    of = next((i for i in season.indicators if i.name == TOTAL_OF.get(one.name) and i.value is not None), None)
    if of is None:
        return STANDS["no target"] if one.target_low is None and one.target_high is None else STANDS["too few to say"]
    if waits(of, waiting_lines(season.questions)):
        return WAITS
    if judgement(of) == "off":
        return OFF[of.standing]
    return STANDS[said(of)]  # type: ignore[index]  # a total has no verdict of a change


def speeds(series: Series) -> str:
    """On how many of the days a speed lies on target; without a target from what to what the days reach."""
    days = [one for one in series.samples if one.comparable]
    name, unit = text.clean(series.name, 60), text.clean(series.unit, 32)
    if_right = f", {remarks.IF_RIGHT}" if any(one.questioned for one in days) else ""
    odd = len(days) < len(series.samples)
    of = "comparable days" if odd else "days"
    if series.target_low is None and series.target_high is None:
        low, high = min(one.value for one in days), max(one.value for one in days)
        on = f"on {len(days)} {of}" if len(days) > 1 else "on one day"
        much = text.quantity(low, unit, 1) if low == high else text.span(low, high, unit, 1)
        return f"{name} was {much} {on}{if_right}"
    stood = [stand(one.value, series.target_low, series.target_high) for one in days]
    return f"{name} was {_of_days(stood, of, in_seconds=series.unit == 's')}{if_right}"


def _of_days(stood: Sequence[Standing], of: str, *, in_seconds: bool) -> str:
    """On how many days it stood how; fewer seconds is a slower green."""
    words = {"below": "slower", "above": "faster"} if in_seconds else {"below": "below", "above": "above"}
    number, on = len(stood), stood.count("within")
    off = [f"{words[way]} on {stood.count(way)}" for way in ("below", "above") if way in stood]
    if number == 2 == on:
        return f"on target on both {of}"
    if number == 1:
        return "on target on the one day timed" if on else f"{words[stood[0]]} than its target on the one day timed"
    if on == number:
        return f"on target on all {number} {of}"
    return f"on target on {on or 'none'} of {number} {of}: {', '.join(off)}"


def change_words(series: Series, season: GreenSeason) -> str:
    """The verdict on a series' change, for the words of its picture; "" where none is made."""
    trend = trend_of(series, season)
    if trend is None or trend.verdict is None:
        return ""
    if trend.verdict.clear:
        return f"It {_went(series, trend, season)}, a real change"
    return text.sentence(TOLD[trend.verdict.word]).rstrip(".")
