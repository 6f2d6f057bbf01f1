"""What matters for a club's greens in plain words: which figure gives which sentence, and nothing beyond the figures.

The rules, in the order their sentences are printed:

1. No figure at all on any green: say so, and stop.
2. Each of the figures the greens are set side by side on gives one sentence: on which greens it is below or above its
   target, with the figure, and on how many it is within. Where the interval of one reaches into its target, "may be
   chance" stands beside it. A figure without a target on any green gives no sentence.
3. On which greens a figure is not recorded: one sentence for all figures together.
4. Hours and cost of all greens, as logged; "at least" where some jobs give none.
5. How many things are due next, and the first dated one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.common.words import listed
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.outside import doubtful
from pipeline.summaries.club_season import ClubSeason, Topic
from reports.page import figures, text
from reports.page.effort import effort_words

MOST_NAMES = 3
Pair = tuple[GreenSeason, Indicator]


def figure_of(green: GreenSeason, topic: Topic) -> Indicator | None:
    """The green's figure of a topic, in its very band; None where there is none."""
    return next((i for i in green.indicators if i.name == topic.name and i.band == topic.band), None)


def matters(club: ClubSeason) -> Iterator[str]:
    """Sentences of what matters on the club's greens."""
    if not any(i.value is not None for green in club.greens for i in green.indicators):
        yield "Nothing is recorded for these greens in this season, so this summary can say nothing about them."
        return
    missing: dict[str, list[str]] = {}
    for topic in club.topics:
        pairs = [(green, figure_of(green, topic)) for green in club.greens]
        known = [(green, i) for green, i in pairs if i is not None and i.value is not None]
        yield from _topic(topic, known)
        absent = [short_name(green) for green, i in pairs if i is None or i.value is None]
        if absent:
            missing.setdefault(named(absent), []).append(figures.named(topic, 60).lower())
    if missing:
        yield "Not recorded: " + "; ".join(f"{listed(what)} on {where}" for where, what in missing.items()) + "."
    yield from _effort(club)
    yield from _due(club)


def _topic(topic: Topic, known: Sequence[Pair]) -> Iterator[str]:
    judged = [(green, i) for green, i in known if i.standing in ("within", "below", "above")]
    if not judged:
        return
    parts = [_outside(way, [pair for pair in judged if pair[1].standing == way]) for way in ("above", "below")]
    within = [short_name(green) for green, i in judged if i.standing == "within"]
    if len(within) == len(judged):
        every = "on every green" if len(judged) == len(known) > 1 else f"on {named(within)}"
        yield f"{figures.named(topic, 60)} is within its target {every}."
        return
    told = [part for part in parts if part]
    if within:
        told.append(f"within it on {named(within) if len(within) <= MOST_NAMES else text.count(len(within), 'green')}")
    yield f"{figures.named(topic, 60)} is {listed(told)}."


def _outside(way: str, pairs: Sequence[Pair]) -> str:
    if not pairs:
        return ""
    shown = [
        f"{short_name(green)} ({figures.value_text(i)}{', may be chance' if doubtful(i) else ''})" for green, i in pairs
    ]
    return f"{way} its target on {named(shown)}"


def _effort(club: ClubSeason) -> Iterator[str]:
    if told := effort_words(club.total, club.currency, "hours of work"):
        where = f"On the {len(club.greens)} greens together" if len(club.greens) > 1 else "On the green"
        yield f"{where} {listed(told)} {'are' if club.total.hours is not None else 'is'} logged."


def _due(club: ClubSeason) -> Iterator[str]:
    every = [(due, green) for green in club.greens for due in green.due]
    dated = sorted((pair for pair in every if pair[0].day is not None), key=lambda pair: (pair[0].day, pair[1].green))
    if not every:
        return
    due, green = (dated or every)[0]
    first = f"{text.inside(text.clean(due.what, 80))}, {short_name(green)}, {text.clean(due.by, 60)}"
    yield f"{text.count(len(every), 'thing is', 'things are')} due; first: {first}."


def short_name(green: GreenSeason) -> str:
    """The green's name for a sentence."""
    return text.name(green.green_name, 40)


def named(names: Sequence[str]) -> str:
    """Names as a list, the first few and how many more."""
    if len(names) <= MOST_NAMES:
        return listed(names)
    return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"
