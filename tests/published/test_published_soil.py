"""Soil chemistry and MLSN against published figures."""

import pytest
from published_checks import CASE, check, given

from pipeline.agronomy.soil.mlsn import mlsn_need_g_m2, nutrient_use_g_m2
from pipeline.agronomy.soil.reference import guideline, one_set, table
from pipeline.agronomy.soil.soil import (
    cation_meq_100g,
    cec_by_summation,
    g_m2_from_mg_kg,
    mg_kg_from_g_m2,
    mg_kg_from_lb_acre,
    mg_kg_from_mg_l,
    uk_index,
)
from tests.outside_checks import outside

K_EXAMPLE = "ATC 2017-08-06"
SIX_INCHES = 152.4
CLEMSON = "Clemson cec-calculations"
AGROTEC = "an agronomy company"


@pytest.mark.parametrize(
    CASE,
    [
        check("figure", nutrient_use_g_m2, (30, 2, 1), 15, 1e-9, f"{K_EXAMPLE}, half of N"),
        check("figure", g_m2_from_mg_kg, (37 - 24, SIX_INCHES, 1.5), 3, 0.05, f"{K_EXAMPLE}, 13 ppm"),
        check("figure", mlsn_need_g_m2, (15, 37, 24, SIX_INCHES, 1.5), 18, 0.1, K_EXAMPLE),
        check("figure", mlsn_need_g_m2, (15, 37, 37, 100, 1.5), 15, 1e-9, "a greenkeeper's notes 2018-03"),
        check("figure", mlsn_need_g_m2, (15, 37, 400, 100, 1.5), 0, 1e-9, "ATC 2014-04-02: negative, none"),
        check("own", g_m2_from_mg_kg, (1, 100, 1.5), 0.15, 1e-12, "definition"),
        check("own", mg_kg_from_g_m2, (0.15, 100, 1.5), 1, 1e-12, "definition"),
        check("figure", mg_kg_from_lb_acre, (2, SIX_INCHES, 1.4711), 1, 5e-4, "2 million lb an acre, Merced"),
        check("own", mg_kg_from_mg_l, (100, 1.3), 76.9, 0.05, "definition"),
        check("figure", cation_meq_100g, (221 / 2, "K", "rounded_k_391"), 0.28, 0.005, CLEMSON),
        check("figure", cation_meq_100g, (28 / 2, "Mg", "rounded_k_391"), 0.12, 0.005, CLEMSON),
        check("figure", cation_meq_100g, (400 / 2, "Ca", "rounded_k_391"), 1.00, 0.005, CLEMSON),
        check("figure", cation_meq_100g, (12 / 2, "Na", "rounded_k_391"), 0.03, 0.005, CLEMSON),
        check("figure", cation_meq_100g, (1471, "Ca", "rounded"), 7.4, 0.05, "a crop wiki"),
        check("figure", cation_meq_100g, (379, "K", "rounded"), 0.972, 0.0005, AGROTEC),
        check("figure", cation_meq_100g, (133, "Mg", "rounded"), 1.108, 0.0005, AGROTEC),
        check("figure", cation_meq_100g, (1600, "Ca", "rounded"), 8.000, 0.0005, AGROTEC),
        check("figure", cation_meq_100g, (22, "Na", "rounded"), 0.096, 0.0005, AGROTEC),
        check("standard", cation_meq_100g, (229.9, "Na", "exact"), 1.0, 5e-4, "IUPAC weight 22.990, charge 1"),
        check("standard", cation_meq_100g, (390.98, "K", "exact"), 1.0, 5e-4, "IUPAC weight 39.098, charge 1"),
        check("standard", cation_meq_100g, (200.39, "Ca", "exact"), 1.0, 5e-4, "IUPAC weight 40.078, charge 2"),
        check("standard", cation_meq_100g, (121.525, "Mg", "exact"), 1.0, 5e-4, "IUPAC weight 24.305, charge 2"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@outside("worked example", "Clemson, CEC calculations: 3.83 meq/100 g, 37 % bases")
def test_cec_by_summation_is_the_published_clemson_sum_less_its_acidity():
    """3.825 meq/100 g with 2.40 of acidity, 37.26 % of it bases."""
    ppm = {"K": 110.5, "Mg": 14.0, "Ca": 200.0, "Na": 6.0}
    bases = sum(cec_by_summation(ppm, "rounded_k_391").values())
    assert bases == pytest.approx(3.825 - 8.0 * (8.00 - 7.70), abs=0.0005)
    assert 100 * bases / 3.825 == pytest.approx(37.26, abs=0.005)


def test_cec_by_summation_of_the_second_example_regression_not_published():
    result = cec_by_summation({"K": 379, "Mg": 133, "Ca": 1600, "Na": 22}, "rounded")
    assert sum(result.values()) == pytest.approx(10.18, abs=0.005)


@outside("figure", "MLSN paper 2016: 50 and 22 mmolc/kg")
@pytest.mark.parametrize(
    ("name", "version", "printed"),
    [("slan", "2004", 50), ("mlsn", "2016", 22)],
    ids=["5.5 SLAN minima, printed 50 mmolc/kg", "5.5 MLSN, printed 22 mmolc/kg"],
)
def test_guidelines_add_up_to_the_printed_exchange_capacity(name, version, printed):
    levels = guideline(name, version)
    bases = {cation: levels[cation] for cation in ("K", "Ca", "Mg")}
    total = sum(cec_by_summation(bases, "exact").values())
    assert 10 * total == pytest.approx(printed, abs=0.5)


MLSN_PRINTED = {
    ("mlsn", "2014"): {"K": 37, "P": 21, "Ca": 331, "Mg": 47, "S": 7},
    ("mlsn", "2016"): {"K": 37, "P": 21, "Ca": 348, "Mg": 47, "S": 7},
    ("slan", "2004"): {"K": 117, "P": 55, "Ca": 751, "Mg": 121, "S": 41},
}


@outside("figure", "MLSN reference sheet 2014, MLSN paper 2016, Carrow et al. 2004 as quoted there")
@pytest.mark.parametrize("which", MLSN_PRINTED, ids=" ".join)
def test_shipped_guidelines_are_the_printed_ones(which):
    """Reference sheet September 2014, MLSN paper 2016, and Carrow et al. 2004 as quoted there."""
    assert guideline(*which) == MLSN_PRINTED[which]
    shipped = one_set(*which)
    assert shipped["extractant"] == "Mehlich-3"
    assert shipped["source"]


NI = "Nutrient Action Programme Regulations (Northern Ireland) 2019, SR 2019/81, schedule 5"
BY_LAW = [
    ("P", 9, "0"),
    ("P", 10, "1"),
    ("P", 15, "1"),
    ("P", 16, "2-"),
    ("P", 20, "2-"),
    ("P", 21, "2+"),
    ("P", 25, "2+"),
    ("P", 26, "3"),
    ("P", 45, "3"),
    ("P", 46, "4"),
    ("P", 70, "4"),
]
FROM_MEMORY = [
    ("P", 71, "5"),
    ("P", 280, "8"),
    ("P", 281, "9"),
    ("K", 0, "0"),
    ("K", 60, "0"),
    ("K", 61, "1"),
    ("K", 180, "2-"),
    ("K", 181, "2+"),
    ("K", 240, "2+"),
    ("K", 241, "3"),
    ("K", 3601, "9"),
    ("Mg", 25, "0"),
    ("Mg", 26, "1"),
    ("Mg", 51, "2"),
    ("Mg", 101, "3"),
    ("Mg", 1500, "8"),
    ("Mg", 1501, "9"),
]
NRM = "medians of NRM in an Irish farm paper"
PRINTED = [
    *(pytest.param(*row, marks=outside("standard", NI), id=f"{row[0]} {row[1]} ({NI})") for row in BY_LAW),
    *(pytest.param(*row, id=f"{row[0]} {row[1]} (RB209, from memory)") for row in FROM_MEMORY),
    pytest.param("P", 23.2, "2+", marks=outside("figure", NRM), id=f"P 23.2 ({NRM}: index 2)"),
    pytest.param("K", 154.7, "2-", marks=outside("figure", NRM), id=f"K 154.7 ({NRM}: index 2)"),
]


@pytest.mark.parametrize(("nutrient", "mg_l", "index"), PRINTED)
def test_uk_index_at_its_limits(nutrient, mg_l, index):
    assert uk_index(mg_l, nutrient) == index


@pytest.mark.parametrize("name", ["mlsn", "slan", "uk_index", "root_zone", "dressing", "layer_match"])
def test_every_shipped_set_names_its_source(name):
    for version in table(name):
        assert len(one_set(name, version)["source"]) > 10
