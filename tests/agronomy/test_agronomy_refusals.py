"""What only a mistake in our own code can pass in is refused with a plain sentence."""

import re

import pytest

from pipeline.agronomy import disturbance, dressing, evaporation, green_speed, maths, surface, sward, weather, work
from pipeline.agronomy.soil import nutrients, organic_matter, particle_size, reference, soil

CURVE = particle_size.Curve((0.25, 0.5, 1.0), (10, 60, 95))

REFUSALS = [
    (lambda: disturbance.holes_per_m2(-50, 50), "spacing along mm must be above zero, not -50"),
    (lambda: disturbance.holes_per_m2(float("nan"), 50), "spacing along mm must be above zero, not nan"),
    (lambda: disturbance.tined_volume_l_m2(5, -1), "depth mm must not be below zero, not -1"),
    (lambda: disturbance.bore_mm(4, 2.5, "outside", "inside"), "inside diameter mm must be above zero, not -1"),
    (lambda: disturbance.bore_mm(4, 1, "inner", "inside"), "known must be one of inside, outside, not 'inner'"),
    (lambda: dressing.depth_mm(3, 0), "bulk density t m3 must be above zero, not 0"),
    (lambda: dressing.dry_mass_kg(10, 120, "wet"), "moisture pct must lie between 0 and 100, not 120"),
    (lambda: dressing.dry_mass_kg(10, 6, "moist"), "basis must be one of dry, wet, not 'moist'"),
    (lambda: dressing.part_of_mix_kg(10, 101), "share pct must lie between 0 and 100, not 101"),
    (lambda: nutrients.element_from_oxide(1, "SiO2"), "oxide must be one of P2O5, K2O"),
    (lambda: organic_matter.layer_bulk_density_t_m3(101), "om pct must lie between 0 and 100, not 101"),
    (lambda: organic_matter.combine_layers_pct([], []), "each layer needs its organic matter"),
    (lambda: organic_matter.combine_layers_pct([3.0], [20, 20]), "each layer needs its organic matter"),
    (lambda: organic_matter.sampling_half_width(5, 5, 1.5), "level must lie between 0 and 1, not 1.5"),
    (lambda: soil.uk_index(-1, "P"), "mg l must not be below zero, not -1"),
    (lambda: soil.uk_index(1, "S"), "nutrient must be one of P, K, Mg, not 'S'"),
    (lambda: soil.cec_by_summation({}, "exact"), "sum of cations must be above zero, not 0"),
    (lambda: soil.cation_meq_100g(1, "Ca", "round"), "equivalents must be one of exact, rounded, rounded_k_391"),
    (lambda: reference.guideline("mlsn", "1999"), "there is no mlsn set '1999'; there are 2014, 2016"),
    (lambda: particle_size.Curve((1.0,), (50,)), "a sieve curve needs two sizes at least"),
    (lambda: particle_size.Curve((1.0, 0.5), (50, 60)), "sieve sizes must rise"),
    (lambda: particle_size.Curve((0.5, 1.0), (60, 50)), "more cannot pass a finer sieve than a coarser one"),
    (lambda: particle_size.Curve((0.0, 1.0), (0, 50)), "sieve size mm must be above zero, not 0"),
    (lambda: particle_size.curve_from_retained([0.5, 1.0], [60, 60], 5, 100), "the sieves hold 125 g of a sample"),
    (lambda: particle_size.d_value_mm(CURVE, 50, "cubic"), "interpolation must be one of log_linear, linear"),
    (lambda: particle_size.fraction_pct(CURVE, 0.5, 0.25, "linear"), "width of the fraction mm must be above zero"),
    (lambda: green_speed.seconds_at_27_m(0, 27), "seconds must be above zero, not 0"),
    (lambda: green_speed.stimpmeter_reading([], [1]), "a Stimpmeter reading needs balls both ways"),
    (lambda: green_speed.stimpmeter_reading([-1], [1]), "distance mm must be above zero, not -1"),
    (lambda: surface.level_summary([1.0], 6), "levels need two points at least"),
    (lambda: surface.falling_head_mm_h(85, 100, 10), "fall mm must not be below zero, not -15"),
    (lambda: sward.cover_pct(1, 0), "points must be above zero, not 0"),
    (lambda: sward.clumping([6], [5]), "hits must lie between 0 and 5, not 6"),
    (lambda: weather.growing_degree_days(5, 10, 0), "range c must not be below zero, not -5"),
    (lambda: weather.dollar_spot_probability(5, 80), "mean c must lie between 10 and 35, not 5"),
    (lambda: weather.growth_potential(5, "cool", "celsius"), "grass must be one of cool_season, warm_season"),
    (lambda: weather.irrigation_need_mm(5, 0, 0.5, 0), "efficiency must be above zero, not 0"),
    (lambda: evaporation.sunset_angle_rad(91, 1), "latitude deg must lie between -89.9 and 89.9, not 91"),
    (lambda: weather.dollar_spot_probability(20, 100.5), "relative humidity pct must lie between 0 and 100"),
    (lambda: work.vibration_points(-1, 2), "magnitude m s2 must not be below zero, not -1"),
    (lambda: maths.require_positive(a=float("nan")), "a must be above zero, not nan"),
]


@pytest.mark.parametrize(("act", "sentence"), REFUSALS, ids=[r[1] for r in REFUSALS])
def test_refused_with_a_plain_sentence(act, sentence):
    with pytest.raises(ValueError, match="^" + re.escape(sentence)):
        act()


def test_the_limits_themselves_are_allowed():
    assert 0 < weather.dollar_spot_probability(10, 0) < weather.dollar_spot_probability(35, 100) < 1


def test_sieves_that_do_not_reach_give_no_figure_instead_of_a_guess():
    assert particle_size.d_value_mm(CURVE, 5, "log_linear") is None
    assert particle_size.d_value_mm(CURVE, 99, "log_linear") is None
    assert particle_size.d_value_mm(CURVE, 10, "log_linear") == 0.25
    assert particle_size.uniformity_coefficient(particle_size.Curve((0.25, 1.0), (20, 95)), "linear") is None
    assert particle_size.passing_at_pct(CURVE, 0.1, "linear") is None
    assert particle_size.fraction_pct(CURVE, 0.1, 0.5, "linear") is None
    match = particle_size.dressing_match(CURVE, CURVE, "linear")
    assert match.class_gap_pct["0.15–0.25 mm"] is None


def test_a_check_without_a_figure_or_a_limit_has_no_verdict():
    assert particle_size.Check("x", None, 1, 2, "s").holds is None
    assert particle_size.Check("x", 5, None, None, "s").holds is None
    assert particle_size.Check("x", 5, 6, None, "s").holds is False
    assert particle_size.Check("x", 5, None, 4, "s").holds is False
    assert particle_size.Check("x", 5, 5, 5, "s").holds is True


def test_all_of_a_sample_is_finer_than_the_largest_sieve_and_none_finer_than_nothing():
    whole = particle_size.Curve((0.25, 1.0), (0, 100))
    assert particle_size.passing_at_pct(whole, 5.0, "linear") == 100
    assert particle_size.passing_at_pct(whole, 0.1, "linear") == 0
    assert particle_size.passing_at_pct(whole, 0.0, "linear") == 0
