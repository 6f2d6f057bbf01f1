"""What must hold for any input: units do not matter, mass is kept, more is more, passes add, nothing is nothing."""

import itertools
import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.agronomy.disturbance import (
    holes_per_m2,
    holes_per_m2_from_count,
    refill_sand_kg,
    slit_area_pct,
    square_spacing_mm,
    tined_area_pct_from_density,
    tined_volume_l_m2,
)
from pipeline.agronomy.dressing import (
    depth_mm,
    dry_mass_kg,
    mass_kg_m2,
    mass_of_volume_kg,
    packs,
    part_of_mix_by_volume_kg,
    part_of_mix_kg,
    volume_m3,
)
from pipeline.agronomy.evaporation import daylight_hours, extraterrestrial_radiation_mj_m2
from pipeline.agronomy.green_speed import (
    brede_speed,
    deceleration_m_s2,
    seconds_at_27_m,
)
from pipeline.agronomy.soil.mlsn import mlsn_need_g_m2
from pipeline.agronomy.soil.nutrients import (
    ELEMENT_PER_OXIDE,
    element_from_oxide,
    nutrient_g_m2,
    product_for_nutrient_kg,
    released_g_m2,
)
from pipeline.agronomy.soil.organic_matter import combine_layers_pct
from pipeline.agronomy.soil.particle_size import Curve, d_value_mm, fraction_pct, passing_at_pct
from pipeline.agronomy.soil.soil import g_m2_from_mg_kg, mg_kg_from_g_m2, uk_index
from pipeline.agronomy.surface import level_summary
from pipeline.agronomy.weather import growth_potential, irrigation_need_mm
from pipeline.agronomy.work import ACTION_POINTS, EXPOSURE_ACTION_M_S2, daily_exposure_m_s2, vibration_points


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


spacing = between(5, 500)
diameter = between(1, 50)
depth = between(1, 300)
density = between(0.5, 2.5)
share = between(0.1, 99.9)
mass = between(0, 1e6)
area = between(1, 1e5)
organic = between(0.1, 30)
near = pytest.approx


def area_pct(diameter_mm: float, along_mm: float, across_mm: float) -> float:
    """Surface opened, from the spacing two ways."""
    return tined_area_pct_from_density(diameter_mm, holes_per_m2(along_mm, across_mm))


class TestDisturbance:
    @given(diameter, spacing, spacing)
    def test_inches_and_mm_give_the_same_share(self, d, along, across):
        ratio = math.pi * (d / 25.4) ** 2 / (4 * (along / 25.4) * (across / 25.4))
        assert area_pct(d, along, across) == near(100 * ratio)

    @given(diameter, spacing, spacing, st.floats(1.01, 5))
    def test_wider_spacing_opens_less_and_a_thicker_tine_more(self, d, along, across, factor):
        base = area_pct(d, along, across)
        assert area_pct(d, along * factor, across) < base < area_pct(d * factor, along, across)

    @given(spacing, area)
    def test_holes_by_spacing_and_by_count_agree(self, s, m2):
        per_m2 = holes_per_m2(s, s)
        assert holes_per_m2_from_count(per_m2 * m2, m2) == near(per_m2)
        assert square_spacing_mm(per_m2) == near(s)

    @given(diameter, spacing, depth, area, density)
    def test_sand_to_refill_is_the_volume_of_the_holes(self, d, s, deep, m2, rho):
        volume = tined_volume_l_m2(area_pct(d, s, s), deep)
        holes = holes_per_m2(s, s) * m2
        litres = holes * math.pi / 4 * (d / 100) ** 2 * deep / 100
        assert refill_sand_kg(volume, m2, rho) == near(litres * rho)

    @given(spacing)
    def test_no_passes_no_depth_no_tine_open_nothing(self, s):
        assert slit_area_pct(10, s, 0) == 0
        assert tined_area_pct_from_density(0, 400) == 0
        assert tined_volume_l_m2(5, 0) == 0
        assert slit_area_pct(0, s) == 0


class TestDressing:
    @given(mass, density)
    def test_depth_and_mass_are_inverses(self, kg_m2, rho):
        assert mass_kg_m2(depth_mm(kg_m2, rho), rho) == near(kg_m2)
        assert mass_of_volume_kg(volume_m3(kg_m2, rho), rho) == near(kg_m2)

    @given(mass, area, density)
    def test_what_is_delivered_is_what_lies_on_the_green(self, kg, m2, rho):
        """The layer's volume is the delivery's volume."""
        assert depth_mm(kg / m2, rho) / 1000 * m2 == near(volume_m3(kg, rho))

    @given(mass, between(0, 60))
    def test_dry_and_wet_basis_agree_on_the_same_water(self, kg, wet_pct):
        dry_basis = 100 * wet_pct / (100 - wet_pct)
        assert dry_mass_kg(kg, dry_basis, "dry") == near(dry_mass_kg(kg, wet_pct, "wet"))

    @given(between(1, 1e6), between(0.1, 50))
    def test_the_dry_basis_leaves_more_than_the_wet_one(self, kg, moisture):
        assert dry_mass_kg(kg, moisture, "wet") < dry_mass_kg(kg, moisture, "dry") < kg

    @given(mass, share, density, density)
    def test_the_parts_of_a_mix_are_the_mix(self, kg, pct, rho1, rho2):
        assert part_of_mix_kg(kg, pct) + part_of_mix_kg(kg, 100 - pct) == near(kg)
        both = part_of_mix_by_volume_kg(kg, pct, rho1, rho2), part_of_mix_by_volume_kg(kg, 100 - pct, rho2, rho1)
        assert sum(both) == near(kg)
        assert part_of_mix_by_volume_kg(kg, pct, rho1, rho1) == near(part_of_mix_kg(kg, pct))

    @given(between(0, 1e5), between(0.5, 1000))
    def test_packs_hold_enough_and_one_less_would_not(self, kg, pack):
        number = packs(kg, pack)
        assert number * pack >= kg - 1e-6 * pack
        assert number == 0 or (number - 1) * pack < kg

    @given(st.integers(0, 10_000), st.sampled_from([0.1, 0.3, 2.2, 20.0, 25.0]))
    def test_whole_packs_stay_whole(self, number, pack):
        """0.3 kg in packs of 0.1 kg is 2.9999… or 3.0000…1 in binary: three packs, not four."""
        assert packs(number * pack, pack) == number


class TestNutrients:
    @given(between(0, 1e4), st.sampled_from(list(ELEMENT_PER_OXIDE)))
    def test_the_element_weighs_less_than_its_oxide(self, amount, oxide):
        assert 0 <= element_from_oxide(amount, oxide) <= amount

    @given(between(0, 1e4), share, area)
    def test_nutrient_on_the_green_is_nutrient_in_the_bag(self, kg, pct, m2):
        on_green_kg = nutrient_g_m2(kg, pct, m2) * m2 / 1000
        assert product_for_nutrient_kg(on_green_kg, pct) == near(kg)

    @given(between(0, 50), between(0, 100), between(1, 52))
    def test_never_more_is_released_than_was_spread(self, applied, weeks, lasts):
        assert 0 <= released_g_m2(applied, weeks, lasts) <= applied
        assert released_g_m2(applied, lasts, lasts) == near(applied)

    def test_nothing_spread_is_nothing(self):
        assert nutrient_g_m2(0, 14, 400) == 0
        assert element_from_oxide(0, "K2O") == 0


class TestOrganicMatter:
    @given(st.lists(st.tuples(organic, depth), min_size=1, max_size=6))
    def test_a_mean_lies_between_its_layers_and_at_most_at_the_plain_mean(self, layers):
        om, thickness = zip(*layers, strict=True)
        combined = combine_layers_pct(om, thickness)
        assert min(om) - 1e-9 <= combined <= max(om) + 1e-9
        plain = sum(o * h for o, h in layers) / sum(thickness)
        assert combined <= plain + 1e-9

    @given(organic, depth, depth)
    def test_cutting_a_layer_in_two_changes_nothing(self, om, h1, h2):
        assert combine_layers_pct([om, om], [h1, h2]) == near(combine_layers_pct([om], [h1 + h2]))

    @given(organic, between(10, 100), between(0, 1), between(0, 1))
    def test_more_sand_leaves_less_organic_matter(self, om, deep, a, b):
        less, more = sorted((a * deep, b * deep))
        after = [combine_layers_pct([0.0, om], [sand, deep - sand]) for sand in (0.0, less, more)]
        assert after[2] <= after[1] + 1e-12
        assert after[0] == near(om)


class TestSoil:
    @given(between(0, 5000), depth, density)
    def test_amount_and_content_are_inverses(self, ppm, deep, rho):
        assert mg_kg_from_g_m2(g_m2_from_mg_kg(ppm, deep, rho), deep, rho) == near(ppm)

    @given(between(0, 50), between(0, 400), between(0, 400), depth, density)
    def test_the_need_is_never_negative_and_falls_with_richer_soil(self, use, soil_a, soil_b, deep, rho):
        poor, rich = sorted((soil_a, soil_b))
        need = mlsn_need_g_m2(use, 37, poor, deep, rho)
        assert need >= mlsn_need_g_m2(use, 37, rich, deep, rho) >= 0

    @given(between(0, 6000), between(0, 6000), st.sampled_from(["P", "K", "Mg"]))
    def test_a_richer_soil_never_has_a_lower_index(self, a, b, nutrient):
        order = ["0", "1", "2", "2-", "2+", "3", "4", "5", "6", "7", "8", "9"]
        poor, rich = sorted((a, b))
        assert order.index(uk_index(poor, nutrient)) <= order.index(uk_index(rich, nutrient))


sieves = (0.05, 0.15, 0.25, 0.5, 1.0, 2.0)
curves = st.lists(between(0.5, 50), min_size=6, max_size=6).map(
    lambda steps: Curve(sieves, tuple(min(100.0, 100.0 * sum(steps[: i + 1]) / sum(steps)) for i in range(6)))
)


class TestParticleSize:
    @given(curves, between(1, 99), st.sampled_from(["log_linear", "linear"]))
    def test_passing_at_a_d_value_is_its_percentage(self, curve, pct, way):
        size = d_value_mm(curve, pct, way)
        if pct < curve.passing_pct[0]:
            assert size is None
        else:
            assert passing_at_pct(curve, size, way) == near(pct)

    @given(curves)
    def test_fractions_add_up_to_all_of_it(self, curve):
        edges = (0.0, *sieves[1:])
        parts = [fraction_pct(curve, a, b, "log_linear") for a, b in itertools.pairwise(edges)]
        assert sum(parts) == near(100)

    @given(curves, between(0.1, 10))
    def test_d_values_scale_with_the_sieves(self, curve, factor):
        assume(curve.passing_pct[0] <= 60)
        larger = Curve(tuple(size * factor for size in curve.sizes_mm), curve.passing_pct)
        expected = factor * d_value_mm(curve, 60, "log_linear")
        assert d_value_mm(larger, 60, "log_linear") == near(expected)


class TestGreenSpeed:
    @given(between(5, 25), between(15, 40))
    def test_the_corrected_time_keeps_the_deceleration(self, t, d):
        assert deceleration_m_s2(seconds_at_27_m(t, d), 27) == near(deceleration_m_s2(t, d))

    @given(between(1, 20), between(1, 20))
    def test_slope_correction_lies_between_and_under_the_mean(self, up, down):
        corrected = brede_speed(up, down)
        assert min(up, down) - 1e-9 <= corrected <= (up + down) / 2 + 1e-9
        assert brede_speed(down, up) == near(corrected)

    @given(between(0.02, 0.2), between(0.0, 0.9))
    def test_slope_correction_is_exact_under_constant_friction(self, friction, part):
        """On a slope the ball meets friction plus or minus the slope: up 1/(μ+i), down 1/(μ−i), level 1/μ."""
        incline = friction * part
        assert brede_speed(1 / (friction + incline), 1 / (friction - incline)) == near(1 / friction)


class TestWeather:
    @given(
        between(-20, 45), st.sampled_from(["cool_season", "warm_season"]), st.sampled_from(["celsius", "fahrenheit"])
    )
    def test_growth_potential_is_a_share(self, celsius, grass, form):
        assert 0 <= growth_potential(celsius, grass, form) <= 1

    @given(between(-89, 89), st.integers(1, 366))
    def test_sun_and_day_length_stay_possible_up_to_the_poles(self, latitude, day):
        assert extraterrestrial_radiation_mj_m2(latitude, day) >= -1e-9
        assert 0 <= daylight_hours(latitude, day) <= 24 + 1e-9

    @given(between(0, 100), between(0, 100), between(0, 1), between(0.1, 1))
    def test_water_put_on_covers_what_rain_did_not(self, etc, rain, kept, efficiency):
        need = irrigation_need_mm(etc, rain, kept, efficiency)
        assert need >= 0
        assert need * efficiency + kept * rain >= etc - 1e-9


class TestWorkAndSurface:
    @given(between(0.1, 20), between(0.1, 8))
    def test_points_and_exposure_say_the_same(self, magnitude, hours):
        points = vibration_points(magnitude, hours)
        exposure = EXPOSURE_ACTION_M_S2 * math.sqrt(points / ACTION_POINTS)
        assert exposure == near(daily_exposure_m_s2(magnitude, hours))

    @given(between(0.1, 20), between(0, 4), between(0, 4))
    def test_points_of_two_spells_add(self, magnitude, first, second):
        both = vibration_points(magnitude, first) + vibration_points(magnitude, second)
        assert both == near(vibration_points(magnitude, first + second))

    @given(st.lists(st.integers(-50, 50), min_size=2, max_size=30), st.integers(-1000, 1000))
    def test_the_benchmark_does_not_matter(self, heights, benchmark):
        here, there = level_summary(heights, 6), level_summary([h + benchmark for h in heights], 6)
        assert there.largest_deviation_mm == near(here.largest_deviation_mm, abs=1e-9)
        assert there.within_pct == near(here.within_pct)
