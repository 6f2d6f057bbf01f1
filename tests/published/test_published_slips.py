"""Published figures that fail their own arithmetic: the tool must give the right one, not the printed one."""

import pytest

from pipeline.agronomy.disturbance import (
    holes_per_m2,
    tined_area_pct_from_density,
    tined_volume_l_m2,
)
from pipeline.agronomy.dressing import mass_kg_m2
from pipeline.agronomy.soil.organic_matter import combine_layers_pct, layer_bulk_density_t_m3
from pipeline.agronomy.soil.reference import guideline
from pipeline.agronomy.units import KG_HA_PER_LB_ACRE, KG_PER_LB, M2_PER_ACRE, M_PER_FOOT, MM_PER_INCH
from pipeline.agronomy.weather import growing_degree_days, growth_potential
from tests.outside_checks import outside


def half_inch_pct(along: float, across: float) -> float:
    return tined_area_pct_from_density(0.5 * MM_PER_INCH, holes_per_m2(along * MM_PER_INCH, across * MM_PER_INCH))


def sand_on(om_pct: float, sand_mm: float) -> float:
    """Organic matter of the top 20 mm once sand lies on it: the sand and what is left of the layer."""
    return combine_layers_pct([0.0, om_pct], [sand_mm, 20.0 - sand_mm])


SLIPS = [
    ("T1 layers, ATC bulk density", lambda: combine_layers_pct([12.7, 3.8, 2.4], [20] * 3), 5.49, 0.005, 5.7),
    (
        "T2 a litre of sand at 100 lb/ft³, MAP topdressing paper table 1",
        lambda: mass_kg_m2(1.0, 100 * KG_PER_LB / M_PER_FOOT**3 / 1000),
        1.602,
        0.0005,
        1.54,
    ),
    ("T3 kg/ha in lb/acre, IFA and SGS tables", lambda: 1 / KG_HA_PER_LB_ACRE, 0.8922, 0.00005, 0.9822),
    ("T4 5 mm in inches, Comba 2013 (3/8 in)", lambda: 5 / MM_PER_INCH, 0.197, 0.0005, 0.375),
    ("T5 half-inch tines, greystone 2012", lambda: half_inch_pct(1.60, 1.87), 6.56, 0.005, 6.59),
    (
        "T6 4 mm cores in cm³/m², ATC 2021-03-08",
        lambda: 1000 * tined_volume_l_m2(tined_area_pct_from_density(4, holes_per_m2(30, 30)), 30),
        418.9,
        0.05,
        422,
    ),
    ("T7 half-inch tines, wocc 2011", lambda: half_inch_pct(2, 1.33), 7.38, 0.005, 7.3),
    (
        "T7 two passes, wocc 2011",
        lambda: half_inch_pct(2, 1.33) + half_inch_pct(1.5, 1.33),
        17.22,
        0.005,
        17.1,
    ),
    ("T8 1 mm sand on 8 %, ATC 2019-08-08", lambda: sand_on(8.0, 1), 7.42, 0.005, 7.6),
    ("T8 10 mm sand on 8 %, ATC 2019-08-08", lambda: sand_on(8.0, 10), 3.22, 0.005, 4.0),
    ("T9 density of organic matter (kg/m³)", lambda: layer_bulk_density_t_m3(100.0), 0.22, 1e-9, 0.00022),
    ("T9 density of sand (kg/m³)", lambda: layer_bulk_density_t_m3(0.0), 1.56, 1e-9, 0.00156),
    ("T11 degree days in °F, kccgc 2013", lambda: growing_degree_days(54, 37, 32), 13.5, 1e-9, 14),
]


@pytest.mark.parametrize(("figure", "right", "tolerance", "printed"), [s[1:] for s in SLIPS], ids=[s[0] for s in SLIPS])
def test_the_right_figure_not_the_printed_one(figure, right, tolerance, printed):
    assert figure() == pytest.approx(right, abs=tolerance)
    assert figure() != pytest.approx(printed, abs=tolerance)


def test_T3_a_hectare_is_acres_not_yards():
    assert pytest.approx(2.471, abs=0.0005) == 10_000 / M2_PER_ACRE


@outside("figure", "MLSN reference sheet 2014 (331) and MLSN paper 2016 (348)")
def test_T10_both_published_calcium_guidelines_are_kept_apart_by_version():
    assert guideline("mlsn", "2014")["Ca"] == 331
    assert guideline("mlsn", "2016")["Ca"] == 348


def test_T12_the_two_forms_of_growth_potential_are_not_the_same_curve():
    assert growth_potential(20, "warm_season", "celsius") == pytest.approx(0.291, abs=0.0005)
    assert growth_potential(20, "warm_season", "fahrenheit") == pytest.approx(0.249, abs=0.0005)
