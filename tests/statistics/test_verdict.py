"""The word, the reason, what is left out: on series small enough to check by eye."""

from __future__ import annotations

import math
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
import pytest

from pipeline.statistics.series import Run, comparable_run, in_years, latest_key, times_of_year
from pipeline.statistics.trend import theil_sen
from pipeline.statistics.verdict import Laboratory, Trend, fewest_years, measurement_slope_sd, trend_verdict
from tests.outside_checks import outside

YEARS = [2018.0, 2019.0, 2020.0, 2021.0, 2022.0, 2023.0]
FALL = [9.0, 8.4, 8.1, 7.3, 7.0, 6.2]
LAB_A, LAB_B = "lab A, 0–20 mm", "lab B, 0–20 mm"


def judged(years: list[float], values: list[float], keys: list[str]) -> tuple[Trend, Run]:
    """The verdict, and the run of samples it is made of."""
    return trend_verdict(years, values, keys), comparable_run(years, values, keys)


def test_a_clear_fall() -> None:
    """Six falling samples: p 2/720, all pair slopes below zero."""
    got = trend_verdict(YEARS, FALL, [LAB_A] * 6, unit="%")
    assert got.word == "falling"
    assert got.p == pytest.approx(2 / 720)
    assert got.slope is not None
    assert got.high is not None
    assert got.slope < got.high < 0
    assert got.confidence == 0.95
    assert got.method.endswith("Theil–Sen slope, interpolated interval")
    # the two levels beside 95 %: 1 + 5 orders with S ≥ 13, and 20 with S ≥ 11, of 720
    wider, narrower = (theil_sen(YEARS, FALL, ranks="exact", alpha=2 * orders / 720) for orders in (6, 20))
    assert (wider.confidence, narrower.confidence) == pytest.approx((1 - 12 / 720, 1 - 40 / 720))
    assert wider.low <= got.low <= narrower.low
    assert narrower.high <= got.high <= wider.high


@outside("library", "numpy.polyfit")
def test_least_squares_stands_beside_the_slope() -> None:
    """Against numpy's polynomial fit of the same samples."""
    got = trend_verdict(YEARS, FALL, [LAB_A] * 6, unit="%")
    assert got.line is not None
    assert got.line.slope == pytest.approx(np.polyfit(np.array(YEARS) - 2020, FALL, 1)[0])
    assert trend_verdict(YEARS[:4], FALL[:4], [LAB_A] * 4).line is None
    assert "left out" not in got.why
    assert "% a year over 6 years" in got.why
    assert "95 % interval" in got.why


@pytest.mark.parametrize(("times", "text"), [(1, "−0.55 a year"), (100, "−55 a year"), (1000, "−550 a year")])
def test_numbers_in_the_sentence_are_written_out(times: float, text: str) -> None:
    """No 5.5e+02 before a committee."""
    assert trend_verdict(YEARS, np.array(FALL) * times, ["k"] * 6).why.startswith(text)


def test_a_clear_rise_and_no_clear_change() -> None:
    assert trend_verdict(YEARS, FALL[::-1], [LAB_A] * 6).word == "rising"
    got = trend_verdict(YEARS, [8, 9, 7.5, 8.5, 8.2, 8.4], [LAB_A] * 6)
    assert got.word == "no clear change"
    assert got.low is not None
    assert got.high is not None
    assert got.low < 0 < got.high


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_too_few_says_what_n_allows(n: int) -> None:
    """However steep, four years cannot reach 5 %: 2/24 is 0.083."""
    got = trend_verdict(YEARS[:n], FALL[:n], [LAB_A] * n)
    assert (got.word, got.n, got.slope, got.p) == ("too few", n, None, None)
    assert f"with {n} the smallest p possible is {min(1, 2 / math.factorial(n)):.2g}" in got.why


def test_fewest_years_follows_the_level() -> None:
    """2/4! = 0.083, 2/5! = 0.017, 2/6! = 0.0028."""
    assert [fewest_years(a) for a in (0.1, 0.05, 0.01)] == [4, 5, 6]
    assert fewest_years(1.0) == 4
    assert trend_verdict(YEARS[:4], FALL[:4], [LAB_A] * 4, alpha=0.1).word == "falling"
    got = trend_verdict(YEARS[:3], FALL[:3], [LAB_A] * 3, alpha=0.5)
    assert (got.word, got.why) == ("too few", "3 comparable samples of 3 years; a verdict needs 4.")


def test_change_of_laboratory_breaks_the_series() -> None:
    """A step between laboratories must not read as a fall."""
    got, run = judged(YEARS, FALL, [LAB_A] * 3 + [LAB_B] * 3)
    assert got.word == "not comparable"
    assert got.slope is None
    assert run.left_out == (0, 1, 2)
    assert got.n == 3
    assert (run.key_before, run.key) == (LAB_A, LAB_B)
    assert "changed from “lab A, 0–20 mm” to “lab B, 0–20 mm”" in got.why


def test_change_of_laboratory_with_too_few_in_all_is_too_few() -> None:
    got, run = judged(YEARS[:4], FALL[:4], [LAB_A] * 2 + [LAB_B] * 2)
    assert got.word == "too few"
    assert run.left_out == (0, 1)


def test_going_back_to_a_laboratory_does_not_mend_the_break() -> None:
    """A, B, A: the first A is not used, since the run was broken."""
    got, run = judged([*YEARS, 2024.0], [*FALL, 6.0], [LAB_A] * 3 + [LAB_B] + [LAB_A] * 3)
    assert (got.word, got.n, run.left_out) == ("not comparable", 3, (0, 1, 2, 3))


def test_long_run_after_a_break_is_judged_and_the_rest_named() -> None:
    got, run = judged([2015.0, 2016.0, *YEARS], [3.0, 3.0, *FALL], [LAB_A] * 2 + [LAB_B] * 6)
    assert (got.word, got.n, run.left_out) == ("falling", 6, (0, 1))
    assert "2 results are left out" in got.why
    assert "“lab B, 0–20 mm”" in got.why


def test_split_sample_day_continues_both() -> None:
    """One day measured by both laboratories is how a change of laboratory is bridged; it breaks neither run."""
    years = [*YEARS, 2020.0]
    got, run = judged(years, [*FALL, 5.0], [LAB_A] * 6 + [LAB_B])
    assert (got.word, got.n, run.left_out, run.key_before) == ("falling", 6, (6,), None)


def test_latest_day_with_two_keys_takes_the_longer_run() -> None:
    got, run = judged([*YEARS, 2023.0], [*FALL, 5.0], [LAB_A] * 6 + [LAB_B])
    assert (run.key, got.n, run.left_out) == (LAB_A, 6, (6,))


def test_order_of_rows_does_not_matter() -> None:
    keys = [LAB_A] * 2 + [LAB_B] * 4
    order = [3, 0, 5, 1, 4, 2]
    base, base_run = judged(YEARS, FALL, keys)
    got, run = judged([YEARS[i] for i in order], [FALL[i] for i in order], [keys[i] for i in order])
    assert (got.word, got.why, got.n) == (base.word, base.why, base.n)
    assert sorted(order[i] for i in run.left_out) == list(base_run.left_out)


def test_several_results_of_a_day_are_one_sample() -> None:
    """Five cores on one day are not five samples over time."""
    run = comparable_run([2020.0] * 4 + [2021.0], [6, 7, 8, 9, 5], ["k"] * 5, measurement_sd=[2.0] * 5)
    assert run.values.tolist() == [7.5, 5.0]
    assert run.sd is not None
    assert run.sd.tolist() == [1.0, 2.0]  # 2/√4
    assert trend_verdict([2020.0] * 10, range(10), ["k"] * 10).word == "too few"


def test_dates_give_slopes_a_year() -> None:
    """Yearly on the same day: leap days move the years by less than a part in a thousand."""
    days = [date(2018 + i, 10, 1) for i in range(6)]
    by_date, by_year = (trend_verdict(when, FALL, ["k"] * 6) for when in (days, YEARS))
    assert by_date.slope == pytest.approx(by_year.slope, rel=2e-3)
    assert in_years(np.array(days, dtype="datetime64[D]")).tolist() == in_years(days).tolist()


def test_measurement_error_takes_a_verdict_back() -> None:
    """Six samples ±2 percentage points cannot show a fall of 2.8: known error outweighs a lucky straight line."""
    sure = trend_verdict(YEARS, FALL, ["k"] * 6, measurement_sd=0.1)
    unsure = trend_verdict(YEARS, FALL, ["k"] * 6, measurement_sd=2.0)
    assert (sure.word, unsure.word) == ("falling", "no clear change")
    assert sure.slope == unsure.slope
    assert unsure.low is not None
    assert unsure.high is not None
    half = 1.281552 * measurement_slope_sd(YEARS, [2.0] * 6)
    assert unsure.high == pytest.approx(unsure.slope + half, abs=1e-6)  # type: ignore[operator]
    assert "measurement error" in unsure.method
    assert "error of measuring alone can make such a slope" in unsure.why
    assert "measuring" not in sure.why


@pytest.mark.parametrize(("times", "word"), [(1.8, "no clear change"), (2.1, "falling")])
def test_the_test_against_error_of_measuring_is_two_sided(times: float, word: str) -> None:
    """A slope of 1.8 times its error would pass one-sided (1.645), not two-sided (1.960); 2.1 passes both."""
    years = np.arange(8.0)
    values = 9 - 0.5 * years
    sd = 0.5 / times * math.sqrt(((years - years.mean()) ** 2).sum())
    got = trend_verdict(years, values, ["k"] * 8, measurement_sd=sd)
    assert got.word == word
    assert got.p == pytest.approx(2 * (1 - NormalDist().cdf(times)))


def test_p_is_the_larger_of_the_two_tests() -> None:
    """The verdict rests on both, so what is printed beside it is the one that decides."""
    sure = trend_verdict(YEARS, FALL, ["k"] * 6, measurement_sd=0.01)
    assert sure.p == pytest.approx(2 / 720)
    unsure = trend_verdict(YEARS, FALL, ["k"] * 6, measurement_sd=2.0)
    assert unsure.p == pytest.approx(
        2 * (1 - NormalDist().cdf(abs(unsure.slope) / measurement_slope_sd(YEARS, [2.0] * 6)))  # type: ignore[arg-type]
    )


def test_a_laboratory_that_may_drift_widens_and_takes_the_verdict_back() -> None:
    """2 % of 7.7 a year is 0.15: 1.96 of it beside the half width seen, as squares; 15 % a year explains the fall."""
    plain = trend_verdict(YEARS, FALL, ["k"] * 6)
    drifting = trend_verdict(YEARS, FALL, ["k"] * 6, laboratory=Laboratory(drift=0.02))
    assert plain.low is not None
    assert drifting.low is not None
    assert plain.slope is not None
    unseen = 1.959964 * 0.02 * float(np.mean(FALL))
    assert plain.slope - drifting.low == pytest.approx(math.hypot(plain.slope - plain.low, unseen), rel=1e-6)
    assert (plain.word, drifting.word) == ("falling", "falling")
    assert "drift as 2 % a year" in drifting.method
    worse = trend_verdict(YEARS, FALL, ["k"] * 6, laboratory=Laboratory(drift=0.15))
    assert worse.word == "no clear change"
    assert "error of measuring alone can make such a slope" in worse.why


def test_error_between_years_does_not_average_away_over_a_day() -> None:
    """Nine results of a day share their batch: coring is a third of one result's, the batch's error stays whole."""
    years = [year for year in YEARS for _ in range(9)]
    values = [value for value in FALL for _ in range(9)]
    batch = Laboratory(year_cv=0.5)
    got = trend_verdict(years, values, ["k"] * 54, measurement_sd=3.0, laboratory=batch)
    error = measurement_slope_sd(YEARS, [math.hypot(1.0, 0.5 * float(np.mean(FALL)))] * 6)
    assert got.low is not None
    assert got.slope is not None
    assert got.slope - got.low == pytest.approx(1.281552 * error, rel=1e-6)


def test_a_year_counts_once() -> None:
    """Twelve samples of two years are no trend, however they lie."""
    years = [2020 + month / 12 for month in range(24)]
    got = trend_verdict(years, range(24), ["k"] * 24)
    assert (got.word, got.n, got.years) == ("too few", 24, 2)


def test_a_change_of_the_time_of_year_is_no_change_of_the_green() -> None:
    """Spring until 2021, autumn from 2022: what lies between is the season, and four years of autumn are too few."""
    days = [date(2018 + i, 3, 10) for i in range(4)] + [date(2022 + i, 9, 25) for i in range(4)]
    got = trend_verdict(days, [6.0, 6.1, 6.2, 6.3, 7.0, 7.1, 7.2, 7.3], ["k"] * 8, weeks=6)
    assert (got.word, got.years, got.left_out, got.broken_by) == ("not comparable", 4, 4, "time of year")
    assert "4 more were taken over 6 weeks from the time of year" in got.why
    assert trend_verdict(days, [6.0, 6.1, 6.2, 6.3, 7.0, 7.1, 7.2, 7.3], ["k"] * 8).word == "rising"


def test_spring_and_autumn_each_with_their_like() -> None:
    """Autumn lies 1 higher; the green falls by 0.2 a year. One spring sample alone takes no part and is told."""
    days = [date(2018 + i, 3, 10) for i in range(5)] + [date(2020 + i, 9, 25) for i in range(5)]
    values = [8 - 0.2 * (day.year - 2018) + (day.month == 9) for day in days]
    got = trend_verdict([*days, date(2016, 12, 24)], [*values, 3.0], ["k"] * 11, weeks=6)
    assert (got.word, got.n, got.years, got.left_out) == ("falling", 10, 7, 1)
    assert got.slope == pytest.approx(-0.2, rel=1e-2)
    assert "samples of 2 times of the year each with their like" in got.method


def test_times_of_the_year_run_over_its_end() -> None:
    """20 December and 10 January are three weeks apart; the latest sample is the one that others are measured by."""
    days = [date(2020, 12, 20), date(2022, 1, 10), date(2022, 6, 1), date(2023, 1, 5)]
    assert times_of_year(in_years(days), 6) == [0, 0, 1, 0]
    assert times_of_year(in_years(days[:3]), 6) == [1, 1, 0]
    edge = [date(2022, 3, 1) - timedelta(weeks=6), date(2023, 3, 1), date(2022, 3, 1) - timedelta(weeks=6, days=3)]
    assert times_of_year(in_years(edge), 6) == [0, 0, 1]


def test_measurement_slope_sd_by_hand() -> None:
    """Equal errors: σ/√Σ(x−x̄)², the textbook standard error; years 0…4 give σ/√10."""
    assert measurement_slope_sd(range(5), [3.0] * 5) == pytest.approx(3 / math.sqrt(10))


def test_below_limit_ties_at_the_limit() -> None:
    """<5 is not a number below a measured 4: both stand at the limit, tied."""
    values = [9.0, 8.0, 7.0, 6.0, 5.0, 4.0]
    run = comparable_run(YEARS, values, ["k"] * 6, below_limit=[False] * 4 + [True, False])
    assert run.values.tolist() == [9.0, 8.0, 7.0, 6.0, 5.0, 5.0]
    assert run.below.tolist() == [False] * 4 + [True, True]
    got = trend_verdict(YEARS, values, ["k"] * 6, below_limit=[False] * 4 + [True, False])
    assert got.word == "falling"
    assert "results under 5 tied" in got.method


def test_no_slope_where_most_is_below_the_limit() -> None:
    values = [9.0, 8.0, 5.0, 5.0, 5.0, 5.0]
    got = trend_verdict(YEARS, values, ["k"] * 6, below_limit=[False] * 2 + [True] * 4)
    assert (got.slope, got.low, got.confidence) == (None, None, None)
    assert got.p == pytest.approx(2 / 30)  # one of the 6·5 orders of two different values among four ties
    assert got.word == "no clear change"
    assert "4 of 6 years are below the limit 5" in got.why


def test_half_below_the_limit_still_has_a_slope() -> None:
    """More than half is too many; three of six are not."""
    values = [9.0, 8.0, 7.0, 5.0, 5.0, 5.0]
    got = trend_verdict(YEARS, values, ["k"] * 6, below_limit=[False] * 3 + [True] * 3)
    assert got.slope is not None
    assert got.slope < 0


def test_limit_of_a_left_out_laboratory_does_not_count() -> None:
    values, below = [20.0, *FALL], [True] + [False] * 6
    got = trend_verdict([2017.0, *YEARS], values, [LAB_A] + [LAB_B] * 6, below_limit=below)
    assert got.word == "falling"
    assert "tied" not in got.method


@pytest.mark.parametrize(
    ("years", "values", "keys", "options"),
    [
        (YEARS, [*FALL[:5], None], ["k"] * 6, {}),
        (YEARS, [*FALL[:5], math.nan], ["k"] * 6, {}),
        ([*YEARS[:5], None], FALL, ["k"] * 6, {}),
        (YEARS, FALL, ["k"] * 5, {}),
        ([], [], [], {}),
        (YEARS, FALL, ["k"] * 6, {"measurement_sd": [0.1] * 5 + [None]}),
        (YEARS, FALL, ["k"] * 6, {"measurement_sd": 0.0}),
        (YEARS, FALL, ["k"] * 6, {"below_limit": [True]}),
    ],
)
def test_nothing_is_guessed(years: list[float], values: list[float], keys: list[str], options: dict) -> None:
    with pytest.raises(ValueError, match=r"missing|length|above zero"):
        trend_verdict(years, values, keys, **options)


@pytest.mark.parametrize("unit", ["", "%"])
def test_no_value_changes_is_no_clear_change(unit: str) -> None:
    got = trend_verdict(YEARS, [6.0] * 6, ["k"] * 6, unit=unit, measurement_sd=0.5)
    assert (got.word, got.slope, got.p) == ("no clear change", 0.0, 1.0)
    assert got.low is not None
    assert got.low < 0
    bare = trend_verdict(YEARS, [6.0] * 6, ["k"] * 6, unit=unit)
    assert (bare.low, bare.confidence) == (None, None)  # "0 to 0" would say more than rounded values know


def test_no_interval_where_the_level_is_out_of_reach_of_the_approximation() -> None:
    """At an absurd level the ranks run off the slopes: no interval is printed rather than a wrong one."""
    years = np.arange(25.0)
    got = trend_verdict(years, 9 - 0.3 * years, ["k"] * 25, alpha=1e-20)
    assert (got.word, got.low, got.high, got.confidence) == ("no clear change", None, None, None)
    assert "interval" not in got.why


@pytest.mark.parametrize(
    ("years", "keys"),
    [
        (YEARS, ["a", "a", "b", "b", "b", "b"]),
        (YEARS, ["a", "b", "a", "b", "a", "b"]),
        ([2020.0, 2021.0, 2021.0], ["a", "a", "b"]),  # a split sample: the longer run
        ([2021.0, 2020.0], ["b", "a"]),
    ],
)
def test_the_latest_key_is_that_of_the_run(years: list[float], keys: list[str]) -> None:
    assert latest_key(years, keys) == comparable_run(years, [5.0] * len(years), keys).key
