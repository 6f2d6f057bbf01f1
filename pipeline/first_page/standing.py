"""How the checks of a green stand, and the verdict: rules in the order in which they are asked.

A check is a figure with a value and a target. One that rests on an entry under a warning waits: it is neither on target
nor off until the entry is settled.

The verdict is two short sentences at most:

1. Nothing recorded, no target, or nothing that can be judged: that alone.
2. An entry under a warning: "Check one entry first."; then what is grave beside it, or "The rest is sound."
3. Else from play: speed and evenness of rinks, as far as each is judged; where bowls run untrue over what was found, or
   levels are off, of the speed alone, for such a green does not play well. Then the gravest finding beyond doubt that
   asks for works; without one what is off, by name or number, and with nothing off "Sound."

What misses its limit by less than a twentieth of it (``SLIGHT``) heads no page: it is counted as off, and the verdict
and the order of the findings take it as close. What is about the crew and not the green makes no green unsound.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pipeline.common.words import listed
from pipeline.indicators.base.first_page import Counts, Found
from pipeline.indicators.base.green_season import Evidence, Indicator, Question
from pipeline.indicators.base.judgement import has_target, judgement, miss
from pipeline.indicators.families import DESCRIBED

SPEED, EVENNESS = "speed_s", "speed_range_s"
LEVELS = frozenset({"level_within_pct", "level_deviation_mm", "crown_deviation_mm"})
"""Figures of the ground's levels: off them, bowls leave their line."""
GOOD = ("on target", "close")
SLIGHT = 0.05
"""Share of its limit by which a figure without an interval may miss it and head no page: common practice, no source."""
MOST_NAMED = 2
"""What is off by name in a verdict; of more their number."""
NOTHING_RECORDED = "Nothing is recorded of this season."
NO_TARGET = "No target is set."
NOTHING_JUDGED = "Nothing can be judged yet."
SOUND = "Sound."
NUMBERS = "no one two three four five six seven eight nine ten".split()  # noqa: SIM905
SHORT = {
    "organic_matter_pct": "organic matter",
    "infiltration_mm_h": "drainage",
    "dressing_kg_m2": "top dressing",
    "nitrogen_kg_ha": "nitrogen",
    "nitrogen_dose_g_m2": "largest feed",
    "disturbed_pct": "surface opened",
    "speed_s": "speed",
    "speed_range_s": "rinks",
    "level_deviation_mm": "levels",
    "level_within_pct": "levels",
    "crown_height_mm": "crown",
    "cover_pct": "grass cover",
    "desirable_pct": "fine grasses",
    "bare_pct": "bare ground",
    "thatch_mm": "thatch",
    "vibration_a8_m_s2": "crew’s vibration",
}
"""Figures whose label is long, in a word or two; figures of one name count together."""


def waiting_lines(questions: Iterable[Question]) -> frozenset[Evidence]:
    """The lines under a warning; rejected rows are none, for no figure rests on them."""
    return frozenset(one.place for one in questions if not one.rejected)


def waits(one: Indicator, lines: frozenset[Evidence]) -> bool:
    """Whether a figure rests on an entry under a warning."""
    return any(place in lines for place in one.questioned)


def counts(figures: Iterable[Indicator], lines: frozenset[Evidence]) -> Counts:
    """How the checks stand.

    Args:
        figures: of the green and season.
        lines: lines under a warning.
    """
    checks = [one for one in figures if one.value is not None and has_target(one)]
    settled = [one for one in checks if not waits(one, lines)]
    words = [judgement(one) for one in settled]
    return Counts(
        of=len(checks),
        on_target=words.count("on target"),
        close=words.count("close"),
        off=words.count("off"),
        early=words.count("too early to say"),
        few=words.count("too few to say"),
        waiting=len(checks) - len(settled),
        off_names=_names([one for one in settled if judgement(one) == "off"]),
    )


def _names(off: Sequence[Indicator]) -> tuple[tuple[str, int], ...]:
    found: dict[str, int] = {}
    for one in sorted(off, key=lambda one: (of_the_crew(one), -miss(one))):
        found[_short(one)] = found.get(_short(one), 0) + 1
    return tuple(found.items())


def _short(one: Indicator) -> str:
    short = SHORT.get(one.name) or f"{one.label[:1].lower()}{one.label[1:]}"
    return f"{short} at {one.band}" if one.name == "organic_matter_pct" and one.band else short


def of_the_crew(one: Indicator) -> bool:
    """Whether a figure is about those who work: it stands behind all that is about the green."""
    what = DESCRIBED.get(one.name)
    return what is not None and what.of_the_crew


def slight(one: Indicator) -> bool:
    """Whether a figure without an interval is off its target by so little that it is no matter for a verdict."""
    return one.low is None and 0.0 < miss(one) <= SLIGHT


def _plays_so(one: Indicator) -> str:
    """The judgement of a figure as the verdict takes it."""
    word = judgement(one)
    return "close" if word == "off" and slight(one) else word


def verdict(figures: Sequence[Indicator], found: Sequence[Found], questions: Sequence[Question]) -> tuple[str, ...]:
    """The verdict.

    Args:
        figures: of the green and season.
        found: its findings, gravest first, none that rests on an entry under a warning.
        questions: its entries to check.
    """
    lines = waiting_lines(questions)
    told = counts(figures, lines)
    if first := _unjudged(figures, told, len(lines)):
        return first
    off = _off(figures, lines)
    untrue = any(one.untrue for one in found) or any(one.name in LEVELS for one in off)
    play = _play(figures, lines, untrue=untrue)
    grave = _grave(found, off, play)
    if lines:
        return (check_first(len(lines)), grave or (play if off else "The rest is sound."))
    parts = (play, grave or ("" if off else SOUND))
    return tuple(part for part in parts if part)


def _off(figures: Iterable[Indicator], lines: frozenset[Evidence]) -> list[Indicator]:
    """What of the green itself is off its target by more than a little, and waits for no entry."""
    every = (one for one in figures if one.value is not None and not of_the_crew(one) and not waits(one, lines))
    return [one for one in every if _plays_so(one) == "off"]


def _unjudged(figures: Sequence[Indicator], told: Counts, entries: int) -> tuple[str, ...]:
    """What is said where nothing is judged; nothing where something is."""
    if told.on_target + told.close + told.off:
        return ()
    if entries:
        return (check_first(entries),)
    if not any(one.value is not None for one in figures):
        return (NOTHING_RECORDED,)
    return (NOTHING_JUDGED if told.of else NO_TARGET,)


def check_first(entries: int) -> str:
    """That so many entries are to be checked before anything else."""
    return f"Check {_number(entries)} {'entry' if entries == 1 else 'entries'} first."


def _number(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else f"{count:,}"


def _grave(found: Sequence[Found], off: Sequence[Indicator], play: str) -> str:
    """The gravest finding beyond doubt that asks for works; without one how much is off; "" with nothing off."""
    for one in found:
        of_play = one.figure.name in (SPEED, EVENNESS)
        if one.verdict and one.works and not one.doubtful and not (of_play and play):
            return f"{_of_hollows(one) or one.verdict}."
    left = [one for one in off if not (play and one.name in (SPEED, EVENNESS))]
    if not left:
        return ""
    names = [name for name, _ in _names(left)]
    if len(names) <= MOST_NAMED:
        return f"Off target: {listed(names)}."
    return f"{_number(len(left)).capitalize()} checks are off target."


def _of_hollows(one: Found) -> str:
    if one.hollows is None:
        return ""
    what = "level" if one.hollows.fill_t is None else "fill"
    if one.hollows.one_side:
        return f"One side to {'level' if what == 'level' else 'raise'}"
    return f"One hollow to {what}" if one.hollows.number == 1 else f"Hollows to {what}"


def _play(figures: Sequence[Indicator], lines: frozenset[Evidence], *, untrue: bool) -> str:
    """How the green plays, by speed and evenness; "" where neither is judged, or both wait."""
    by_name = {one.name: one for one in figures if one.value is not None and not waits(one, lines)}
    speed, even = by_name.get(SPEED), by_name.get(EVENNESS)
    pace = _pace(speed) if speed else ""
    word = _plays_so(even) if even else ""
    if word == "off":
        return f"Plays {pace}, and rinks differ." if pace in ("slow", "fast") else "Rinks differ."
    if pace in ("slow", "fast"):
        return f"Plays {pace}."
    if pace and word in GOOD and not untrue:
        return "Plays well."
    return "Speed is right." if pace else "The rinks are even." if word in GOOD else ""


def _pace(speed: Indicator) -> str:
    """Right, slow or fast; "" where it is not judged. Fewer seconds is a slower green."""
    word = _plays_so(speed)
    if word in GOOD:
        return "right"
    return ("slow" if speed.standing == "below" else "fast") if word == "off" else ""
