"""What each formula takes: the limits themselves are taken, the next value beyond is refused.

A limit one off would refuse a sound reading, or let a slip through as a figure.
"""

from __future__ import annotations

import inspect
import math
from typing import NamedTuple

import pytest

from pipeline.agronomy import disturbance, dressing, evaporation, green_speed, surface, sward, weather, work
from pipeline.agronomy.soil import mlsn, nutrients, organic_matter, soil
from tests.agronomy.test_agronomy_forms import SAMPLES, call


class Limits(NamedTuple):
    """What an input may be."""

    low: float
    high: float = math.inf
    open_below: bool = False


ABOVE_ZERO, NOT_BELOW_ZERO, PER_CENT = Limits(0, open_below=True), Limits(0), Limits(0, 100)
NEXT = 0.01
"""Beyond a limit by so much is beyond it."""

LIMITS = {
    disturbance.holes_per_m2: {"spacing_along_mm": ABOVE_ZERO, "spacing_across_mm": ABOVE_ZERO},
    disturbance.square_spacing_mm: {"holes_per_m2": ABOVE_ZERO},
    disturbance.holes_per_m2_from_count: {"holes": NOT_BELOW_ZERO, "area_m2": ABOVE_ZERO},
    disturbance.tined_area_pct_from_density: {"diameter_mm": NOT_BELOW_ZERO, "holes_per_m2": NOT_BELOW_ZERO},
    disturbance.tined_volume_l_m2: {"area_pct": NOT_BELOW_ZERO, "depth_mm": NOT_BELOW_ZERO},
    disturbance.slit_area_pct: {
        "blade_width_mm": NOT_BELOW_ZERO,
        "passes": NOT_BELOW_ZERO,
        "blade_spacing_mm": ABOVE_ZERO,
    },
    disturbance.refill_sand_kg: {
        "volume_l_m2": NOT_BELOW_ZERO,
        "area_m2": NOT_BELOW_ZERO,
        "bulk_density_t_m3": ABOVE_ZERO,
    },
    disturbance.bore_mm: {"diameter_mm": ABOVE_ZERO, "wall_mm": NOT_BELOW_ZERO},
    disturbance.claim_gap_pct: {"claimed_holes_per_m2": NOT_BELOW_ZERO, "spacing_holes_per_m2": ABOVE_ZERO},
    dressing.depth_mm: {"mass_kg_m2": NOT_BELOW_ZERO, "bulk_density_t_m3": ABOVE_ZERO},
    dressing.mass_kg_m2: {"depth_mm": NOT_BELOW_ZERO, "bulk_density_t_m3": ABOVE_ZERO},
    dressing.dry_mass_kg: {
        "mass_kg": NOT_BELOW_ZERO,
        "moisture_pct": NOT_BELOW_ZERO,
    },  # of the dry mass: no upper limit
    dressing.volume_m3: {"mass_kg": NOT_BELOW_ZERO, "bulk_density_t_m3": ABOVE_ZERO},
    dressing.mass_of_volume_kg: {"volume_m3": NOT_BELOW_ZERO, "bulk_density_t_m3": ABOVE_ZERO},
    dressing.part_of_mix_kg: {"mass_kg": NOT_BELOW_ZERO, "share_pct": PER_CENT},
    dressing.part_of_mix_by_volume_kg: {
        "mass_kg": NOT_BELOW_ZERO,
        "share_pct": PER_CENT,
        "part_density_t_m3": ABOVE_ZERO,
        "rest_density_t_m3": ABOVE_ZERO,
    },
    dressing.packs: {"mass_kg": NOT_BELOW_ZERO, "pack_kg": ABOVE_ZERO},
    dressing.packs_cover_m2: {"packs": NOT_BELOW_ZERO, "pack_kg": ABOVE_ZERO, "rate_kg_m2": ABOVE_ZERO},
    dressing.tray_rate_kg_m2: {"mass_g": NOT_BELOW_ZERO, "tray_area_cm2": ABOVE_ZERO},
    dressing.off_green_kg: {
        "delivered_dry_kg": NOT_BELOW_ZERO,
        "tray_rate_kg_m2": NOT_BELOW_ZERO,
        "area_m2": ABOVE_ZERO,
    },
    evaporation.atmospheric_pressure_kpa: {"elevation_m": Limits(-500, 9000)},
    evaporation.psychrometric_constant_kpa_c: {"pressure_kpa": ABOVE_ZERO},
    evaporation.saturation_vapour_pressure_kpa: {"celsius": Limits(-90, 60)},
    evaporation.vapour_pressure_from_extremes_kpa: {"highest_rh_pct": PER_CENT, "lowest_rh_pct": PER_CENT},
    evaporation.vapour_pressure_from_mean_kpa: {"mean_rh_pct": PER_CENT},
    evaporation.solar_declination_rad: {"day_of_year": Limits(1, 366)},
    evaporation.sunset_angle_rad: {"latitude_deg": Limits(-89.9, 89.9)},
    evaporation.radiation_from_sunshine_mj_m2: {
        "sunshine_h": NOT_BELOW_ZERO,
        "extraterrestrial_mj_m2": NOT_BELOW_ZERO,
        "daylight_h": ABOVE_ZERO,
    },
    evaporation.net_longwave_mj_m2: {"clear_sky_mj_m2": ABOVE_ZERO},
    evaporation.wind_at_2_m_m_s: {"wind_m_s": NOT_BELOW_ZERO, "height_m": Limits(0.1, 100)},
    evaporation.reference_evaporation_mm: {"vapour_pressure_kpa": NOT_BELOW_ZERO, "wind_2_m_m_s": NOT_BELOW_ZERO},
    green_speed.seconds_at_27_m: {"seconds": ABOVE_ZERO, "distance_m": ABOVE_ZERO},
    green_speed.deceleration_m_s2: {"seconds": ABOVE_ZERO, "distance_m": ABOVE_ZERO},
    green_speed.rolling_coefficient: {"deceleration_m_s2": ABOVE_ZERO},
    green_speed.brede_speed: {"up": ABOVE_ZERO, "down": ABOVE_ZERO},
    mlsn.mlsn_need_g_m2: {"use_g_m2": NOT_BELOW_ZERO, "guideline_mg_kg": NOT_BELOW_ZERO, "soil_mg_kg": NOT_BELOW_ZERO},
    mlsn.nutrient_use_g_m2: {
        "nitrogen_g_m2": NOT_BELOW_ZERO,
        "nutrient_parts": NOT_BELOW_ZERO,
        "nitrogen_parts": ABOVE_ZERO,
    },
    nutrients.nutrient_g_m2: {"product_kg": NOT_BELOW_ZERO, "share_pct": PER_CENT, "area_m2": ABOVE_ZERO},
    nutrients.product_for_nutrient_kg: {"nutrient_kg": NOT_BELOW_ZERO, "share_pct": ABOVE_ZERO},
    nutrients.price_per_kg: {"price": NOT_BELOW_ZERO, "product_kg": ABOVE_ZERO, "share_pct": ABOVE_ZERO},
    nutrients.released_g_m2: {
        "applied_g_m2": NOT_BELOW_ZERO,
        "weeks_since": NOT_BELOW_ZERO,
        "release_weeks": ABOVE_ZERO,
    },
    nutrients.removed_g_m2: {"clippings_dry_g_m2": NOT_BELOW_ZERO, "leaf_content_pct": PER_CENT},
    nutrients.over_single_dose_g_m2: {"dose_g_m2": NOT_BELOW_ZERO},
    organic_matter.loss_on_ignition_pct: {"dry_g": ABOVE_ZERO, "burnt_g": NOT_BELOW_ZERO},
    organic_matter.layer_bulk_density_t_m3: {"om_pct": PER_CENT},
    organic_matter.core_volume_cm3: {"bore_mm": NOT_BELOW_ZERO, "depth_mm": NOT_BELOW_ZERO},
    organic_matter.sampling_half_width: {"core_standard_deviation": NOT_BELOW_ZERO, "cores": ABOVE_ZERO},
    soil.mg_kg_from_mg_l: {"mg_l": NOT_BELOW_ZERO, "scooped_density_kg_l": ABOVE_ZERO},
    soil.g_m2_from_mg_kg: {"depth_mm": ABOVE_ZERO, "bulk_density_t_m3": ABOVE_ZERO},
    soil.mg_kg_from_g_m2: {"depth_mm": ABOVE_ZERO, "bulk_density_t_m3": ABOVE_ZERO},
    soil.mg_kg_from_lb_acre: {"lb_acre": NOT_BELOW_ZERO},
    soil.cation_meq_100g: {"mg_kg": NOT_BELOW_ZERO},
    surface.infiltration_mm_h: {"volume_ml": NOT_BELOW_ZERO, "ring_mm": ABOVE_ZERO, "minutes": ABOVE_ZERO},
    surface.falling_head_mm_h: {"head_end_mm": NOT_BELOW_ZERO, "minutes": ABOVE_ZERO},
    sward.cover_pct: {"hits": NOT_BELOW_ZERO, "points": ABOVE_ZERO},
    weather.nitrogen_ceiling_g_m2: {"growth_potential": Limits(0, 1), "monthly_most_g_m2": NOT_BELOW_ZERO},
    weather.dollar_spot_probability: {"mean_c": Limits(10, 35), "relative_humidity_pct": PER_CENT},
    weather.turf_evaporation_mm: {"reference_mm": NOT_BELOW_ZERO, "crop_coefficient": NOT_BELOW_ZERO},
    weather.irrigation_need_mm: {
        "turf_evaporation_mm": NOT_BELOW_ZERO,
        "rain_mm": NOT_BELOW_ZERO,
        "effective_rain_share": Limits(0, 1),
        "efficiency": Limits(0, 1, open_below=True),
    },
    work.vibration_points: {"magnitude_m_s2": NOT_BELOW_ZERO, "hours": NOT_BELOW_ZERO},
    work.daily_exposure_m_s2: {"magnitude_m_s2": NOT_BELOW_ZERO, "hours": NOT_BELOW_ZERO},
    work.hours_to_points: {"magnitude_m_s2": ABOVE_ZERO, "points": NOT_BELOW_ZERO},
    work.person_hours: {"hours": NOT_BELOW_ZERO, "people": NOT_BELOW_ZERO},
    work.job_cost: {
        "person_hours": NOT_BELOW_ZERO,
        "rate": NOT_BELOW_ZERO,
        "material": NOT_BELOW_ZERO,
        "other": NOT_BELOW_ZERO,
    },
    work.cost_per_m2: {"cost": NOT_BELOW_ZERO, "area_m2": ABOVE_ZERO},
}
"""By physics (a mass is not below zero, a share of 100 % is all) and by the range the source gives."""


def given(function, name, value):
    """The sample of a function with another value for one input."""
    names = list(inspect.signature(function).parameters)
    arguments = list(SAMPLES[function])
    arguments[names.index(name)] = value
    return call(function, arguments)


CASES = [
    pytest.param(function, name, limits, id=f"{function.__name__} {name}")
    for function, inputs in LIMITS.items()
    for name, limits in inputs.items()
]


@pytest.mark.parametrize(("function", "name", "limits"), CASES)
def test_the_limits_are_taken_and_nothing_beyond(function, name, limits):
    assert math.isfinite(given(function, name, limits.low + (NEXT if limits.open_below else 0)))
    with pytest.raises(ValueError, match="must"):
        given(function, name, limits.low - (0 if limits.open_below else NEXT))
    if limits.high < math.inf:
        assert math.isfinite(given(function, name, limits.high))
        with pytest.raises(ValueError, match="must lie between"):
            given(function, name, limits.high + NEXT)
