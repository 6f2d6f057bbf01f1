"""Units do not matter: computed in US customary or other units and turned back (by pint), the figure is the same."""

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.agronomy.dressing import depth_mm, mass_kg_m2, packs, tray_rate_kg_m2, volume_m3
from pipeline.agronomy.evaporation import hargreaves_evaporation_mm, radiation_from_sunshine_mj_m2
from pipeline.agronomy.green_speed import (
    GRAVITY_M_S2,
    brede_speed,
    deceleration_m_s2,
    rolling_coefficient,
    seconds_at_27_m,
    stimpmeter_reading,
)
from pipeline.agronomy.soil.nutrients import kg_ha, nutrient_g_m2, price_per_kg
from pipeline.agronomy.soil.soil import g_m2_from_mg_kg, mg_kg_from_lb_acre
from pipeline.agronomy.weather import growing_degree_days, growth_potential, irrigation_need_mm
from pipeline.agronomy.work import cost_per_m2, daily_exposure_m_s2, vibration_points

PINT: pint.UnitRegistry = pint.UnitRegistry()
few = settings(max_examples=25)
near = pytest.approx


def between(low, high):
    return st.floats(low, high, allow_nan=False)


def ratio(one, other):
    """How many of the other unit are in one."""
    return float((PINT.parse_expression(one) / PINT.parse_expression(other)).to("dimensionless").magnitude)


LB, OZ, IN, FT = ratio("kg", "pound"), ratio("g", "ounce"), ratio("mm", "inch"), ratio("m", "foot")
ACRE = 10_000 * FT**2 / 43_560
"""Acres in a hectare, of international feet; pint's own acre is of survey feet, four parts in a million larger."""
LB_FT3 = ratio("metric_ton/m**3", "pound/foot**3")


class TestDressing:
    @few
    @given(between(1, 1e5), between(50, 5000), between(0.8, 2))
    def test_pounds_on_square_feet_make_the_same_layer(self, kg, m2, rho):
        pounds, square_feet = kg * LB, m2 * FT**2
        feet = pounds / square_feet / (rho * LB_FT3)
        assert depth_mm(kg / m2, rho) == near(12 * feet / IN)
        assert mass_kg_m2(depth_mm(kg / m2, rho), rho) * LB / FT**2 == near(pounds / square_feet)
        assert volume_m3(kg, rho) * FT**3 == near(pounds / (rho * LB_FT3))

    @few
    @given(between(1, 2000), between(100, 5000))
    def test_a_tray_in_ounces_and_square_inches(self, grams, cm2):
        ounces, square_inches = grams * OZ, cm2 * 100 * IN**2
        assert tray_rate_kg_m2(grams, cm2) == near(ounces / square_inches * (IN**2 * 1e6) / (OZ * 1000))

    @few
    @given(between(1, 1e5), between(5, 1000))
    def test_packs_are_packs_in_any_unit(self, kg, pack):
        assert packs(kg, pack) == near(packs(kg * LB, pack * LB))


class TestNutrients:
    @few
    @given(between(0.1, 1000), between(1, 50), between(50, 5000))
    def test_pounds_an_acre_are_the_same_dose(self, kg, pct, m2):
        pounds_acre = kg * LB * pct / 100 / (m2 / 10_000 * ACRE)
        assert kg_ha(nutrient_g_m2(kg, pct, m2)) == near(pounds_acre * ACRE / LB)

    @few
    @given(between(1, 1000), between(1, 100), between(1, 50))
    def test_the_price_of_a_pound(self, price, kg, pct):
        assert price_per_kg(price, kg, pct) == near(price_per_kg(price, kg * LB, pct) * LB)


class TestSoil:
    @few
    @given(between(0, 1000), between(10, 300), between(0.8, 2))
    def test_pounds_an_acre_of_the_layer(self, mg_kg, deep, rho):
        pounds_acre = kg_ha(g_m2_from_mg_kg(mg_kg, deep, rho)) * LB / ACRE
        assert mg_kg_from_lb_acre(pounds_acre, deep, rho) == near(mg_kg, rel=1e-6, abs=1e-9)
        acre_ft3 = 43_560 * deep * IN / 12
        assert pounds_acre == near(mg_kg / 1e6 * acre_ft3 * rho * LB_FT3, rel=1e-6, abs=1e-9)


class TestGreenSpeed:
    @few
    @given(between(5, 25), between(15, 40))
    def test_feet_make_the_same_deceleration_and_coefficient(self, t, d):
        in_feet = deceleration_m_s2(t, d * FT)
        assert deceleration_m_s2(t, d) == near(in_feet / FT)
        assert rolling_coefficient(deceleration_m_s2(t, d)) == near(in_feet / (GRAVITY_M_S2 * FT))
        assert seconds_at_27_m(t, d) == near(t * math.sqrt(27 * FT / (d * FT)))

    @few
    @given(between(1, 15), between(1, 15))
    def test_feet_and_metres_of_a_ball(self, up, down):
        metres = brede_speed(up / FT, down / FT)
        assert metres == near(brede_speed(up, down) / FT)
        balls = [up / FT * 1000] * 3, [down / FT * 1000] * 3
        assert stimpmeter_reading(*balls).distance_mm == near((up + down) / 2 / FT * 1000)


class TestWeather:
    @few
    @given(between(-10, 25), between(0, 20), between(0, 10))
    def test_degree_days_in_fahrenheit_are_nine_fifths(self, low, swing, base):
        fahrenheit = [PINT.Quantity(one, "degC").to("degF").magnitude for one in (low + swing, low, base)]
        assert growing_degree_days(*fahrenheit) == near(1.8 * growing_degree_days(low + swing, low, base), abs=1e-9)

    @few
    @given(between(-20, 110), st.sampled_from(["cool_season", "warm_season"]))
    def test_a_fahrenheit_curve_sees_the_same_day(self, fahrenheit, grass):
        best, spread = {"cool_season": (68, 10), "warm_season": (88, 12)}[grass]
        expected = math.exp(-0.5 * ((fahrenheit - best) / spread) ** 2)
        assert growth_potential((fahrenheit - 32) / 1.8, grass, "fahrenheit") == near(expected)

    @few
    @given(between(0, 300), between(0, 300), between(0, 1), between(0.1, 1))
    def test_inches_of_water_are_the_same_water(self, lost, rain, kept, efficiency):
        need = irrigation_need_mm(lost, rain, kept, efficiency)
        assert need == near(irrigation_need_mm(lost * IN, rain * IN, kept, efficiency) / IN)

    @few
    @given(between(0, 30), between(0, 15), between(5, 40), between(1, 16))
    def test_radiation_in_other_energies_scales(self, mean, half, mj, daylight):
        """Both are straight in radiation: kilowatt-hours in, and the factor out, change nothing."""
        kwh = ratio("megajoule", "kilowatt_hour")
        base = hargreaves_evaporation_mm(mean, mean + half, mean - half, mj)
        assert base == near(hargreaves_evaporation_mm(mean, mean + half, mean - half, mj * kwh) / kwh)
        sun = daylight / 2
        minutes = radiation_from_sunshine_mj_m2(sun * 60, daylight * 60, mj)
        assert radiation_from_sunshine_mj_m2(sun, daylight, mj) == near(minutes)


class TestWork:
    @few
    @given(between(0.1, 30), between(0, 12))
    def test_feet_a_second_squared_are_the_same_exposure(self, magnitude, hours):
        assert daily_exposure_m_s2(magnitude, hours) == near(daily_exposure_m_s2(magnitude * FT, hours) / FT)
        assert vibration_points(magnitude, hours) == near(vibration_points(magnitude * FT, hours) / FT**2)
        assert vibration_points(magnitude, hours) == near(2 * magnitude**2 * (60 * hours) / 60)

    @few
    @given(between(0, 1e5), between(50, 5000))
    def test_the_cost_of_a_square_foot(self, cost, m2):
        assert cost_per_m2(cost, m2) == near(cost_per_m2(cost, m2 * FT**2) * FT**2)
