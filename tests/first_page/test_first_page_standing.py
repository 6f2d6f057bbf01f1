"""The verdict and the counts of page one, by their stated rules."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.first_page.standing import counts, verdict, waiting_lines
from pipeline.indicators.base.first_page import Found, Hollows
from pipeline.indicators.base.green_season import Evidence, Indicator, Question
from pipeline.indicators.base.judgement import stand
from reports.condition.first.found import count_line

LINE_9 = Evidence("jobs.csv", 9, "job", 3)
SLIP = Question(LINE_9, "500 kg is far above the most at once.", ("Nitrogen",))
ROW = Question(Evidence("jobs.csv", 12, "job", 3), "the row is not in these figures.", ("Hours",), rejected=True)


def figure(name: str, value: float | None, low: float | None, high: float | None, **more: Any) -> Indicator:
    """A figure against a target, judged as the engine judges it."""
    standing = "no target" if value is None else stand(value, low, high)
    return Indicator(name, name, "", value, "", 5, target_low=low, target_high=high, standing=standing, **more)


GOOD_SPEED = figure("speed_s", 12.0, 10.0, 15.0)
SLOW = figure("speed_s", 8.0, 10.0, 15.0)
FAST = figure("speed_s", 19.0, 10.0, 15.0)
EVEN = figure("speed_range_s", 0.3, None, 0.5)
UNEVEN = figure("speed_range_s", 0.9, None, 0.5)
JUST_UNEVEN = figure("speed_range_s", 0.51, None, 0.5)
THATCH = figure("thatch_mm", 18.0, None, 12.0)
DEEP = Found("Deep thatch", THATCH, verdict="Thatch to thin", works=("scarifying",))
NO_WORK = replace(DEEP, works=())
LEVELS = figure("level_deviation_mm", 15.0, None, 6.0)
HOLLOW = Found("Levels", LEVELS, verdict="Levels to mend", works=("levelling",),
               hollows=Hollows(1, 15.0, 30.0, 28.0, 5, 3.0, 0.8))  # fmt: skip
TWO = replace(HOLLOW, hollows=Hollows(2, 15.0, 30.0, 28.0, 5, 3.0, 0.8))
SIDE = replace(HOLLOW, hollows=Hollows(1, 30.0, 37.0, 25.0, 10, 3.0, None, deep=1, one_side=True))
TOO_DEEP = replace(HOLLOW, hollows=Hollows(1, 45.0, 30.0, 28.0, 0, 3.0, None, deep=1))
BARE = figure("bare_pct", 9.0, None, 5.0)
PATCH = Found("Bare ground", BARE, verdict="Bare ground to repair", works=("overseeding",))
VIBRATION = figure("vibration_a8_m_s2", 3.5, None, 2.5)
ASKED = figure("nitrogen_kg_ha", 390.0, 80.0, 120.0, questioned=(LINE_9,))


@pytest.mark.parametrize(
    ("figures", "found", "questions", "said"),
    [
        ((), (), (), "Nothing is recorded of this season."),
        ((figure("x", None, None, 6.0),), (), (), "Nothing is recorded of this season."),
        ((figure("x", 4.0, None, None),), (), (), "No target is set."),
        ((replace(THATCH, standing="too few"),), (), (), "Nothing can be judged yet."),
        ((GOOD_SPEED, EVEN), (), (), "Plays well. Sound."),
        ((EVEN,), (), (), "The rinks are even. Sound."),
        ((GOOD_SPEED,), (), (), "Speed is right. Sound."),
        ((figure("ph", 6.0, 5.5, 6.5),), (), (), "Sound."),
        ((SLOW, EVEN), (), (), "Plays slow."),
        ((FAST, UNEVEN), (), (), "Plays fast, and rinks differ."),
        ((GOOD_SPEED, UNEVEN), (), (), "Rinks differ."),
        ((GOOD_SPEED, JUST_UNEVEN), (), (), "Plays well. Sound."),
        ((GOOD_SPEED, EVEN, THATCH), (DEEP,), (), "Plays well. Thatch to thin."),
        ((GOOD_SPEED, EVEN, THATCH), (replace(DEEP, doubtful=True),), (), "Plays well. Off target: thatch."),
        ((GOOD_SPEED, EVEN, THATCH), (NO_WORK,), (), "Plays well. Off target: thatch."),
        ((THATCH, LEVELS), (), (), "Off target: levels and thatch."),
        ((GOOD_SPEED, EVEN, LEVELS), (HOLLOW, DEEP), (), "Speed is right. One hollow to fill."),
        ((GOOD_SPEED, EVEN, LEVELS), (TWO,), (), "Speed is right. Hollows to fill."),
        ((GOOD_SPEED, EVEN, LEVELS), (SIDE,), (), "Speed is right. One side to level."),
        ((GOOD_SPEED, EVEN, LEVELS), (TOO_DEEP,), (), "Speed is right. One hollow to level."),
        ((GOOD_SPEED, EVEN, BARE), (replace(PATCH, untrue=True),), (), "Speed is right. Bare ground to repair."),
        ((GOOD_SPEED, EVEN, VIBRATION), (), (), "Plays well. Sound."),
        ((GOOD_SPEED, EVEN, ASKED), (), (SLIP,), "Check one entry first. The rest is sound."),
        ((GOOD_SPEED, EVEN, ASKED, THATCH), (DEEP,), (SLIP,), "Check one entry first. Thatch to thin."),
        ((ASKED,), (), (SLIP,), "Check one entry first."),
        ((GOOD_SPEED, EVEN), (), (ROW,), "Plays well. Sound."),
    ],
)
def test_the_verdict_follows_its_rules(
    figures: tuple[Indicator, ...], found: tuple[Found, ...], questions: tuple[Question, ...], said: str
) -> None:
    """A verdict that praises what waits for a slip to be settled, or calls 0.51 s of 0.5 a fault, misleads a club."""
    told = verdict(figures, found, questions)
    assert " ".join(told) == said
    assert len(told) <= 2


def test_what_rests_on_a_warned_entry_waits_and_what_may_lack_a_rejected_row_does_not() -> None:
    lines = waiting_lines((SLIP, ROW))
    short = figure("hours", 100.0, None, 90.0, questioned=(ROW.place,))
    told = counts((ASKED, short, GOOD_SPEED), lines)
    assert (told.of, told.on_target, told.off, told.waiting) == (3, 1, 1, 1)
    assert told.off_names == (("hours", 1),)


STANDINGS = st.sampled_from(["within", "above", "too early", "too few", "not comparable"])


@given(st.lists(st.tuples(st.sampled_from(["thatch_mm", "ph", "cover_pct"]), STANDINGS, st.booleans()), max_size=40))
def test_counts_add_up_and_name_all_that_is_off(drawn: list[tuple[str, Any, bool]]) -> None:
    """Every check is in one count and no other; "and 3 more" left a reader to search them."""
    figures = [
        replace(figure(name, 20.0, None, 12.0, questioned=(LINE_9,) if asked else ()), standing=standing)
        for name, standing, asked in drawn
    ]
    told = counts(figures, frozenset({LINE_9}))
    assert told.of == len(figures)
    assert told.on_target + told.close + told.off + told.early + told.few + told.waiting == told.of
    assert sum(number for _, number in told.off_names) == told.off
    said = count_line(told, len(figures))
    assert "more" not in said
    assert said.count(",") >= len(told.off_names) - 1
    assert (f"{told.waiting} wait" in said) == bool(told.waiting)


def test_what_is_off_is_named_farthest_first_and_levels_count_together() -> None:
    within = figure("level_within_pct", 80.0, 100.0, None)
    told = counts((THATCH, within, LEVELS, VIBRATION, GOOD_SPEED), frozenset())
    assert told.off_names == (("levels", 2), ("thatch", 1), ("crew’s vibration", 1))
    assert count_line(told, 5) == "1 of 5\u00a0checks on target. Off: levels (2), thatch, crew’s vibration."
