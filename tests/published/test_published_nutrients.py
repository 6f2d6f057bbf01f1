"""Fertiliser arithmetic against published factors and worked programmes."""

import pytest
from published_checks import CASE, check, given

from pipeline.agronomy.soil.nutrients import (
    LEAF_CONTENT_PCT,
    SOLUBLE_N_LIMIT_G_M2,
    element_from_oxide,
    kg_ha,
    nutrient_g_m2,
    over_single_dose_g_m2,
    price_per_kg,
    product_for_nutrient_kg,
    released_g_m2,
    removed_g_m2,
)
from pipeline.agronomy.units import KG_PER_LB
from tests.outside_checks import outside

VT = "Virginia Tech SPES-201NP"
IFA = "IFA conversion factors"
GMA = "GMA fertiliser programmes"


@pytest.mark.parametrize(
    CASE,
    [
        check("standard", element_from_oxide, (1, "P2O5"), 0.43643, 5e-6, "IUPAC weights"),
        check("figure", element_from_oxide, (1, "P2O5"), 0.4365, 5e-4, VT),
        check("figure", element_from_oxide, (1, "P2O5"), 0.4364, 5e-4, IFA),
        check("own", element_from_oxide, (2.29, "P2O5"), 1, 0.005, "trade divisor 2.29, no source at hand"),
        check("standard", element_from_oxide, (1, "K2O"), 0.83015, 5e-6, "IUPAC weights"),
        check("figure", element_from_oxide, (1, "K2O"), 0.8301, 5e-4, VT),
        check("figure", element_from_oxide, (1, "K2O"), 0.8302, 5e-4, IFA),
        check("own", element_from_oxide, (1.2, "K2O"), 1, 0.005, "trade divisor 1.2, no source at hand"),
        check("standard", element_from_oxide, (1, "MgO"), 0.60304, 5e-6, "IUPAC weights"),
        check("figure", element_from_oxide, (1, "MgO"), 0.6032, 5e-4, IFA),
        check("own", element_from_oxide, (1.66, "MgO"), 1, 0.005, "trade divisor 1.66, no source at hand"),
        check("standard", element_from_oxide, (1, "SO3"), 0.40046, 5e-6, "IUPAC weights"),
        check("figure", element_from_oxide, (2.5, "SO3"), 1, 0.005, "÷ 2.5, a Swedish laboratory"),
        check("figure", element_from_oxide, (1, "CaO"), 0.7147, 5e-4, IFA),
        check("standard", element_from_oxide, (1, "Na2O"), 0.74186, 5e-6, "IUPAC weights"),
        check("standard", element_from_oxide, (1, "Fe2O3"), 0.69943, 5e-6, "IUPAC weights"),
        check("standard", element_from_oxide, (1, "MnO"), 0.77446, 5e-6, "IUPAC weights"),
        check("figure", nutrient_g_m2, (0.050, 14, 1), 7.0, 1e-9, f"{GMA}, early April"),
        check("figure", nutrient_g_m2, (0.035, 8, 1), 2.8, 1e-9, f"{GMA}, May and June"),
        check("figure", kg_ha, (16,), 160, 1e-9, f"{GMA}, 16 g/m² a year"),
        check("figure", product_for_nutrient_kg, (1, 16), 6.25, 1e-9, "a US lawn guide, in lb"),
        check("figure", nutrient_g_m2, (50, 20, 1000), 10, 1e-9, "a US seller's table, 50 lb of 20-6-16 in lb"),
        check("own", nutrient_g_m2, (2, 46, 1000), 0.92, 1e-9, "definition, 46-0-0 in lb"),
        check("own", nutrient_g_m2, (20, 14, 400), 7.00, 0.005, "constructed"),
        check("own", element_from_oxide, (1.5, "P2O5"), 0.655, 0.0005, "constructed"),
        check("own", element_from_oxide, (3.5, "K2O"), 2.906, 0.0005, "constructed"),
        check("own", over_single_dose_g_m2, (5.0,), 0.118, 0.0005, "1 lb N/1000 ft², New York leaflet"),
        check("own", price_per_kg, (28.0, 20, 14), 10.0, 1e-9, "definition"),
        check("own", released_g_m2, (7.0, 6, 12), 3.5, 1e-9, "even release"),
        check("own", released_g_m2, (7.0, 20, 12), 7.0, 1e-9, "even release"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@outside("worked example", "GMA, Fertiliser programmes: nitrogen, running totals 7.0, 9.8, 12.6")
def test_the_gma_programme_runs_up_to_its_printed_totals():
    steps = [nutrient_g_m2(0.050, 14, 1), nutrient_g_m2(0.035, 8, 1), nutrient_g_m2(0.035, 8, 1)]
    assert steps[0] == pytest.approx(7.0)
    assert sum(steps[:2]) == pytest.approx(9.8)
    assert sum(steps) == pytest.approx(12.6)


def test_a_pound_of_nitrogen_in_us_units_and_in_si_is_the_same_dose():
    """16-4-8 at 6.25 lb on 1000 ft²: through pounds and through kg."""
    through_si = nutrient_g_m2(6.25 * KG_PER_LB, 16, 92.90304)
    assert through_si == pytest.approx(SOLUBLE_N_LIMIT_G_M2, rel=1e-12)


@outside("figure", "ATC seminar 2014-01")
def test_leaf_contents_are_in_the_published_ratio_of_8_1_4():
    """ATC seminar 2014-01 prints N:P:K 8:1:4 beside N 4 %, K 2 %, P 0.5 %."""
    assert LEAF_CONTENT_PCT == {"N": 4, "K": 2, "P": 0.5, "Ca": 0.45, "Mg": 0.2}
    ratio = [LEAF_CONTENT_PCT[e] / LEAF_CONTENT_PCT["P"] for e in ("N", "P", "K")]
    assert ratio == pytest.approx([8, 1, 4])


@outside("figure", "greenscare.wpbowls.co.za, understanding fertilizers: 50 kg N in 1.1 to 1.4 t")
def test_nitrogen_in_clippings_is_of_the_published_size():
    """South African bowls greens: about 50 kg N in 1.1 to 1.4 t of dry matter; 4 % gives 44 to 56 kg."""
    low, high = removed_g_m2(1_100_000, 4.0) / 1000, removed_g_m2(1_400_000, 4.0) / 1000
    assert low <= 50 <= high
