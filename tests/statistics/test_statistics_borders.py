"""What the balance and the comparisons take and refuse, at the borders."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.statistics.accumulation import MIN_SPAN_YEARS, fit_balance
from pipeline.statistics.balance import dressing_to_hold, dressing_to_reach, fraction_after, refill_as_dressing
from pipeline.statistics.effect import Difference, difference_in_differences, like_with_like
from pipeline.statistics.interval import Refused, sampling_sd, wilson_interval
from pipeline.statistics.random_effects import RandomEffects, funnel

M = 30.0
YEARS, FRACTION = [2020.0, 2021.0, 2022.5], [0.05, 0.055, 0.06]


def fit(years=YEARS, fraction=FRACTION, layer_mass=M, dose_years=(2020.5,), dose_mass=(3.0,), sd=0.003, **more):
    return fit_balance(years, fraction, layer_mass, dose_years=dose_years, dose_mass=dose_mass, sd=sd, **more)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"years": [2020.0, 2021.0, 2021.0]}, "years must rise"),
        ({"fraction": [0.05, 0.055]}, "one for each fraction"),
        ({"fraction": [0.05, 0.055, 0.06, 0.07]}, "one for each fraction"),
        ({"fraction": [0.05, 0.055, 1.0]}, "above 0 and below 1"),
        ({"fraction": [0.05, 0.0, 0.06]}, "above 0 and below 1"),
        ({"layer_mass": 0.0}, "above zero"),
        ({"sd": 0.0}, "above zero"),
        ({"dose_mass": (-0.1,)}, "a dose needs a mass not below zero"),
        ({"dose_fraction": 1.0}, "an organic fraction from 0 to below 1"),
        ({"dose_fraction": -0.01}, "an organic fraction from 0 to below 1"),
    ],
)
def test_what_no_layer_can_be_is_refused(given, said):
    """8 % written as 8, a sample of nothing, a year told twice: our own code's mistake, told as such."""
    with pytest.raises(ValueError, match=said):
        fit(**given)


def test_a_thin_layer_is_a_layer():
    """Less than 1 kg/m² of soil, of a core's first millimetre, has a balance like any other."""
    half = fit(layer_mass=M / 60, dose_mass=(3.0 / 60,), dose_years=(2020.5,))
    whole = fit()
    assert not isinstance(half, Refused)
    assert not isinstance(whole, Refused)
    assert half.accumulation == pytest.approx(whole.accumulation / 60, rel=1e-6)


def test_holes_are_filled_where_something_is_left():
    """Filling as much as is left halves the rest: M · ln 2; a layer of half a kilogram as any other."""
    assert refill_as_dressing(0.5, 0.4, 0.4) == pytest.approx(0.5 * np.log(2))
    for layer, left in ((0.0, 1.0), (1.0, 0.0)):
        with pytest.raises(ValueError, match="above zero"):
            refill_as_dressing(layer, left, 0.1)


def test_a_dressing_as_rich_as_the_layer_neither_holds_nor_reaches_less():
    """From 6 % nothing leads below 6 % by adding what has 6 %."""
    assert dressing_to_hold(0.06, 0.5, 0.06) is None
    assert dressing_to_reach(0.05, 0.06, 2.0, accumulation=0.5, layer_mass=M, dressing_fraction=0.06) is None
    assert dressing_to_reach(0.08, 0.06, 2.0, accumulation=0.5, layer_mass=M, dressing_fraction=0.06) is None


@pytest.mark.parametrize("accumulation", [-0.4, 0.0, 0.9])
@pytest.mark.parametrize("layer", [0.8, M])
def test_what_reaches_a_target_reaches_it_in_thin_and_thick_layers(accumulation, layer):
    need = dressing_to_reach(0.05, 0.06, 0.5, accumulation=accumulation * layer / M, layer_mass=layer)
    assert need is not None
    assert fraction_after(0.06, 0.5, accumulation * layer / M, need, layer) == pytest.approx(0.05, abs=1e-12)


def test_five_of_each_side_are_enough_and_two_the_least_that_may_be_asked():
    changed, unchanged = [0.4, 0.5, 0.7, 0.2, 0.6], [0.0, 0.1, -0.1, 0.2, 0.0]
    assert isinstance(difference_in_differences(changed, unchanged), Difference)
    assert isinstance(difference_in_differences(changed[:2], unchanged[:2], min_each=1), Difference)
    refused = difference_in_differences(changed[:1], unchanged, min_each=1)
    assert isinstance(refused, Refused)
    assert refused.why == "1 greens changed and 5 did not; at least 2 of each are needed."


def test_days_of_two_classes_need_one_to_spare():
    """Two classes of one day each side leave a degree of freedom: 4 days, 2 levels and one difference."""
    found = like_with_like([11.0, 13.0], ["a", "b"], [11.4, 13.8], ["a", "b"], min_each=2)
    assert isinstance(found, Difference)
    assert found.value == pytest.approx(0.6)
    assert isinstance(like_with_like([11.0], ["a"], [11.4], ["a"], min_each=1), Refused)


@pytest.mark.parametrize("unrecorded", [(2022.5, 2023.0), (2019.0, 2020.0)])
def test_time_without_records_before_the_first_sample_or_after_the_last_does_no_harm(unrecorded):
    """It touches the samples' days and holds none of the time between them; a day inside does."""
    assert not isinstance(fit(unrecorded=[unrecorded]), Refused)
    assert isinstance(fit(unrecorded=[(2022.49, 2023.0)]), Refused)


def test_samples_as_far_apart_as_a_rate_needs_are_far_enough():
    span = MIN_SPAN_YEARS
    assert not isinstance(fit(years=[0.0, span / 2, span], dose_years=(0.1,)), Refused)
    assert isinstance(fit(years=[0.0, span / 2, span - 0.01], dose_years=(0.1,)), Refused)


def test_a_log_may_bury_the_layer_fifty_times_and_no_more():
    """Who dresses 50 layers is asked whether any accumulation fits; who dresses more has written a wrong quantity."""
    for layers, buried in ((50.0, False), (50.01, True)):
        got = fit(dose_mass=(layers * M,))
        assert (isinstance(got, Refused) and "buries the layer 50 times over" in got.why) is buried


@pytest.mark.parametrize(("sd", "widened"), [(0.006, False), (0.0006, True)])
def test_an_interval_is_widened_where_samples_scatter_more_than_stated(sd, widened):
    got = fit(fraction=[0.05, 0.058, 0.06], sd=sd)
    assert not isinstance(got, Refused)
    assert ("times as the samples scatter more" in got.method) is widened
    assert "widened 1.0 times" not in got.method


@pytest.mark.parametrize(
    "given",
    [{"mean": 0.0}, {"mean": -0.5}, {"core_cv": -0.01}, {"laboratory_cv": -0.01}, {"cores": 0}],
)
def test_error_of_a_sample_needs_what_can_be(given):
    known = {"mean": 5.0, "cores": 10, "core_cv": 0.14, "laboratory_cv": 0.05}
    assert sampling_sd(**known) == pytest.approx(5 * np.sqrt(0.14**2 / 10 + 0.05**2))
    with pytest.raises(ValueError, match="one core at least"):
        sampling_sd(**known | given)


def test_one_case_of_one_has_an_interval():
    """1/(1 + z²) to 1: one case says little, but something."""
    assert wilson_interval(1, 1) == pytest.approx((1 / (1 + 1.959964**2), 1.0))


def test_a_funnel_holds_95_percent_where_nothing_else_is_said():
    assert funnel(RandomEffects(6.0, 0.0), 1.0) == pytest.approx((6 - 1.96, 6 + 1.96))


@pytest.mark.parametrize(("span", "enough"), [(0.8, False), (0.9, True), (1.0, True)])
def test_samples_of_two_springs_are_far_enough_apart(span, enough):
    got = fit(years=[0.0, span / 2, span], dose_years=(0.1,))
    assert (not isinstance(got, Refused)) is enough


def test_a_layer_that_would_have_started_below_nothing_fits_no_balance():
    """0.1, 0.2 and then 9 % in three years: the line through them starts below zero."""
    got = fit(fraction=[0.001, 0.002, 0.09], years=[2020.0, 2021.0, 2022.0])
    assert isinstance(got, Refused)
    assert got.why == "no steady accumulation fits these samples and this dressing; check both."


def test_a_drift_of_the_laboratory_is_what_refitting_drifted_samples_shows():
    """Samples read otherwise by the drift the longer ago they were: how far that moves the accumulation."""
    drift = 1e-4
    plain, told = fit(), fit(drift_sd=drift)
    moved = fit(fraction=[f + drift * (t - YEARS[-1]) for t, f in zip(YEARS, FRACTION, strict=True)])
    assert not isinstance(plain, Refused)
    assert not isinstance(told, Refused)
    assert not isinstance(moved, Refused)
    shift = moved.accumulation - plain.accumulation
    assert told.se**2 - plain.se**2 == pytest.approx(shift**2, rel=0.02)
