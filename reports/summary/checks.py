"""Of each green how many figures are on target, close and off, and what is not on it in its own report's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.judgement import Judgement
from reports.page import against_target, figures, text

Said = Judgement | figures.Waits
ORDER: tuple[Said, ...] = ("off", "close", figures.WAITS)
"""What is said of figures that are not on target, in the order in which they are told."""


@dataclass(frozen=True)
class ChecksRow:
    """The figures of a green that have a target; every cell as printed.

    Attributes:
        green: its name.
        on_target: how many are on target.
        close: how many are close to a limit.
        off: how many are off.
        open: of how many it cannot be said yet, or not before an entry is checked.
        told: what is off, then what is close, then what waits for an entry to be checked, a sentence each.
        more: how many of these are left, and where they stand; what is said where there is none.
    """

    green: str
    on_target: str
    close: str
    off: str
    open: str
    told: tuple[str, ...]
    more: str


def checks_row(green: GreenSeason, most: int, most_off: int = 0) -> ChecksRow:
    """A green's counts, and so many sentences at most, or as many of what is off as ``most_off``."""
    checks = against_target.checks_of(green)
    words = [word for word, _ in checks]
    apart = sorted(against_target.not_on_target(checks), key=lambda check: ORDER.index(check[0]))
    most = max(most, min(most_off, words.count("off")))
    return ChecksRow(
        green=text.name(green.green_name, 48),
        on_target=_number(words, "on target"),
        close=_number(words, "close"),
        off=_number(words, "off"),
        open=_number(words, "too early to say", "too few to say", "waits"),
        told=tuple(_told(*check) for check in apart[:most]),
        more=_more(len(apart) - most) if apart else _none(words),
    )


def _told(word: Said, one: Indicator) -> str:
    """A figure that is off, close, or would be once the entry it waits for is checked: that is said first."""
    said = against_target.apart_sentence(one)
    return f"Waits for an entry to be checked: {text.inside(said)}" if word == figures.WAITS else said


def _number(words: Sequence[Said], *of: Said) -> str:
    return f"{sum(word in of for word in words):,}"


def _more(left: int) -> str:
    return f"{text.count(left, 'more stands', 'more stand')} in the green’s condition report." if left > 0 else ""


def _none(words: Sequence[Said]) -> str:
    if not words:
        return "No figure of this green has a target."
    return "Nothing is off target." if "on target" in words else "Nothing can be said yet."
