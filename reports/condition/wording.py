"""The figures in plain words, after page one: which figure gives which sentence, and nothing beyond the figures.

The rules, in the order their sentences are printed:

1. No figure at all: say so, and stop.
2. Figures that have a target are counted by what is said of each: "Of the 9 figures that have a target, 6 are on
   target, 2 are close and 1 is off." Without any target, say that the figures stand without one. Of those on target,
   how many are totals of a season that still runs.
3. A figure that is off its target gives one sentence with the figure and the target, the farthest from its target
   before the nearer; then one that is close, with what makes it so; last what is about the crew and not the green. At
   most ``MOST_TOLD``; the others are counted in one sentence. A figure that rests on an entry to be checked says so.
4. A change over time gives one sentence by its verdict, which is settled with the figure and only printed here: which
   way and how much, or "no clear change". Where a laboratory's results stepped on many greens, that follows.
5. Totals below their target while the season runs are named in one sentence: it is too early to judge them.
6. Figures that are too few or not comparable are named in one sentence, without a judgement; of a change over time it
   is said that it cannot be told yet, and why.
7. The first thing due next, with its quantity and day.
"""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.indicators.base.green_season import Change, GreenSeason, Indicator, Standing
from pipeline.indicators.base.judgement import JUDGEMENTS, Judgement
from reports.page import against_target, figures, remarks, text

MOST_TOLD = 3
MOST_SENTENCES = 8


def headline(season: GreenSeason) -> tuple[str, ...]:
    """Sentences on the figures; those the season brings with it stand instead of ours."""
    if season.headline:
        given = (text.sentence(text.clean(line, 300)) for line in season.headline)
        return tuple(line for line in given if line)[:MOST_SENTENCES]
    if not any(i.value is not None for i in season.indicators):
        return ("Nothing is recorded for this green in this season, so this report can say nothing about it.",)
    return tuple(_sentences(season))


def _sentences(season: GreenSeason) -> Iterator[str]:
    said = against_target.checks_of(season)
    yield _counted([word for word, _ in said], sum(i.so_far for word, i in said if word == "on target"))
    apart = against_target.not_on_target(said)
    for _, indicator in apart[:MOST_TOLD]:
        yield against_target.apart_sentence(indicator)
    if len(apart) > MOST_TOLD:
        yield _others_apart(len(apart) - MOST_TOLD)
    yield from trend_sentences([i for i in season.indicators if _is_trend(i)])
    yield from _laboratory(season)
    yield from _too_early(season)
    yield from _unjudged(season.indicators)
    if season.due:
        yield due_sentence(season)


def trend_sentences(trends: list[Indicator]) -> Iterator[str]:
    """A sentence for each clear change, and one for all those of a label that show none."""
    still: dict[str, list[str]] = {}
    for trend in trends:
        if trend.verdict and trend.verdict.clear:
            yield trend_sentence(trend)
        elif trend.verdict and trend.verdict.word == "no clear change":
            still.setdefault(text.clean(trend.label, 80), []).append(text.clean(trend.band, 80))
    for label, bands in still.items():
        where = ", ".join(band for band in bands if band)
        yield f"{label}{f' ({where})' if where else ''}: no clear change."


def trend_sentence(trend: Indicator) -> str:
    """Which way a clear change goes, by the word of its verdict, and how much where there is a slope."""
    assert trend.verdict is not None, "a figure that is no change over time has no sentence here"
    said: str = trend.verdict.word
    if trend.value is not None:
        said += f" by {text.quantity(abs(trend.value), text.clean(trend.unit, 32), trend.decimals)}"
        if trend.low is not None and trend.high is not None and trend.low * trend.high > 0:
            near, far = sorted((abs(trend.low), abs(trend.high)))
            said += f" ({text.span(near, far, '', trend.decimals)})"
    doubt = f", {remarks.IF_RIGHT}" if trend.questioned else ""
    return f"{figures.named(trend)}: {said}, a real change{doubt}."


def due_sentence(season: GreenSeason) -> str:
    """The first thing due: what, how much, by when."""
    first = season.due[0]
    what, much, by = (
        text.clean(first.what, 120),
        text.clean(first.quantity.partition("; ")[0], 160),
        text.clean(first.by, 60),
    )
    day = f"by {by}" if by[:1].isdigit() else by
    return text.sentence("Due next: " + ", ".join(part for part in (what, much, day) if part))


def _is_trend(indicator: Indicator) -> bool:
    return indicator.verdict is not None


def _word(indicator: Indicator) -> Change | Standing:
    """The verdict on a change over time, the standing of any other figure."""
    return indicator.verdict.word if indicator.verdict else indicator.standing


def _counted(said: list[Judgement | figures.Waits], so_far: int = 0) -> str:
    """How many figures are on target, close, off, and of how many it cannot be said; how many may yet leave it."""
    if not so_far:
        return _tallied(said)
    which = "It" if len(said) == 1 else f"{so_far} of those on target"
    return f"{_tallied(said)} {which} {'is a total' if so_far == 1 else 'are totals'} of a season that still runs."


def _tallied(said: list[Judgement | figures.Waits]) -> str:
    if not said:
        return "No target is set for any figure of this green, so the figures stand without a judgement."
    if len(said) == 1 and said[0] in JUDGEMENTS[:3]:
        return f"One figure has a target; it is {said[0]}."
    if len(said) == 1:
        return f"One figure has a target; {figures.tally(said)}."
    return f"Of the {len(said)} figures that have a target, {figures.tally(said)}."


def _others_apart(number: int) -> str:
    if number == 1:
        return "One more figure is off its target or close to a limit of it; see the table."
    return f"{number} more figures are off their targets or close to a limit; see the table."


def _laboratory(season: GreenSeason) -> Iterator[str]:
    """What a laboratory's step has to do with a clear change of organic matter: it may be the whole of it."""
    clear = any(one.verdict and one.verdict.clear and one.family == "soil" for one in season.indicators)
    for note in season.data_notes if clear else ():
        if note.topic == "laboratory":
            yield text.sentence(f"Before that is believed: {text.inside(text.clean(note.text, 300))}")


def _too_early(season: GreenSeason) -> Iterator[str]:
    names = list(dict.fromkeys(figures.named(i) for i in season.indicators if i.standing == "too early"))
    if names:
        more = f"; and {len(names) - 3} more" if len(names) > 3 else ""
        until = text.day(season.season_end)
        yield f"Too early to judge, for the season runs to {until}: {'; '.join(names[:3])}{more}."


def _unjudged(indicators: tuple[Indicator, ...]) -> Iterator[str]:
    open_ones = [i for i in indicators if _word(i) in _REASON]
    trends = [i for i in open_ones if _is_trend(i)]
    for label in dict.fromkeys(text.clean(i.label, 80).partition(",")[0] for i in trends):
        reasons = dict.fromkeys(_REASON[_word(i)] for i in trends if i.label.startswith(label))
        yield f"Whether {text.inside(label)} is rising or falling cannot be told yet: {' and '.join(reasons)}."
    names = list(dict.fromkeys(figures.named(i) for i in open_ones if not _is_trend(i)))
    if names:
        more = f"; and {len(names) - 3} more" if len(names) > 3 else ""
        yield f"Not enough records to judge or compare: {'; '.join(names[:3])}{more}."


_REASON = {
    "too few": "there are too few comparable years",
    "not comparable": "the way it is measured, or the time of the year, has changed",
}
"""Why a figure of this standing or verdict carries no judgement."""
