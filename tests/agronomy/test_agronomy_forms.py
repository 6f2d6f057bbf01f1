"""The same formula on a number, a NumPy array and a polars column; a gap in a column stays a gap.

A function of columns that is missing from the table below fails the suite.
"""

import inspect
from fractions import Fraction
from importlib import import_module
from pkgutil import walk_packages

import numpy as np
import polars as pl
import pytest

import pipeline.agronomy
from pipeline.agronomy import disturbance, dressing, evaporation, green_speed, maths, surface, sward, weather, work
from pipeline.agronomy.soil import mlsn, nutrients, organic_matter, soil

SAMPLES = {
    disturbance.holes_per_m2: (50.0, 60.0),
    disturbance.square_spacing_mm: (400.0,),
    disturbance.holes_per_m2_from_count: (5000.0, 12.5),
    disturbance.tined_area_pct_from_density: (12.0, 400.0),
    disturbance.tined_volume_l_m2: (4.5, 70.0),
    disturbance.slit_area_pct: (3.0, 25.0, 2.0),
    disturbance.refill_sand_kg: (3.2, 1369.0, 1.5),
    disturbance.bore_mm: (12.0, 2.0, "inside", "outside"),
    disturbance.claim_gap_pct: (420.0, 400.0),
    dressing.depth_mm: (8.1, 1.5),
    dressing.mass_kg_m2: (5.4, 1.5),
    dressing.dry_mass_kg: (10_000.0, 6.0, "dry"),
    dressing.volume_m3: (9434.0, 1.5),
    dressing.mass_of_volume_kg: (6.3, 1.5),
    dressing.part_of_mix_kg: (10_000.0, 70.0),
    dressing.part_of_mix_by_volume_kg: (10_000.0, 70.0, 1.5, 1.2),
    dressing.packs: (2510.0, 25.0),
    dressing.packs_cover_m2: (100.0, 25.0, 2.0),
    dressing.tray_rate_kg_m2: (400.0, 2000.0),
    dressing.tray_depth_mm: (400.0, 2000.0, 1.5),
    dressing.off_green_kg: (3000.0, 2.0, 1400.0),
    evaporation.atmospheric_pressure_kpa: (100.0,),
    evaporation.psychrometric_constant_kpa_c: (101.3,),
    evaporation.saturation_vapour_pressure_kpa: (15.0,),
    evaporation.mean_saturation_kpa: (21.5, 12.3),
    evaporation.saturation_slope_kpa_c: (17.0,),
    evaporation.vapour_pressure_from_extremes_kpa: (21.5, 12.3, 84.0, 63.0),
    evaporation.vapour_pressure_from_mean_kpa: (21.5, 12.3, 73.0),
    evaporation.solar_declination_rad: (187.0,),
    evaporation.sunset_angle_rad: (50.8, 187.0),
    evaporation.extraterrestrial_radiation_mj_m2: (50.8, 187.0),
    evaporation.daylight_hours: (50.8, 187.0),
    evaporation.radiation_from_sunshine_mj_m2: (9.25, 16.1, 41.09),
    evaporation.clear_sky_radiation_mj_m2: (100.0, 41.09),
    evaporation.net_longwave_mj_m2: (21.5, 12.3, 1.409, 22.07, 30.9),
    evaporation.net_radiation_mj_m2: (22.07, 3.71),
    evaporation.wind_at_2_m_m_s: (2.78, 10.0),
    evaporation.reference_evaporation_mm: (21.5, 12.3, 1.409, 2.078, 13.28, 100.0, 0.0),
    evaporation.hargreaves_evaporation_mm: (20.7, 26.6, 14.8, 40.6),
    green_speed.seconds_at_27_m: (12.4, 28.2),
    green_speed.deceleration_m_s2: (12.0, 27.0),
    green_speed.rolling_coefficient: (0.375,),
    green_speed.brede_speed: (9.0, 14.0),
    mlsn.mlsn_need_g_m2: (15.0, 37.0, 24.0, 152.4, 1.5),
    mlsn.nutrient_use_g_m2: (30.0, 2.0, 1.0),
    nutrients.element_from_oxide: (3.5, "K2O"),
    nutrients.nutrient_g_m2: (20.0, 14.0, 400.0),
    nutrients.kg_ha: (16.0,),
    nutrients.product_for_nutrient_kg: (1.0, 16.0),
    nutrients.price_per_kg: (28.0, 20.0, 14.0),
    nutrients.released_g_m2: (7.0, 6.0, 12.0),
    nutrients.removed_g_m2: (120.0, 4.0),
    nutrients.over_single_dose_g_m2: (5.0,),
    organic_matter.loss_on_ignition_pct: (50.0, 46.35),
    organic_matter.layer_bulk_density_t_m3: (4.8,),
    organic_matter.core_volume_cm3: (20.0, 20.0),
    organic_matter.sampling_half_width: (12.2, 5.0, Fraction(89, 100)),
    soil.mg_kg_from_mg_l: (100.0, 1.3),
    soil.g_m2_from_mg_kg: (13.0, 152.4, 1.5),
    soil.mg_kg_from_g_m2: (3.0, 152.4, 1.5),
    soil.mg_kg_from_lb_acre: (74.0, 152.4, 1.5),
    soil.cation_meq_100g: (379.0, "K", "rounded"),
    surface.infiltration_mm_h: (1060.0, 300.0, 10.0),
    surface.falling_head_mm_h: (100.0, 85.0, 10.0),
    sward.cover_pct: (12.0, 100.0),
    weather.growing_degree_days: (23.0, 11.0, 10.0),
    weather.growth_potential: (12.0, "cool_season", "celsius"),
    weather.nitrogen_ceiling_g_m2: (0.35, 5.0),
    weather.dollar_spot_probability: (20.0, 80.0),
    weather.turf_evaporation_mm: (25.8, 0.85),
    weather.irrigation_need_mm: (21.93, 6.0, 0.75, 0.75),
    work.vibration_points: (4.0, 2.0),
    work.daily_exposure_m_s2: (4.0, 2.0),
    work.hours_to_points: (4.0, 100.0),
    work.person_hours: (3.0, 2.0),
    work.job_cost: (6.0, 20.0, 90.0, 15.0),
    work.cost_per_m2: (225.0, 1500.0),
    maths.maximum: (3.0, 4.0),
    maths.minimum: (3.0, 4.0),
}


def call(function, arguments):
    """With keywords, since a long list of inputs takes nothing else."""
    return function(**dict(zip(inspect.signature(function).parameters, arguments, strict=False)))


def in_columns(arguments):
    """The numbers as columns of three rows: as given, missing, and as given again."""
    numbers = {f"c{i}": [a, None, a] for i, a in enumerate(arguments) if isinstance(a, float)}
    columns = [pl.col(f"c{i}") if isinstance(a, float) else a for i, a in enumerate(arguments)]
    return pl.DataFrame(numbers, schema=dict.fromkeys(numbers, pl.Float64)), columns


@pytest.mark.parametrize("function", SAMPLES, ids=lambda f: f.__name__)
def test_array_and_column_give_what_the_number_gives_and_a_gap_stays_a_gap(function):
    arguments = SAMPLES[function]
    expected = call(function, arguments)
    arrays = [np.array([a, a]) if isinstance(a, float) else a for a in arguments]
    np.testing.assert_allclose(call(function, arrays), [expected, expected], rtol=1e-12)
    frame, columns = in_columns(arguments)
    got = frame.select(call(function, columns).alias("out"))["out"].to_list()
    assert got[1] is None
    assert [got[0], got[2]] == pytest.approx([expected, expected], rel=1e-12)


def gap_cases():
    for function, arguments in SAMPLES.items():
        for position, argument in enumerate(arguments):
            if isinstance(argument, float):
                yield pytest.param(function, position, id=f"{function.__name__}-{position}")


@pytest.mark.parametrize(("function", "position"), list(gap_cases()))
def test_one_missing_input_among_numbers_makes_the_figure_missing(function, position):
    arguments = list(SAMPLES[function])
    arguments[position] = pl.col("gap")
    frame = pl.DataFrame({"gap": [None]}, schema={"gap": pl.Float64})
    got = frame.select(call(function, arguments).alias("out"))["out"].to_list()
    assert got == [None]


def column_functions():
    for module in walk_packages(pipeline.agronomy.__path__, "pipeline.agronomy."):
        loaded = import_module(module.name)
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            own = function.__module__ == loaded.__name__ and not name.startswith("_")
            takes_columns = "Quantity" in str(inspect.signature(function))
            if own and takes_columns and module.name != "pipeline.agronomy.maths":
                yield function


def test_no_function_of_columns_is_left_out_above():
    left_out = [f"{f.__module__}.{f.__name__}" for f in column_functions() if f not in SAMPLES]
    assert left_out == []


@pytest.mark.parametrize("name", ["exp", "log", "sqrt", "sin", "cos", "tan", "arccos", "ceil"])
def test_elementwise_operations_agree_in_every_form(name):
    operation = getattr(maths, name)
    expected = operation(0.6)
    assert operation(np.array([0.6])) == pytest.approx([expected])
    got = pl.DataFrame({"x": [0.6, None]}).select(operation(pl.col("x")))["x"].to_list()
    assert got == [pytest.approx(expected), None]


def test_maximum_and_minimum_never_make_a_figure_out_of_a_gap_or_a_non_number():
    """polars' own horizontal maximum of (null, 2) is 2; here it is missing."""
    nan = float("nan")
    frame = pl.DataFrame({"x": [1.0, None, nan, 3.0]})
    for function, kept in ((maths.maximum, [2.0, 3.0]), (maths.minimum, [1.0, 2.0])):
        got = frame.select(function(pl.col("x"), 2.0).alias("m"))["m"].to_list()
        assert [got[0], got[3]] == kept
        assert got[1] is None
        assert np.isnan(got[2])
        assert np.isnan(function(nan, 2.0))
        assert np.isnan(function(np.array([nan]), 2.0)).all()


def test_a_choice_on_a_missing_condition_is_missing():
    frame = pl.DataFrame({"x": [1.0, None, 3.0]})
    got = frame.select(maths.where(pl.col("x") > 2, pl.col("x"), 0.0).alias("w"))["w"].to_list()
    assert got == [0.0, None, 3.0]
    assert maths.where(np.array([True, False]), 1.0, 2.0).tolist() == [1.0, 2.0]


def test_dollar_spot_is_missing_outside_its_range_on_columns():
    frame = pl.DataFrame({"t": [5.0, 20.0, 36.0]})
    got = frame.select(weather.dollar_spot_probability(pl.col("t"), 80.0).alias("p"))["p"].to_list()
    assert got == [None, pytest.approx(0.4042, abs=5e-5), None]
    assert np.isnan(weather.dollar_spot_probability(np.array([5.0]), 80.0)).all()


def test_a_capped_growth_potential_on_a_column():
    frame = pl.DataFrame({"t": [24.0, 35.0, None]})
    capped = weather.growth_potential(pl.col("t"), "warm_season", "celsius", capped=True)
    got = frame.select(capped.alias("gp"))["gp"].to_list()
    assert got == [pytest.approx(0.6065, abs=5e-5), 1.0, None]
