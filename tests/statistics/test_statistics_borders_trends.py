"""What the trends and the tests beside them do at their borders."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.statistics.common_shift import common_shifts
from pipeline.statistics.many_tests import false_discovery_p
from pipeline.statistics.season_trend import SeasonTrend, season_trend, widening
from pipeline.statistics.series import comparable_run
from pipeline.statistics.verdict import Trend, trend_verdict

YEARS = [2018.0, 2019.0, 2020.0, 2021.0, 2022.0, 2023.0]
FALL = [9.0, 8.4, 8.1, 7.3, 7.0, 6.2]


def test_seasons_are_taken_to_be_alike_by_a_half():
    """An interval that left it out would be narrower by `widening`, which is 1.35 and more."""
    season, values = np.arange(6.0), [8.0, 8.3, 7.9, 8.6, 8.2, 8.9]
    usual, independent = (season_trend(season, values, ["a"] * 6, **how) for how in ({}, {"alike": 0.0}))
    assert isinstance(usual, SeasonTrend)
    assert isinstance(independent, SeasonTrend)
    assert usual.high - usual.low == pytest.approx((independent.high - independent.low) * widening(season, 0.5))
    assert widening(season, 0.5) > 1.35


@pytest.mark.parametrize(("x", "squared"), [((0, 1, 2), 1.8), ((5, 6, 8), 11 / 6)])
def test_widening_by_hand(x, squared):
    """Spread of the slope over that of what is left of the line, each against independent seasons.

    At 0, 1, 2: deviations (−1, 0, 1) give (2 − 2 · 0.25)/2 = 0.75, what is left goes by (1, −2, 1): (6 − 4 + 0.5)/6.
    At 5, 6, 8: (−4, −1, 5)/3 give (42 − 3.5)/42, what is left goes by (2, −3, 1): (14 − 7)/14.
    """
    assert widening(np.array(x, float), 0.5) ** 2 == pytest.approx(squared)


@pytest.mark.parametrize("values", [[0.0] * 4, [4.1, 4.4, 4.7, 5.0], [410.0, 440.0, 470.0, 500.0]])
def test_seasons_in_line_show_no_doubt_whatever_their_unit(values):
    """Rounding leaves a hair of scatter; an interval of a hair would be certainty made of nothing."""
    got = season_trend(range(4), values, ["a"] * 4)
    assert isinstance(got, SeasonTrend)
    assert (got.low, got.high, got.p) == (None, None, None)


def test_a_step_at_the_level_itself_is_found():
    """Six members that all move: 2 of 64 ways to sign them; times five steps that is 0.15625."""
    table = np.array([[0.0, 1.0 + 0.1 * i, 0.0, 0.0, 0.0] for i in range(6)])
    (found,) = common_shifts(table, alpha=10 / 64)
    assert (found.step, found.p, found.same_way) == (1, 10 / 64, 6)
    assert common_shifts(table, alpha=9.9 / 64) == []


def test_a_p_of_nothing_and_of_one_are_probabilities():
    assert false_discovery_p([0.0, 1.0, 1.0]).tolist() == [0.0, 1.0, 1.0]


def test_a_trend_that_says_nothing_of_it_leaves_nothing_out():
    assert Trend("too few", 1, 1).left_out == 0


def test_a_single_sample_is_told_in_the_singular():
    got = trend_verdict([2020.0], [6.0], ["k"])
    assert got.why.startswith("1 comparable sample of 1 year; a verdict needs 5: with 1 the smallest p possible is 1,")


def test_three_years_that_can_reach_the_level_are_still_too_few():
    """2/3! is a third and would do; four years are asked for whatever the level, and no other reason is given."""
    assert trend_verdict(YEARS[:3], FALL[:3], ["k"] * 3, alpha=1 / 3).why.endswith("of 3 years; a verdict needs 4.")


def test_a_p_of_the_level_itself_is_a_verdict():
    """2/6! is the level here: the shortest run that reaches it does."""
    got = trend_verdict(YEARS, FALL, ["k"] * 6, alpha=2 / 720)
    assert (got.word, got.p) == ("falling", 2 / 720)
    assert "time of the year" not in got.method
    assert "times of the year" not in got.method


def test_an_interval_that_ends_at_zero_does_not_leave_it_out():
    """Three equal years and then a fall: one order of 120 is as one-sided, and the upper end is a slope of nothing."""
    got = trend_verdict(YEARS, [5.0, 5.0, 5.0, 3.0, 2.0, 1.0], ["k"] * 6)
    assert (got.word, got.high, got.p) == ("no clear change", 0.0, pytest.approx(2 / 120))
    assert got.why.endswith("but the interval does not leave zero out.")


def test_each_result_has_its_date_and_an_error_above_zero():
    with pytest.raises(ValueError, match="same length"):
        comparable_run(YEARS[:5], FALL, ["k"] * 5, below_limit=[False] * 5)
    with pytest.raises(ValueError, match="above zero"):
        comparable_run(YEARS, FALL, ["k"] * 6, measurement_sd=-0.1)
