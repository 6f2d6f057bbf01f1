"""Green speed against published examples, and the sign that the trade gets wrong: slow is FEWER seconds."""

import inspect

import pytest
from published_checks import CASE, check, given
from scipy.stats import hmean

from pipeline.agronomy import green_speed
from pipeline.agronomy.green_speed import (
    brede_speed,
    deceleration_m_s2,
    evenness_s,
    rolling_coefficient,
    seconds_at_27_m,
    stimpmeter_reading,
)
from tests.outside_checks import outside

CROQUET = "croquet pages on lawn speed, yards"
HIGHLANDS = "a golf course's maintenance notes 2014"
BREDE = "ATC the Brede equation"
FORMULA = "uniform deceleration"


def coefficient_over_27_m(seconds: float) -> float:
    return rolling_coefficient(deceleration_m_s2(seconds, 27))


@pytest.mark.parametrize(
    CASE,
    [
        check("own", deceleration_m_s2, (9, 27), 0.667, 5e-4, FORMULA),
        check("own", deceleration_m_s2, (10, 27), 0.540, 5e-4, FORMULA),
        check("own", deceleration_m_s2, (12, 27), 0.375, 5e-4, FORMULA),
        check("own", deceleration_m_s2, (14, 27), 0.2755, 5e-5, FORMULA),
        check("own", deceleration_m_s2, (16, 27), 0.2109, 5e-5, FORMULA),
        check("own", deceleration_m_s2, (18, 27), 0.1667, 5e-5, FORMULA),
        check("own", coefficient_over_27_m, (9,), 0.068, 5e-4, FORMULA),
        check("own", coefficient_over_27_m, (10,), 0.0550, 1e-4, FORMULA),
        check("own", coefficient_over_27_m, (12,), 0.0382, 1e-4, FORMULA),
        check("own", coefficient_over_27_m, (14,), 0.0281, 1e-4, FORMULA),
        check("own", coefficient_over_27_m, (16,), 0.0215, 1e-4, FORMULA),
        check("own", coefficient_over_27_m, (18,), 0.0170, 1e-4, FORMULA),
        check("own", seconds_at_27_m, (12.4, 28.2), 12.13, 0.005, FORMULA),
        check("own", seconds_at_27_m, (14.0, 27.432), 13.89, 0.005, FORMULA),
        check("figure", deceleration_m_s2, (12, 35), 0.486, 5e-4, CROQUET),
        check("figure", brede_speed, (9, 14), 10 + 11 / 12, 1 / 24, f"{HIGHLANDS}, 10'11\""),
        check("own", brede_speed, (9, 14), 10.957, 5e-4, HIGHLANDS),
        check("figure", brede_speed, (2, 20), 3 + 8 / 12, 1 / 24, f"{HIGHLANDS}, 3'8\""),
        check("own", brede_speed, (2, 20), 3.636, 5e-4, HIGHLANDS),
        check("own", brede_speed, (185, 981), 311.3, 0.05, f"{BREDE}, cm"),
        check("figure", brede_speed, (185 / 30.48, 981 / 30.48), 10.2, 0.05, f"{BREDE}, ft"),
        check("own", brede_speed, (7.25, 8.75), 7.930, 5e-4, HIGHLANDS),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@outside("library", "scipy.stats.hmean")
@pytest.mark.parametrize(("up", "down"), [(9, 14), (2, 20), (185, 981), (7.25, 8.75)])
def test_slope_correction_is_scipys_harmonic_mean(up, down):
    assert brede_speed(up, down) == pytest.approx(hmean([up, down]), rel=1e-12)


@outside("figure", "ATC the Brede equation: 19.1 ft, 10.2 ft, 8.9 ft too far")
def test_6_5_the_plain_mean_overstates_as_published():
    """ATC: mean 19.1 ft where the corrected speed is 10.2 ft, error 8.9 ft; highlands: under an inch at 18 in."""
    mean = (185 + 981) / 2 / 30.48
    assert mean == pytest.approx(19.1, abs=0.05)
    assert mean - brede_speed(185, 981) / 30.48 == pytest.approx(8.9, abs=0.05)
    assert 12 * (8.0 - brede_speed(7.25, 8.75)) == pytest.approx(0.84, abs=0.005)


def test_6_1_a_slow_green_holds_the_bowl_harder():
    """The physics behind the words: fewer seconds over 27 m is a larger deceleration."""
    assert deceleration_m_s2(10, 27) > deceleration_m_s2(16, 27)


def test_6_1_evenness_between_rinks_against_half_a_second():
    """C. Mumford, "Indoor and outdoor surfaces for bowls", UK trade magazine: all rinks within 0.5 s."""
    assert evenness_s([12.0, 12.3, 12.5]) == pytest.approx(0.5)
    with pytest.raises(ValueError, match="two rinks"):
        evenness_s([12.0])


def test_6_4_a_reading_that_keeps_the_rules_has_no_doubts():
    reading = stimpmeter_reading([2500, 2600, 2700], [2800, 2900, 3000])
    assert reading.distance_mm == pytest.approx(2750)
    assert reading.doubts == ()


@outside("standard", "USGA Stimpmeter booklet, as quoted at scangolf.no: three balls, 8 in, 18 in")
@pytest.mark.parametrize(
    ("one", "other", "doubt"),
    [
        ([2500, 2600, 2704], [2600, 2600, 2600], "203 mm"),
        ([2500, 2500, 2500], [2958, 2958, 2958], "457 mm"),
        ([2500, 2500], [2500, 2500, 2500], "three balls"),
    ],
    ids=["8 in within a series", "18 in between the ways", "three balls"],
)
def test_6_4_each_rule_of_the_usga_booklet_raises_its_doubt(one, other, doubt):
    (found,) = stimpmeter_reading(one, other).doubts
    assert doubt in found


def test_6_4_limits_themselves_are_allowed():
    assert stimpmeter_reading([2500, 2600, 2703.2], [2600, 2600, 2600]).doubts == ()


def test_there_is_no_conversion_between_stimp_and_bowls_seconds():
    """Different ball, load and speed: nothing may take one and give the other."""
    for name, function in inspect.getmembers(green_speed, inspect.isfunction):
        if function.__module__ != green_speed.__name__:
            continue
        inputs = set(inspect.signature(function).parameters)
        assert not ("stimp" in name and any("seconds" in i or i.endswith("_s") for i in inputs)), name
        assert not (("bowl" in name or "seconds" in name) and any("stimp" in i for i in inputs)), name
