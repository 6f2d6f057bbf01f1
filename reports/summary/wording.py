"""What matters for a club's greens in plain words: which figure gives which sentence, and nothing beyond the figures.

The rules, in the order their sentences are printed:

1. No figure at all on any green: say so, and stop.
2. Each of the figures the greens are set side by side on gives one sentence: on which greens it is off its target or
   close to a limit of it, with the figure, and on how many it is on target; one that rests on an entry under a warning
   is said to wait for it, and not to be off. A figure without a target on any green gives no sentence.
3. How many of each green's checks are off target; what they are stands green by green below.
4. On which greens a change over the years is clear, and on how many chance alone would show one.
5. On which greens a figure is not recorded: one sentence for all figures together.
6. Hours and cost of all greens, as logged; "at least" where some jobs give none.
7. How many things are due next, and the first of them by day.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.common.grouped import grouped
from pipeline.common.words import listed
from pipeline.first_page.standing import waiting_lines, waits
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.judgement import judged, judgement
from pipeline.summaries.changes import changes
from pipeline.summaries.club_season import ClubSeason, Topic
from reports.page import against_target, figures, remarks, text
from reports.page import changes as over_years
from reports.page.effort import effort_words

MOST_NAMES = 3
MOST_OFF = 6
"""Greens whose checks off target are counted one by one."""
WAYS = (
    ("off", ("above",), "above its target"),
    ("off", ("below",), "below its target"),
    ("close", ("within", "above", "below"), "close to a limit of its target"),
    ("too early to say", ("too early",), "below its target in a season that still runs, too early to judge,"),
    ("too few to say", ("within", "above", "below"), "known from too few records to say"),
)
"""Judgement and standings → the words for them, in the order they are told."""
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
    yield from _off(club)
    names = {green.green: short_name(green) for green in club.greens}
    found = changes({green.green: green.indicators for green in club.greens})
    yield from over_years.sentences(found, names.__getitem__)
    if found.clear:
        told = [note.text for green in club.greens for note in green.data_notes if note.topic == "laboratory"]
        yield from (text.sentence(text.clean(one, 300)) for one in dict.fromkeys(told))
    if missing:
        yield "Not recorded: " + "; ".join(f"{listed(what)} on {where}" for where, what in missing.items()) + "."
    yield from _effort(club)
    yield from _due(club)


def _topic(topic: Topic, known: Sequence[Pair]) -> Iterator[str]:
    told = [(green, i) for green, i in known if judged(i) or i.standing == "too early"]
    parted = grouped(told, lambda pair: waits(pair[1], waiting_lines(pair[0].questions)))
    said, waiting = parted.get(False, []), parted.get(True, [])
    if said:
        yield f"{figures.named(topic, 60)} is {_standing(said, len(known))}."
    if waiting:
        where = named([f"{short_name(green)} ({figures.value_text(i)})" for green, i in waiting])
        verb = "waits" if len(waiting) == 1 else "wait"
        yield f"{figures.named(topic, 60)} on {where} {verb} for an entry to be checked."


def _standing(said: Sequence[Pair], every: int) -> str:
    """How a figure stands on greens, of so many that have it."""
    words = [(judgement(i), i.standing, green, i) for green, i in said]
    good = [short_name(green) for word, _, green, _ in words if word == "on target"]
    so_far = " so far" if any(i.so_far for word, _, _, i in words if word == "on target") else ""
    if len(good) == len(said):
        return f"on target{so_far} {'on every green' if len(said) == every > 1 else f'on {named(good)}'}"
    apart = [
        (way, [_shown(green, i) for found, stands, green, i in words if found == word and stands in ways])
        for word, ways, way in WAYS
    ]
    told = [f"{way} on {named(greens)}" for way, greens in apart if greens]
    if good:
        told.append(
            f"on target{so_far} on {named(good) if len(good) <= MOST_NAMES else text.count(len(good), 'green')}"
        )
    return listed(told)


def _off(club: ClubSeason) -> Iterator[str]:
    """Of each green how many of its checks are off target, those with the most first."""
    counted = []
    for green in club.greens:
        words = [word for word, _ in against_target.checks_of(green)]
        if words:
            counted.append((words.count("off"), len(words), short_name(green)))
    off = sorted((one for one in counted if one[0]), key=lambda one: -one[0])
    if not off:
        yield from (["No check is off target on any green."] if len(counted) > 1 else [])
        return
    told = [f"{number} of {text.count(of, 'check')} on {name}" for number, of, name in off[:MOST_OFF]]
    left = len(off) - len(told)
    more = [text.count(left, "more green has some", "more greens have some")] if left > 0 else []
    yield f"Off target: {listed([*told, *more])}."


def _shown(green: GreenSeason, one: Indicator) -> str:
    """The green with its figure, and a word where it rests on an entry to be checked."""
    return f"{short_name(green)} ({figures.value_text(one)}{f', {remarks.IF_RIGHT}' if one.questioned else ''})"


def _effort(club: ClubSeason) -> Iterator[str]:
    if told := effort_words(club.total, club.currency, "hours of work"):
        where = f"On the {len(club.greens)} greens together" if len(club.greens) > 1 else "On the green"
        yield f"{where} {listed(told)} {'are' if club.total.hours is not None else 'is'} logged."


def _due(club: ClubSeason) -> Iterator[str]:
    if not club.due:
        return
    green, due = club.due[0]
    first = f"{text.inside(text.clean(due.what, 80))}, {short_name(green)}, {text.clean(due.by, 60)}"
    later = sum(one.state == "not due yet" for _, one in club.due)
    if later == len(club.due):
        yield f"Nothing is due yet; first of {text.count(later, 'thing')} to come: {first}."
        return
    more = f", {later} not due yet" if later else ""
    yield f"{text.count(len(club.due) - later, 'thing is', 'things are')} due{more}; first: {first}."


def short_name(green: GreenSeason) -> str:
    """The green's name for a sentence."""
    return text.name(green.green_name, 40)


def named(names: Sequence[str]) -> str:
    """Names as a list, the first few and how many more."""
    if len(names) <= MOST_NAMES:
        return listed(names)
    return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"
