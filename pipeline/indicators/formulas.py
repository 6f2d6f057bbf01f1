"""Which published formulas stand behind which indicator: links into docs/method.md."""

from __future__ import annotations

import re

PAGE = "docs/method.md"
_TINES = (
    "disturbance.holes_per_m2",
    "disturbance.holes_per_m2_from_count",
    "disturbance.tined_area_pct_from_density",
    "disturbance.bore_mm",
)
_BLADES = ("disturbance.slit_area_pct",)
_DOSE = ("nutrients.nutrient_g_m2", "nutrients.element_from_oxide", "nutrients.kg_ha")
_POINTS = ("sward.cover_pct", "sward.clumping")
_LAYER = "organic_matter.layer_bulk_density_t_m3"
_DRESSED = ("dressing.dry_mass_kg", "dressing.mass_of_volume_kg")

FORMULAS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"organic_matter_pct", ("organic_matter.sampling_half_width",)),
    (r"organic_matter_trend_pct_year", ("kendall.mann_kendall", "trend.theil_sen", "trend.least_squares")),
    (r"organic_matter_gain_.*", (_LAYER, "accumulation.fit_balance")),
    (r"organic_matter_next_.*", (_LAYER, "accumulation.fit_balance", "forecast.forecast")),
    (r"dressing_(hold|reach)_mm_year", (_LAYER, "forecast.dressing_needed", "dressing.depth_mm")),
    (r"dressing_(hold|reach)_.*", (_LAYER, "forecast.dressing_needed")),
    (r"dressing_(of_)?kg_m2|dressing_t", _DRESSED),
    (r"dressing_mm", (*_DRESSED, "dressing.depth_mm")),
    (r"dressing_tray_kg_m2", ("dressing.tray_rate_kg_m2",)),
    (r"dressing_tray_mm", ("dressing.tray_depth_mm",)),
    (r"dressing_off_green_kg", ("dressing.tray_rate_kg_m2", "dressing.off_green_kg")),
    (r"(sand|soil)_kg_m2", (*_DRESSED, "dressing.part_of_mix_kg", "dressing.part_of_mix_by_volume_kg")),
    (r"nitrogen_price_kg", ("nutrients.nutrient_g_m2", "nutrients.price_per_kg")),
    (
        r"nitrogen_of_growth_.*",
        ("nutrients.nutrient_g_m2", "weather.growth_potential", "weather.nitrogen_ceiling_g_m2"),
    ),
    (r"nitrogen_dose_g_m2", ("nutrients.nutrient_g_m2",)),
    (r"nitrogen_quick_dose_g_m2", ("nutrients.nutrient_g_m2", "nutrients.over_single_dose_g_m2")),
    (r"nitrogen_to_come_kg_ha", ("nutrients.nutrient_g_m2", "nutrients.released_g_m2")),
    (r"\w+_removed_kg_ha", ("nutrients.removed_g_m2",)),
    (r"\w+_need_kg_ha", ("mlsn.nutrient_use_g_m2", "mlsn.mlsn_need_g_m2", "soil.g_m2_from_mg_kg")),
    (r"cec_meq_100g", ("soil.cation_meq_100g", "soil.cec_by_summation")),
    (r"\w+_kg_ha", _DOSE),
    (r"disturbed_pct|opened_pct", (*_TINES, *_BLADES)),
    (r"bladed_pct", _BLADES),
    (r"holes_m2", _TINES[:2]),
    (r"refill_sand_kg", (*_TINES, *_BLADES, "disturbance.tined_volume_l_m2", "disturbance.refill_sand_kg")),
    (r"disturbed_l_m2", (*_TINES, *_BLADES, "disturbance.tined_volume_l_m2")),
    (r"speed_(s|sd_s)", ("green_speed.seconds_at_27_m",)),
    (r"speed_change_s", ("green_speed.seconds_at_27_m", "effect.like_with_like")),
    (r"speed_trend_s_year", ("green_speed.seconds_at_27_m", "seasonal.seasonal_kendall")),
    (r"speed_(range|hands|timers)_s", ("green_speed.seconds_at_27_m", "green_speed.evenness_s")),
    (r"deceleration_m_s2", ("green_speed.deceleration_m_s2",)),
    (r"rolling_coefficient", ("green_speed.deceleration_m_s2", "green_speed.rolling_coefficient")),
    (r"stimp_m", ("green_speed.stimpmeter_reading",)),
    (r"stimp_level_m", ("green_speed.brede_speed",)),
    (r"(phosphorus|potassium|magnesium)_mg_l", ("soil.uk_index",)),
    (r"\w+_mg_kg", ("soil.mg_kg_from_mg_l", "soil.mg_kg_from_lb_acre")),
    (r"sieve_d\d+_mm", ("particle_size.d_value_mm",)),
    (r"sieve_uniformity", ("particle_size.d_value_mm", "particle_size.uniformity_coefficient")),
    (r"sieve_silt_clay_pct", ("particle_size.fraction_pct",)),
    (r"sieve_(coarse_medium|very_fine|medium)_pct", ("particle_size.band_checks",)),
    (r"gravel_\w+", ("particle_size.d_value_mm", "particle_size.layer_match")),
    (r"sieve_match", ("particle_size.d_value_mm", "particle_size.dressing_match")),
    (r"infiltration_(change_)?mm_h", ("surface.infiltration_mm_h", "surface.falling_head_mm_h")),
    (r"(cover|moss|weed|bare|disease|[a-z_]+_grass|desirable|bent|fescue|ryegrass|yorkshire_fog)_pct", _POINTS),
    (r"level_plane_sd_mm|tilt_mm", ("levels.fit_plane",)),
    (r"level_(deviation_mm|within_pct)", ("surface.level_summary",)),
    (r"level_gap_mm", ("straightedge.largest_gap",)),
    (r"level_low_t", ("lows.lows",)),
    (r"level_moved_(mm|pct)", ("level_change.level_change",)),
    (r"crown_\w+", ("crown.fit_quadratic", "crown.crown_of")),
    (r"growth_(month_)?days", ("weather.growth_potential",)),
    (r"degree_days_c", ("weather.growing_degree_days",)),
    (
        r"evaporation_mm",
        (
            "evaporation.extraterrestrial_radiation_mj_m2",
            "evaporation.reference_evaporation_mm",
            "evaporation.hargreaves_evaporation_mm",
        ),
    ),
    (r"water_balance_mm", ("weather.turf_evaporation_mm",)),
    (r"irrigation_need_mm", ("weather.turf_evaporation_mm", "weather.irrigation_need_mm")),
    (r"dollar_spot_days", ("weather.dollar_spot_probability",)),
    (r"vibration_a8_m_s2", ("work.daily_exposure_m_s2",)),
)
"""Pattern of whole indicator names → functions of pipeline/agronomy/ and pipeline/statistics/; the first that fits
holds. Sums, counts and means have none: their method sentence says all."""


def formulas(indicator: str) -> tuple[str, ...]:
    """The formulas behind an indicator, as "module.function"; none where the method sentence says it all."""
    return next((found for pattern, found in FORMULAS if re.fullmatch(pattern, indicator)), ())


def link(formula: str) -> str:
    """Where a formula is explained: the page and its heading."""
    return f"{PAGE}#{formula.replace('.', '')}"
