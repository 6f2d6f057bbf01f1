"""Organic matter against published figures, among them one worked example of ten steps reproduced whole."""

import numpy as np
import pytest
from published_checks import CASE, check, given
from scipy.stats import norm

from pipeline.agronomy.disturbance import tined_area_pct, tined_volume_l_m2
from pipeline.agronomy.organic_matter import (
    combine_layers_pct,
    core_volume_cm3,
    layer_bulk_density_t_m3,
    loss_on_ignition_pct,
    mineralised_n_g_m2,
    net_accumulation_pct,
    om_after_sand_pct,
    sampling_half_width,
    sand_for_clippings_mm,
    sand_for_drop_mm,
    variation_pct,
)
from pipeline.agronomy.profile import Layer, Profile, after_coring, after_sand
from pipeline.agronomy.units import pct_from_g_kg

pytestmark = pytest.mark.published

DENSITY = "ATC om246 and soil bulk density"
N_SUM = "ATC 2020-12-02"
CORES = "ATC 2020-07-06"
HINT = "cricketmedium.com equation"


@pytest.mark.parametrize(
    CASE,
    [
        check("3.1", loss_on_ignition_pct, (50.0, 46.35), 7.30, 1e-9, "ASTM F1647 formula", "D"),
        check("3.1", pct_from_g_kg, (10,), 1.0, 1e-12, "definition"),
        check("3.4", layer_bulk_density_t_m3, (4.8,), 1.207, 0.0005, f"{DENSITY}, printed 1.2"),
        check("3.4", layer_bulk_density_t_m3, (3.1,), 1.312, 0.0005, f"{DENSITY}, printed 1.3"),
        check("3.4", combine_layers_pct, ([4.8, 3.1], [20, 20]), 3.92, 0.01, DENSITY),
        check("3.4", combine_layers_pct, ([12.7, 3.8, 2.4], [20] * 3), 5.49, 0.005, f"{DENSITY} (T1)"),
        check("3.6", sand_for_drop_mm, (6.7, 6.2377, 20), 1.000, 0.0005, "derived", "D"),
        check("3.6", sand_for_drop_mm, (8, 6, 20), 3.66, 0.005, "derived", "D"),
        check("3.6", om_after_sand_pct, (7.0, 20, 6), 4.34, 0.005, "derived", "D"),
        check("3.6", net_accumulation_pct, (7.0, 7.4, 6, 20), 3.06, 0.005, "derived", "D"),
        check("3.8", variation_pct, (58, 6.5), 11, 0.5, f"{CORES}, CV 11 %"),
        check("3.8", core_volume_cm3, (20, 20), 6.28, 0.005, CORES),
        check("3.8", core_volume_cm3, (30, 20), 14.1, 0.05, CORES),
        check("3.8", core_volume_cm3, (40, 20), 25.1, 0.05, CORES),
        check("3.9", mineralised_n_g_m2, (1.4, 100, 1.5, 2.5), 2.6, 0.05, N_SUM),
        check("3.9", mineralised_n_g_m2, (1.4, 100, 1.5, 1), 1.05, 0.005, N_SUM),
        check("3.9", mineralised_n_g_m2, (1.4, 100, 1.5, 4), 4.2, 0.005, N_SUM),
        check("3.9", mineralised_n_g_m2, (1.4, 100, 1.5, 100), 105, 0.01, f"{N_SUM}, all of the N"),
        check("2 hint", sand_for_clippings_mm, (5, 8), 6.10, 0.005, HINT, "D"),
        check("2 hint", sand_for_clippings_mm, (3, 6), 4.98, 0.005, HINT, "D"),
        check("2 hint", sand_for_clippings_mm, (4, 10), 3.82, 0.005, HINT, "D"),
        check("8", variation_pct, (372, 44), 11.8, 0.05, "NZSTI cricket pitches (Clegg)"),
        check("8", variation_pct, (553, 93), 16.8, 0.05, "NZSTI cricket pitches (Clegg)"),
        check("8", variation_pct, (428, 137), 32.0, 0.05, "NZSTI cricket pitches (Clegg)"),
        check("8", variation_pct, (438, 58), 13.2, 0.05, "NZSTI cricket pitches (Clegg)"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(("cores", "printed"), [(5, 9), (10, 6), (15, 5)], ids=lambda v: f"{v}")
def test_sampling_error_of_atc_2020_07_06(cores, printed):
    """One spread between cores, 12.2 g/kg, reproduces all three printed half-widths at 89 %."""
    assert round(sampling_half_width(12.2, cores, 0.89)) == printed


@pytest.mark.parametrize("level", [0.5, 0.89, 0.95])
def test_sampling_half_width_agrees_with_scipy(level):
    low, high = norm.interval(level, loc=0.0, scale=3.0 / np.sqrt(7))
    assert sampling_half_width(3.0, 7, level) == pytest.approx((high - low) / 2, rel=1e-9)


def test_layers_agree_with_numpy_weighted_mean():
    om, thickness = [9.6, 6.8, 5.1, 4.2], [20.0, 20.0, 20.0, 30.0]
    weights = layer_bulk_density_t_m3(np.array(om)) * np.array(thickness)
    assert combine_layers_pct(om, thickness) == pytest.approx(np.average(om, weights=weights), rel=1e-12)


ATC_EXAMPLE = "ATC 2021-04-23 hollow tine, solid tine, topdress"
AREA_PCT = tined_area_pct(12, 50, 50)
SAND_MM = tined_volume_l_m2(AREA_PCT, 70)
BEFORE = Profile.of([6.7, 3.1, 2.0, 1.6], [20.0] * 4)
CORED = after_coring(BEFORE, AREA_PCT, 70, "open")
FILLED = after_coring(BEFORE, AREA_PCT, 70, "sand")


def top_20_after_each_mm(sand: int) -> float:
    """The author mixes the top 2 cm between one millimetre and the next."""
    om = 6.7
    for _ in range(sand):
        om = om_after_sand_pct(om, 20, 1)
    return om


EXAMPLE = [
    ("mass of the top 7 cm, g/m²", lambda: 1000 * BEFORE.top(70).mass_kg_m2, 90_429, 1),
    ("organic matter in it, g/m²", lambda: 1000 * BEFORE.top(70).organic_kg_m2, 3_082, 1),
    ("organic matter in it, %", lambda: BEFORE.top(70).om_pct, 3.4, 0.05),
    ("cores taken out, cm³/m²", lambda: 1000 * SAND_MM, 3_167, 1),
    ("cores taken out, g/m²", lambda: 1000 * (BEFORE.mass_kg_m2 - CORED.mass_kg_m2), 4_092, 2),
    ("organic matter taken out, g/m²", lambda: 1000 * (BEFORE.organic_kg_m2 - CORED.organic_kg_m2), 139, 2),
    ("after coring, no sand, %", lambda: CORED.top(70).om_pct, 3.408, 0.0005),
    (
        "after coring, holes collapsed, %",
        lambda: after_coring(BEFORE, AREA_PCT, 70, "collapsed").top(70).om_pct,
        3.318,
        0.001,
    ),
    ("cored and filled with sand, %", lambda: FILLED.top(70).om_pct, 3.224, 0.001),
    ("solid tine, holes filled with sand, %", lambda: after_sand(BEFORE, SAND_MM).top(70).om_pct, 3.312, 0.001),
    ("surface sand only, 3.167 mm, %", lambda: after_sand(BEFORE, 3.167).top(70).om_pct, 3.3, 0.05),
    ("top 2 cm, cored and filled, %", lambda: FILLED.top(20).om_pct, 6.281, 0.001),
    ("top 2 cm, 1 mm of sand, %", lambda: top_20_after_each_mm(1), 6.238, 0.001),
    ("top 2 cm, 2 mm of sand, %", lambda: top_20_after_each_mm(2), 5.815, 0.001),
    ("top 2 cm, 2 mm of sand at once, %", lambda: after_sand(BEFORE, 2).top(20).om_pct, 5.8, 0.05),
]


@pytest.mark.parametrize(
    ("figure", "expected", "tolerance"),
    [step[1:] for step in EXAMPLE],
    ids=[f"3.5 {step[0]} (published: {ATC_EXAMPLE})" for step in EXAMPLE],
)
def test_the_worked_example_whole(figure, expected, tolerance):
    assert figure() == pytest.approx(expected, abs=tolerance)


def test_taking_cores_without_sand_leaves_the_percentage_exactly_as_it_was():
    assert CORED.top(70).om_pct == pytest.approx(BEFORE.top(70).om_pct, rel=1e-14)
    assert CORED.top(20).om_pct == pytest.approx(6.7, rel=1e-14)


def test_a_layer_and_a_profile_say_the_same():
    layer = Layer.of(4.8, 20)
    assert layer.mass_kg_m2 == pytest.approx(1.207 * 20, abs=0.01)
    assert Profile((layer, Layer.of(3.1, 20))).om_pct == pytest.approx(3.915, abs=0.0005)
