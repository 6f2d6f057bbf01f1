"""Figures of a visit: shares with their interval, means, spread, and changes only between like and like."""

from __future__ import annotations

import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from tests.indicators.figures import HOUSE, Figures, lines, names, of
from tests.outside_checks import outside
from tests.thorough import beyond

COUNTS = "date,green,observed,place,method,hits,points\n"
HARD = "date,green,observed,place,method,hammer_kg,drop,value,unit\n"
IN_BAND = "impact soil tester, 2.25 kg hammer, drop 1"


def counts(day: str, observed: str, hits: list[int], points: int = 50, method: str = "point quadrat") -> str:
    return "".join(f"{day},ALD-1,{observed},F{i},{method},{met},{points}\n" for i, met in enumerate(hits))


def hardness(day: str, hammer: str, values: list[float], drop: str = "1") -> str:
    return "".join(f"{day},ALD-1,hardness,P{i},hammer,{hammer},{drop},{v},gravities\n" for i, v in enumerate(values))


def test_a_share_is_of_all_points_with_wilsons_interval(figures: Figures) -> None:
    """4 + 6 + 5 of 150 points are 10 %; places alike: the points count in full (statsmodels)."""
    one = of(figures(observation=COUNTS + counts("2026-06-10", "moss", [4, 6, 5])), "moss_pct", "point quadrat")
    low, high = proportion_confint(15, 150, method="wilson")
    assert (one.value, one.low, one.high) == pytest.approx((10.0, 100 * low, 100 * high))
    assert (one.n, one.family, lines(one)) == (3, "sward", [2, 3, 4])
    assert one.method == "15 of 150 points at 3 places; 95 % Wilson interval."


@outside("library", "scipy.stats.chi2_contingency and statsmodels proportion_confint")
def test_points_in_patches_count_for_fewer(figures: Figures) -> None:
    """0, 15 and 0 of 50: the same share, but three places say little of it; chi-square over 2 is scipy's.

    And three places tell only roughly how far places differ: (1.960/4.303)² of that (printed t table, 2 degrees).
    """
    one = of(figures(observation=COUNTS + counts("2026-06-10", "moss", [0, 15, 0])), "moss_pct", "point quadrat")
    chi = stats.chi2_contingency([[0, 15, 0], [50, 35, 50]], correction=False).statistic
    worth = 150 / (chi / 2) * (1.959964 / 4.302653) ** 2
    low, high = proportion_confint(0.1 * worth, worth, method="wilson")
    assert (one.value, one.low, one.high) == pytest.approx((10.0, 100 * low, 100 * high))
    assert f"the points taken as {worth:.0f}" in one.method


def test_none_found_is_zero_with_a_bound(figures: Figures) -> None:
    """0 of 20 is not "no moss": the share may be up to 16.11 % (Newcombe 1998, table I, from memory)."""
    one = of(figures(observation=COUNTS + counts("2026-06-10", "moss", [0], 20)), "moss_pct", "point quadrat")
    assert (one.value, one.low) == (0.0, 0.0)
    assert one.high == pytest.approx(16.11, abs=0.005)


@outside("library", "scipy.stats: t.interval, variation, ttest_ind")
def test_means_spread_and_change_of_hardness(figures: Figures) -> None:
    """Clegg: mean and t interval, CV, and Welch's interval for the change, all held against scipy."""
    now, then = [88.0, 94.0, 79.0, 91.0], [80.0, 82.0, 77.0, 85.0, 81.0]
    text = HARD + hardness("2025-06-10", "2.25", then) + hardness("2026-06-10", "2.25", now)
    done = figures(observation=text)
    one = of(done, "hardness_gravities", IN_BAND)
    low, high = stats.t.interval(0.95, 3, 88, stats.sem(now))
    assert (one.value, one.low, one.high) == pytest.approx((88.0, low, high))
    assert of(done, "hardness_cv_pct", IN_BAND).value == pytest.approx(100 * stats.variation(now, ddof=1))
    change = of(done, "hardness_change_gravities", IN_BAND)
    expected = stats.ttest_ind(now, then, equal_var=False).confidence_interval(0.95)
    assert (change.value, change.low, change.high) == pytest.approx((7.0, expected.low, expected.high))
    assert change.note == "Since 10 June 2025. The interval holds zero: no change is shown."


@pytest.mark.parametrize(("earlier", "drop", "said"), [
    ("0.5", "1", "0.5 kg hammer, drop 1"), ("", "1", "hammer not stated, drop 1"),
    ("2.25", "4", "2.25 kg hammer, drop 4"),
])  # fmt: skip
@beyond(2)
def test_two_hammers_are_never_compared(figures: Figures, earlier: str, drop: str, said: str) -> None:
    """A heavier hammer, or a later drop on the same spot, reads another number on the same green."""
    text = HARD + hardness("2025-06-10", earlier, [400, 410, 390], drop) + hardness("2026-06-10", "2.25", [88, 94, 79])
    done = figures(observation=text)
    assert "hardness_change_gravities" not in names(done)
    one = of(done, "hardness_gravities", IN_BAND)
    assert one.note == (f"Visit of 10 June 2026. Earlier readings are not comparable: impact soil tester, {said}.")


def test_two_hammers_on_one_day_are_two_figures(figures: Figures) -> None:
    text = HARD + hardness("2026-06-10", "0.5", [150, 160, 140]) + hardness("2026-06-10", "2.25", [88, 94, 79])
    done = figures(observation=text)
    assert of(done, "hardness_gravities", IN_BAND).value == 87.0
    assert of(done, "hardness_gravities", "impact soil tester, 0.5 kg hammer, drop 1").value == 150.0


def test_counts_are_compared_with_counts_alone(figures: Figures) -> None:
    """40 of 150 points last year against 15 of 150 now: fewer; the interval is Newcombe's (tests/published)."""
    done = figures(
        observation=COUNTS + counts("2025-04-10", "moss", [14, 13, 13]) + counts("2026-06-10", "moss", [4, 6, 5])
    )
    change = of(done, "moss_change_pct", "point quadrat")
    assert change.value == pytest.approx(10 - 100 * 40 / 150)
    assert change.high is not None
    assert change.high < 0
    assert (change.unit, change.note) == ("percentage points", "Since 10 April 2025.")
    assert "moss_cv_pct" not in names(done), "a count has its interval, not a spread of readings"


def test_an_estimate_by_eye_says_nothing_against_a_count(figures: Figures) -> None:
    """Last year's visit alone is not this season's figure; beside this year's count it is told as not comparable."""
    eye = "date,green,observed,place,method,value,unit\n2025-06-10,ALD-1,moss,F1,by eye,12,%\n"
    assert "moss_pct" not in names(figures(observation=eye))
    done = figures(observation=COUNTS + counts("2026-06-10", "moss", [4, 6, 5]))
    assert "moss_change_pct" not in names(done)
    note = of(done, "moss_pct", "point quadrat").note
    assert note == "Visit of 10 June 2026. Earlier readings are not comparable: estimated by eye."


def test_targets_and_a_single_reading(figures: Figures) -> None:
    """One reading has no interval and no spread; the target is held against it."""
    head = "date,green,observed,method,value,unit,depth_from_mm,depth_to_mm\n"
    rows = "2026-06-10,ALD-1,thatch,core,18,mm,,\n2026-06-10,ALD-1,moisture,probe,31,%,0,60\n"
    done = figures(target=HOUSE, observation=head + rows)
    thatch = of(done, "thatch_mm", "core")
    assert (thatch.standing, thatch.target_high, thatch.low) == ("above", 12.0, None)
    assert thatch.method == "Mean of 1 reading; one reading has no interval."
    assert of(done, "moisture_pct", "moisture probe, 0–60 mm").standing == "no target"
    assert not {"thatch_cv_pct", "moisture_cv_pct", "layer_mm"} & names(done)
