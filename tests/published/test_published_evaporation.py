"""FAO-56's own worked examples, and the same figures from the pyet library."""

import numpy as np
import pandas as pd
import pyet
import pytest
from published_checks import CASE, check, given

from pipeline.agronomy.evaporation import (
    atmospheric_pressure_kpa,
    clear_sky_radiation_mj_m2,
    daylight_hours,
    extraterrestrial_radiation_mj_m2,
    hargreaves_evaporation_mm,
    mean_saturation_kpa,
    net_longwave_mj_m2,
    net_radiation_mj_m2,
    psychrometric_constant_kpa_c,
    radiation_from_sunshine_mj_m2,
    reference_evaporation_mm,
    saturation_slope_kpa_c,
    saturation_vapour_pressure_kpa,
    solar_declination_rad,
    sunset_angle_rad,
    vapour_pressure_from_extremes_kpa,
    vapour_pressure_from_mean_kpa,
    wind_at_2_m_m_s,
)
from tests.outside_checks import outside


def example(number: int) -> str:
    return f"FAO-56 example {number}"


def pressure_to_gamma(elevation_m: float) -> float:
    return psychrometric_constant_kpa_c(atmospheric_pressure_kpa(elevation_m))


def radiation_of_rio(sunshine_h: float) -> float:
    """With unrounded inputs: the printed 25.1 and 10.9 already cost a digit."""
    return radiation_from_sunshine_mj_m2(
        sunshine_h, daylight_hours(RIO, 135), extraterrestrial_radiation_mj_m2(RIO, 135)
    )


BANGKOK, UCCLE, LYON, RIO = 13 + 44 / 60, 50.8, 45 + 43 / 60, -22.9


@pytest.mark.parametrize(
    CASE,
    [
        check("worked example", atmospheric_pressure_kpa, (1800,), 81.8, 0.05, example(2)),
        check("worked example", pressure_to_gamma, (1800,), 0.054, 5e-4, example(2)),
        check("worked example", saturation_vapour_pressure_kpa, (24.5,), 3.075, 5e-4, example(3)),
        check("worked example", saturation_vapour_pressure_kpa, (15,), 1.705, 5e-4, example(3)),
        check("worked example", mean_saturation_kpa, (24.5, 15), 2.39, 0.005, example(3)),
        check("worked example", vapour_pressure_from_extremes_kpa, (25, 18, 82, 54), 1.70, 0.005, example(5)),
        check("worked example", vapour_pressure_from_mean_kpa, (25, 18, 68), 1.78, 0.005, example(5)),
        check("worked example", solar_declination_rad, (246,), 0.120, 5e-4, example(8)),
        check("worked example", sunset_angle_rad, (-20, 246), 1.527, 5e-4, example(8)),
        check("worked example", extraterrestrial_radiation_mj_m2, (-20, 246), 32.2, 0.05, example(8)),
        check("worked example", daylight_hours, (-20, 246), 11.7, 0.05, example(9)),
        check("worked example", extraterrestrial_radiation_mj_m2, (RIO, 135), 25.1, 0.05, example(10)),
        check("worked example", daylight_hours, (RIO, 135), 10.9, 0.05, example(10)),
        check("worked example", radiation_of_rio, (7.1,), 14.5, 0.05, example(10)),
        check("worked example", wind_at_2_m_m_s, (3.2, 10), 2.4, 0.05, example(14)),
        check("worked example", wind_at_2_m_m_s, (1, 10), 0.748, 5e-4, "FAO-56 table of factors, 10 m"),
        check("worked example", extraterrestrial_radiation_mj_m2, (BANGKOK, 105), 38.06, 0.02, example(17)),
        check("worked example", saturation_slope_kpa_c, (30.2,), 0.246, 5e-4, example(17)),
        check("worked example", pressure_to_gamma, (2,), 0.0674, 1e-4, example(17)),
        check("worked example", extraterrestrial_radiation_mj_m2, (UCCLE, 187), 41.09, 0.02, example(18)),
        check("worked example", daylight_hours, (UCCLE, 187), 16.1, 0.05, example(18)),
        check("worked example", radiation_from_sunshine_mj_m2, (9.25, 16.1, 41.09), 22.07, 0.02, example(18)),
        check("worked example", clear_sky_radiation_mj_m2, (100, 41.09), 30.90, 0.01, example(18)),
        check("worked example", net_longwave_mj_m2, (21.5, 12.3, 1.409, 22.07, 30.90), 3.71, 0.01, example(18)),
        check("worked example", net_radiation_mj_m2, (22.07, 3.71), 13.28, 0.01, example(18)),
        check("worked example", net_radiation_mj_m2, (22.07, 0), 17.0, 0.01, f"{example(18)}, Rns"),
        check("worked example", vapour_pressure_from_extremes_kpa, (21.5, 12.3, 84, 63), 1.409, 5e-4, example(18)),
        check("worked example", mean_saturation_kpa, (21.5, 12.3), 1.997, 5e-4, example(18)),
        check("worked example", wind_at_2_m_m_s, (10 / 3.6, 10), 2.078, 5e-4, example(18)),
        check("worked example", saturation_vapour_pressure_kpa, (14.8,), 1.68, 0.005, f"{example(20)}, dew at Tmin"),
        check("worked example", extraterrestrial_radiation_mj_m2, (LYON, 196), 40.6, 0.05, example(20)),
        check("worked example", hargreaves_evaporation_mm, (20.7, 26.6, 14.8, 40.6), 5.0, 0.05, example(20)),
        check("worked example", hargreaves_evaporation_mm, (35, 38, 28, 38.937), 6.10, 0.005, "PyETo test, Mehta 2006"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


def penman(latitude, day, elevation, highest, lowest, vapour, wind, sunshine=None, heat=0.0, solar=None):
    """The whole chain of FAO-56 from what a station writes down: (Rn, ETo)."""
    above = extraterrestrial_radiation_mj_m2(latitude, day)
    if solar is None:
        solar = radiation_from_sunshine_mj_m2(sunshine, daylight_hours(latitude, day), above)
    clear = clear_sky_radiation_mj_m2(elevation, above)
    net = net_radiation_mj_m2(solar, net_longwave_mj_m2(highest, lowest, vapour, solar, clear))
    eto = reference_evaporation_mm(
        highest_c=highest,
        lowest_c=lowest,
        vapour_pressure_kpa=vapour,
        wind_2_m_m_s=wind,
        net_radiation_mj_m2=net,
        elevation_m=elevation,
        soil_heat_mj_m2=heat,
    )
    return net, eto


@outside("worked example", "FAO-56 example 17")
def test_9_2_bangkok_in_april_example_17():
    net, eto = penman(BANGKOK, 105, 2, 34.8, 25.6, 2.85, 2, sunshine=8.5, heat=0.14)
    assert net == pytest.approx(14.33, abs=0.02)
    assert eto == pytest.approx(5.72, abs=0.02)


@outside("worked example", "FAO-56 example 18")
def test_9_2_uccle_on_6_july_example_18():
    vapour = vapour_pressure_from_extremes_kpa(21.5, 12.3, 84, 63)
    wind = wind_at_2_m_m_s(10 / 3.6, 10)
    net, eto = penman(UCCLE, 187, 100, 21.5, 12.3, vapour, wind, sunshine=9.25)
    assert net == pytest.approx(13.28, abs=0.02)
    assert eto == pytest.approx(3.880, abs=0.01)
    assert round(eto, 1) == 3.9


def test_9_2_lyon_in_july_example_20_from_memory():
    """Temperatures only: dew point at the minimum, kRs 0.16, wind 2 m/s, no humidity, no sunshine."""
    above = extraterrestrial_radiation_mj_m2(LYON, 196)
    solar = 0.16 * np.sqrt(26.6 - 14.8) * above
    vapour = saturation_vapour_pressure_kpa(14.8)
    _, eto = penman(LYON, 196, 200, 26.6, 14.8, vapour, 2, solar=solar)
    assert eto == pytest.approx(4.56, abs=0.02)


DAYS = pd.date_range("2023-01-01", periods=365, freq="D")
J = np.arange(1.0, 366.0)
WARMEST = pd.Series(15 + 9 * np.sin((J - 110) / 58), index=DAYS)
COLDEST = WARMEST - (6 + 3 * np.cos(J / 9))
DAMPEST = pd.Series(90 + 5 * np.sin(J), index=DAYS)
DRIEST = DAMPEST - 35
WIND = pd.Series(2.5 + np.sin(J / 3), index=DAYS)


@outside("library", "pyet extraterrestrial_r and daylight_hours")
@pytest.mark.parametrize("latitude", [13.73, 50.8, 56.0, -22.9])
def test_radiation_and_day_length_of_a_year_agree_with_pyet(latitude):
    radians = np.radians(latitude)
    above = extraterrestrial_radiation_mj_m2(latitude, J)
    np.testing.assert_allclose(above, pyet.extraterrestrial_r(DAYS, radians), rtol=1e-9)
    np.testing.assert_allclose(daylight_hours(latitude, J), pyet.daylight_hours(DAYS, radians), rtol=1e-9)


@outside("library", "pyet calc_e0, calc_vpc and calc_press")
def test_vapour_and_pressure_agree_with_pyet():
    celsius = np.linspace(-10, 40, 51)
    np.testing.assert_allclose(saturation_vapour_pressure_kpa(celsius), pyet.calc_e0(celsius), rtol=1e-9)
    np.testing.assert_allclose(saturation_slope_kpa_c(celsius), pyet.calc_vpc(celsius), rtol=1e-9)
    heights = np.array([0.0, 100.0, 500.0, 1800.0])
    np.testing.assert_allclose(atmospheric_pressure_kpa(heights), pyet.calc_press(heights), rtol=1e-9)


@outside("library", "pyet calc_rad_long")
@pytest.mark.parametrize("share", [0.5, 0.8, 1.0, 1.1, 1.4])
def test_longwave_of_dull_and_of_impossibly_bright_days_agrees_with_pyet(share):
    """Rs/Rso counts as 1 where a station reads more than a clear sky gives: both hold it there."""
    warm, cold = pd.Series([21.5, 30.0, 3.0]), pd.Series([12.3, 18.0, -4.0])
    vapour, clear = pd.Series([1.409, 2.1, 0.5]), pd.Series([30.9, 28.0, 9.0])
    theirs = pyet.calc_rad_long(share * clear, tmax=warm, tmin=cold, ea=vapour, rso=clear)
    ours = net_longwave_mj_m2(*(one.to_numpy() for one in (warm, cold, vapour, share * clear, clear)))
    np.testing.assert_allclose(ours, theirs, rtol=1e-3)


@outside("library", "pyet pm_fao56")
def test_a_year_of_reference_evaporation_agrees_with_pyet():
    """Same net radiation in, so that only Penman–Monteith itself is compared."""
    vapour = vapour_pressure_from_extremes_kpa(*(s.to_numpy() for s in (WARMEST, COLDEST, DAMPEST, DRIEST)))
    above = extraterrestrial_radiation_mj_m2(52.0, J)
    solar = 0.5 * above
    clear = clear_sky_radiation_mj_m2(80.0, above)
    longwave = net_longwave_mj_m2(WARMEST.to_numpy(), COLDEST.to_numpy(), vapour, solar, clear)
    net = net_radiation_mj_m2(solar, longwave)
    ours = reference_evaporation_mm(
        highest_c=WARMEST.to_numpy(),
        lowest_c=COLDEST.to_numpy(),
        vapour_pressure_kpa=vapour,
        wind_2_m_m_s=WIND.to_numpy(),
        net_radiation_mj_m2=net,
        elevation_m=80.0,
    )
    theirs = pyet.pm_fao56(
        (WARMEST + COLDEST) / 2,
        WIND,
        rn=pd.Series(net, index=DAYS),
        tmax=WARMEST,
        tmin=COLDEST,
        rhmax=DAMPEST,
        rhmin=DRIEST,
        elevation=80.0,
        clip_zero=False,
    )
    np.testing.assert_allclose(ours, theirs, rtol=1e-5)


@outside("library", "pyet hargreaves")
def test_a_year_of_hargreaves_agrees_with_pyet():
    """pyet divides by a latent heat that varies with temperature, FAO-56 by 2.45: brought to the same one."""
    mean = (WARMEST + COLDEST) / 2
    above = extraterrestrial_radiation_mj_m2(52.0, J)
    ours = hargreaves_evaporation_mm(mean.to_numpy(), WARMEST.to_numpy(), COLDEST.to_numpy(), above)
    theirs = pyet.hargreaves(mean, WARMEST, COLDEST, np.radians(52.0)) * pyet.calc_lambda(mean) * 0.408
    np.testing.assert_allclose(ours, theirs, rtol=1e-9)
