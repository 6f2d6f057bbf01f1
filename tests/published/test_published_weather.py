"""Degree days, growth potential, water need and dollar spot against published figures."""

import pytest
from published_checks import CASE, check, given
from scipy.special import expit
from scipy.stats import norm

from pipeline.agronomy.weather import (
    GROWTH_CURVES,
    dollar_spot_probability,
    growing_degree_days,
    growth_potential,
    irrigation_need_mm,
    nitrogen_ceiling_g_m2,
    turf_evaporation_mm,
)
from tests.outside_checks import outside

PURDUE = "Purdue University in a US turf magazine, °F"
GP = "ATC seminar 2014-01 equation"
SMITH = "Smith et al. 2018 equation"
WEEK = (3.2, 3.8, 4.1, 2.9, 3.5, 4.4, 3.9)


def cool_c(celsius: float) -> float:
    return growth_potential(celsius, "cool_season", "celsius")


def cool_f(fahrenheit: float) -> float:
    return growth_potential((fahrenheit - 32) / 1.8, "cool_season", "fahrenheit")


def warm_c(celsius: float) -> float:
    return growth_potential(celsius, "warm_season", "celsius")


@pytest.mark.parametrize(
    CASE,
    [
        check("figure", growing_degree_days, (74, 52, 50), 13, 1e-9, PURDUE),
        check("figure", growing_degree_days, (58, 40, 50), 0, 1e-9, PURDUE),
        check("own", growing_degree_days, (54, 37, 32), 13.5, 1e-9, "a golf course's notes 2013, printed 14"),
        *(
            check("own", cool_c, (celsius,), expected, 5e-4, GP)
            for celsius, expected in [
                (0, 0.0013),
                (5, 0.0243),
                (8, 0.0925),
                (9, 0.1353),
                (10, 0.1915),
                (12, 0.3472),
                (14.5, 0.6065),
                (25.5, 0.6065),
                (15, 0.6615),
                (25, 0.6615),
                (18, 0.9360),
                (20, 1.0),
            ]
        ),
        *(
            check("own", cool_f, (fahrenheit,), expected, 5e-4, GP)
            for fahrenheit, expected in [(50, 0.1979), (58, 0.6065), (59, 0.6670)]
        ),
        check("own", warm_c, (17,), 0.1353, 5e-4, GP),
        check("own", warm_c, (24,), 0.6065, 5e-4, GP),
        check("figure", nitrogen_ceiling_g_m2, (1.0, 5), 5, 1e-9, "PACE Turf, nitrogen demand"),
        check("own", dollar_spot_probability, (10, 60), 0.0162, 5e-5, SMITH),
        check("own", dollar_spot_probability, (15, 70), 0.0955, 5e-5, SMITH),
        check("own", dollar_spot_probability, (20, 70), 0.2172, 5e-5, SMITH),
        check("own", dollar_spot_probability, (20, 80), 0.4042, 5e-5, SMITH),
        check("own", dollar_spot_probability, (25, 75), 0.5327, 5e-5, SMITH),
        check("own", dollar_spot_probability, (25, 90), 0.8133, 5e-5, SMITH),
        check("own", turf_evaporation_mm, (sum(WEEK), 0.85), 21.93, 0.005, "constructed week"),
        check("own", irrigation_need_mm, (21.93, 6, 0.75, 0.75), 23.24, 0.005, "constructed week"),
        check("own", irrigation_need_mm, (5, 20, 0.75, 0.75), 0, 1e-9, "rain enough"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


def test_4_9_published_constants():
    """Optima as published; spreads from memory."""
    assert GROWTH_CURVES == {
        ("cool_season", "celsius"): (20, 5.5),
        ("warm_season", "celsius"): (31, 7),
        ("cool_season", "fahrenheit"): (68, 10),
        ("warm_season", "fahrenheit"): (88, 12),
    }


@outside("figure", "PACE Turf, modified warm-season growth potential: 1 at and above 31 °C")
@pytest.mark.parametrize("celsius", [31, 33, 40])
def test_4_9_warm_grass_grows_fully_above_its_optimum_when_capped(celsius):
    """PACE Turf, modified warm-season model."""
    assert growth_potential(celsius, "warm_season", "celsius", capped=True) == 1
    assert growth_potential(30, "warm_season", "celsius", capped=True) == warm_c(30) < 1


def test_4_9_a_cap_on_cool_season_grass_is_published_nowhere():
    with pytest.raises(ValueError, match="warm-season grass only"):
        growth_potential(25, "cool_season", "celsius", capped=True)


@pytest.mark.parametrize("celsius", [-5.0, 3.0, 12.0, 21.0, 33.0])
def test_growth_potential_is_scipys_bell_curve_scaled_to_one(celsius):
    expected = norm.pdf(celsius, 20, 5.5) / norm.pdf(20, 20, 5.5)
    assert cool_c(celsius) == pytest.approx(expected, rel=1e-9)


def test_4_9_the_potential_of_a_mean_is_not_the_mean_of_potentials():
    """Why the time step is part of the figure."""
    days = [4.0, 8.0, 12.0, 16.0]
    assert cool_c(10.0) < sum(cool_c(day) for day in days) / 4 - 0.05


def test_dollar_spot_agrees_with_scipys_logistic():
    assert dollar_spot_probability(22, 77) == pytest.approx(expit(-11.4041 + 0.0894 * 77 + 0.1932 * 22), rel=1e-12)
