"""What changed with what: greens whose programme changed against those whose did not, season on season."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import difference_unit
from pipeline.compare import like
from pipeline.compare.comparison import Association, Topic
from pipeline.compare.county import County, by_topic
from pipeline.compare.figures import Figure
from pipeline.compare.protection import large_enough, rounded
from pipeline.statistics.effect import Difference, difference_in_differences

OUTCOMES = ("organic_matter_pct", "speed_s")


@dataclass(frozen=True)
class Programme:
    """A change of programme that is looked at.

    Attributes:
        name: indicator that says what the programme was.
        least: change that counts as one, with its sign; less than half of it, either way, counts as none.
        words: the change in words.
    """

    name: str
    least: float
    words: str


PROGRAMMES = (
    Programme("dressing_kg_m2", 1.5, AmountText("at least ", Amount(1.5, "kg/m²"), " more top dressing")),
    Programme("nitrogen_kg_ha", -20, AmountText("at least ", Amount(20, "kg/ha"), " less nitrogen")),
    Programme("disturbed_pct", 4, "surface opened by tines up by at least 4 percentage points"),
)
"""The least changes are set beforehand: a limit picked to fit the figures would find what it looks for. Common
practice, no source."""
RESTS_ON_QUESTIONED = "It rests on entries that are to be checked first."
"""Stands behind an association that a figure in question has part in."""


def associations(county: County) -> Iterator[Association]:
    """What went with each change of programme, over all regions, by shape and method (grain: programme, outcome)."""
    now, before = by_topic(county.now), by_topic(county.before)
    for outcome in sorted((t for t in now if t.name in OUTCOMES and t in before), key=_order):
        changes = _changes(outcome, now[outcome], before[outcome])
        for programme in PROGRAMMES:
            topic = next((t for t in now if t.name == programme.name), None)
            if topic is not None and topic in before:
                moved = _changes(topic, now[topic], before[topic])
                asked = _asked(now[outcome], before[outcome], now[topic], before[topic])
                yield from _by_shape(county, programme, topic, outcome, (moved, changes), asked)


def _order(topic: Topic) -> tuple[int, str, str]:
    return OUTCOMES.index(topic.name), topic.band, topic.method


def _changes(topic: Topic, now: Mapping[str, Figure], before: Mapping[str, Figure]) -> dict[str, float]:
    """Change of each green that has both figures, from protected figures."""
    return {
        green: rounded(now[green].value, topic.step) - rounded(before[green].value, topic.step)
        for green in sorted(now)
        if green in before
    }


def _asked(*of: Mapping[str, Figure]) -> frozenset[str]:
    """The greens that have a figure among these which rests on an entry to be checked."""
    return frozenset(green for having in of for green, figure in having.items() if figure.questioned)


def _by_shape(
    county: County,
    programme: Programme,
    topic: Topic,
    outcome: Topic,
    both_changes: tuple[Mapping[str, float], Mapping[str, float]],
    asked: frozenset[str],
) -> Iterator[Association]:
    moved, changes = both_changes
    both = [green for green in changes if green in moved]
    for shape in sorted({county.members[green].path[:1] for green in both}):
        here = [green for green in both if county.members[green].path[:1] == shape]
        share = {green: moved[green] / programme.least for green in here}
        tiny = topic.step / abs(programme.least) / 1000
        changed = frozenset(green for green in here if share[green] >= 1 - tiny)
        unchanged = frozenset(green for green in here if abs(share[green]) < 0.5 - tiny)
        group = like.words(shape)
        found = _association(county, programme, outcome, group, (changed, unchanged), changes)
        doubt = found.value is not None and asked & (changed | unchanged)
        yield replace(found, text=f"{found.text} {RESTS_ON_QUESTIONED}") if doubt else found


def _association(
    county: County,
    programme: Programme,
    outcome: Topic,
    group: str,
    arms: tuple[frozenset[str], frozenset[str]],
    changes: Mapping[str, float],
) -> Association:
    refused = Association(
        programme=programme.words,
        topic=outcome,
        group=group,
        n_changed=0,
        n_unchanged=0,
        value=None,
        low=None,
        high=None,
        text="Not compared: fewer than five greens or two clubs with, or without, that change.",
    )
    if not all(large_enough(arm, county.club_of) for arm in arms):
        return refused
    found = difference_in_differences(*([changes[green] for green in sorted(arm)] for arm in arms))
    if not isinstance(found, Difference):
        return refused
    return replace(
        refused,
        n_changed=found.n_first,
        n_unchanged=found.n_second,
        value=found.value,
        low=found.low,
        high=found.high,
        text=_text(found, outcome),
    )


def _text(found: Difference, outcome: Topic) -> str:
    """The result in words, as association."""
    decimals = outcome.decimals + 1
    value, low, high = (f"{end:+.{decimals}f}".replace("-", "−") for end in (found.value, found.low, found.high))
    clear = found.low > 0 or found.high < 0
    opening = "Went with a change" if clear else "Went with no clear change"
    return (
        f"{opening} of {value} {difference_unit(outcome.unit)} against greens without it "
        f"(95 % interval {low} to {high}; {found.n_first} and {found.n_second} greens). An "
        "association: what else differed is not taken out."
    )
