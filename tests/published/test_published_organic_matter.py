"""Organic matter against published figures, among them one worked example of ten steps reproduced whole."""

import numpy as np
import pytest
from published_checks import CASE, check, given
from scipy.stats import norm

from pipeline.agronomy.disturbance import holes_per_m2, tined_area_pct_from_density, tined_volume_l_m2
from pipeline.agronomy.soil.organic_matter import (
    combine_layers_pct,
    core_volume_cm3,
    layer_bulk_density_t_m3,
    loss_on_ignition_pct,
    sampling_half_width,
)
from tests.outside_checks import outside

DENSITY = "ATC om246 and soil bulk density"
CORES = "ATC 2020-07-06"


@pytest.mark.parametrize(
    CASE,
    [
        check("own", loss_on_ignition_pct, (50.0, 46.35), 7.30, 1e-9, "ASTM F1647 formula"),
        check("figure", layer_bulk_density_t_m3, (4.8,), 1.2, 0.05, DENSITY),
        check("figure", layer_bulk_density_t_m3, (3.1,), 1.3, 0.05, DENSITY),
        check("figure", combine_layers_pct, ([4.8, 3.1], [20, 20]), 3.92, 0.01, DENSITY),
        check("own", combine_layers_pct, ([12.7, 3.8, 2.4], [20] * 3), 5.49, 0.005, f"{DENSITY} (T1)"),
        check("figure", core_volume_cm3, (20, 20), 6.28, 0.005, CORES),
        check("figure", core_volume_cm3, (30, 20), 14.1, 0.05, CORES),
        check("figure", core_volume_cm3, (40, 20), 25.1, 0.05, CORES),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@outside("figure", "ATC 2020-07-06 and 2019-07-29: half widths of 5, 10 and 15 cores")
@pytest.mark.parametrize(("cores", "printed"), [(5, 9), (10, 6), (15, 5)], ids=lambda v: f"{v}")
def test_sampling_error_of_atc_2020_07_06(cores, printed):
    """One spread between cores, 12.2 g/kg, reproduces all three printed half-widths at 89 %."""
    assert round(sampling_half_width(12.2, cores, 0.89)) == printed


@outside("library", "scipy.stats.norm.interval")
@pytest.mark.parametrize("level", [0.5, 0.89, 0.95])
def test_sampling_half_width_agrees_with_scipy(level):
    low, high = norm.interval(level, loc=0.0, scale=3.0 / np.sqrt(7))
    assert sampling_half_width(3.0, 7, level) == pytest.approx((high - low) / 2, rel=1e-9)


def test_layers_agree_with_numpy_weighted_mean():
    om, thickness = [9.6, 6.8, 5.1, 4.2], [20.0, 20.0, 20.0, 30.0]
    weights = layer_bulk_density_t_m3(np.array(om)) * np.array(thickness)
    assert combine_layers_pct(om, thickness) == pytest.approx(np.average(om, weights=weights), rel=1e-12)


ATC_EXAMPLE = "ATC 2021-04-23 hollow tine, solid tine, topdress"
OM = [6.7, 3.1, 2.0, 1.6]
TAKEN = tined_area_pct_from_density(12, holes_per_m2(50, 50)) / 100
SAND_MM = tined_volume_l_m2(100 * TAKEN, 70)
TOP_70 = [20.0, 20.0, 20.0, 10.0]
LEFT = [(1 - TAKEN) * thickness for thickness in TOP_70]


def kg_m2(thickness: list[float]) -> float:
    return sum(layer_bulk_density_t_m3(om) * mm for om, mm in zip(OM, thickness, strict=True))


def organic_kg_m2(thickness: list[float]) -> float:
    return kg_m2(thickness) * combine_layers_pct(OM, thickness) / 100


def with_sand_pct(sand_mm: float, om: list[float], thickness: list[float]) -> float:
    """Organic matter of layers together with sand, which has none."""
    return combine_layers_pct([0.0, *om], [sand_mm, *thickness])


def top_20_after_each_mm(sand: int) -> float:
    """The author mixes the top 2 cm between one millimetre and the next."""
    om = 6.7
    for _ in range(sand):
        om = with_sand_pct(1.0, [om], [19.0])
    return om


EXAMPLE = [
    ("mass of the top 7 cm, g/m²", lambda: 1000 * kg_m2(TOP_70), (90_429, 1), (90_428.9, 0.05)),
    ("organic matter in it, g/m²", lambda: 1000 * organic_kg_m2(TOP_70), (3_082, 1), (3_081.8, 0.05)),
    ("organic matter in it, %", lambda: combine_layers_pct(OM, TOP_70), (3.4, 0.05), (3.408, 5e-4)),
    ("cores taken out, cm³/m²", lambda: 1000 * SAND_MM, (3_167, 1), (3_166.7, 0.05)),
    ("cores taken out, g/m²", lambda: 1000 * (kg_m2(TOP_70) - kg_m2(LEFT)), (4_092, 2), (4_090.9, 0.05)),
    (
        "organic matter taken out, g/m²",
        lambda: 1000 * (organic_kg_m2(TOP_70) - organic_kg_m2(LEFT)),
        (139, 2),
        (139.4, 0.05),
    ),
    ("after coring, no sand, %", lambda: combine_layers_pct(OM, LEFT), (3.4, 0.05), (3.408, 5e-4)),
    (
        "after coring, holes collapsed, %",
        lambda: combine_layers_pct([*OM, 1.6], [*LEFT, SAND_MM]),  # as much comes up from below as went out
        (3.318, 0.001),
        (3.3184, 5e-5),
    ),
    ("cored and filled with sand, %", lambda: with_sand_pct(SAND_MM, OM, LEFT), (3.2, 0.05), (3.224, 5e-4)),
    (
        "solid tine, holes filled with sand, %",
        lambda: with_sand_pct(SAND_MM, OM, [20.0, 20.0, 20.0, 10.0 - SAND_MM]),
        (3.312, 0.001),
        (3.3123, 5e-5),
    ),
    (
        "surface sand only, 3.167 mm, %",
        lambda: with_sand_pct(3.167, OM, [20.0, 20.0, 20.0, 10.0 - 3.167]),
        (3.3, 0.05),
        (3.312, 5e-4),
    ),
    (
        "top 2 cm, cored and filled, %",
        lambda: with_sand_pct(20 * TAKEN, [6.7], [20 * (1 - TAKEN)]),
        (6.3, 0.05),
        (6.281, 5e-4),
    ),
    ("top 2 cm, 1 mm of sand, %", lambda: top_20_after_each_mm(1), (6.2, 0.05), (6.238, 5e-4)),
    ("top 2 cm, 2 mm of sand, %", lambda: top_20_after_each_mm(2), (5.8, 0.05), (5.815, 5e-4)),
]


@outside("worked example", ATC_EXAMPLE)
@pytest.mark.parametrize(
    ("figure", "printed", "unrounded"), [step[1:] for step in EXAMPLE], ids=[step[0] for step in EXAMPLE]
)
def test_the_worked_example_whole(figure, printed, unrounded):
    """As printed, and as our own arithmetic goes on behind the printed digits, which nothing outside holds."""
    for expected, tolerance in (printed, unrounded):
        assert figure() == pytest.approx(expected, abs=tolerance)
