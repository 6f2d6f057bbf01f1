"""Slopes and trend tests against published figures (EPA 2009, NIST, Sen 1968, Gilbert 1987)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pipeline.statistics.kendall import mann_kendall, smallest_p
from pipeline.statistics.trend import least_squares, theil_sen
from tests.outside_checks import outside

# EPA 2009, Statistical Analysis of Groundwater Monitoring Data at RCRA Facilities: Unified Guidance, Ex. 17-6
# (sulfate, mg/L, by decimal year); data and results as carried by R EnvStats 3.1.0.
SULFATE_YEAR = [89.6, 89.8, 90.1, 90.3, 90.6, 90.8, 91.1, 91.3, 91.6, 91.8, 92.1, 92.6, 93.1, 93.6, 94.1, 94.6]
SULFATE_YEAR += [95.1, 95.6, 95.8, 96.1, 96.3, 96.6, 96.8]
SULFATE = [480, 450, 490, 520, 485, 510, 510, 530, 510, 560, 560, 540, 590, 550, 600, 700, 570, 610, 650, 620, 830]
SULFATE += [720, 590]

# EPA 2009, Ex. 17-5: chloride, ppm, by days since the first sampling.
CHLORIDE_DAY = [76, 133, 233, 407, 513, 594, 688, 779, 846, 940, 1043, 1150, 1260, 1330, 1385, 1499, 1577, 1682, 1759]
CHLORIDE = [11.5, 12.6, 13.8, 12.3, 12.8, 13.2, 14.1, 13.3, 13.1, 13.2, 15.3, 15.0, 15.2, 15.8, 16.1, 15.1, 16.4]
CHLORIDE += [17.7, 17.7]

# NIST Statistical Reference Datasets, Norris (linear regression, 36 points).
NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0
228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"""
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7
228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"""

# Sen 1968, JASA 63:1379-1389, worked example (also in scipy's own suite).
SEN_X = [1, 2, 3, 4, 10, 12, 18]
SEN_Y = [9, 15, 19, 20, 45, 55, 78]


@outside("worked example", "EPA 2009, Unified Guidance, example 17-6")
def test_epa_17_6_mann_kendall() -> None:
    """S, tie-corrected variance, z and p as published: a missed tie would give 1433.67 for 1428."""
    test = mann_kendall(SULFATE, SULFATE_YEAR)
    assert test.s == 194
    assert test.variance == pytest.approx(1428, abs=1e-9)
    assert test.z == pytest.approx(5.107322, abs=5e-7)
    assert test.p == pytest.approx(3.2676e-07, rel=2e-5)
    assert test.method == "normal"


@outside("worked example", "EPA 2009, Unified Guidance, example 17-6")
def test_epa_17_6_slope() -> None:
    assert theil_sen(SULFATE_YEAR, SULFATE).slope == pytest.approx(26.66667, abs=5e-6)


@outside("worked example", "EPA 2009, Unified Guidance, example 17-6")
def test_epa_17_6_interval_at_interpolated_ranks() -> None:
    """Gilbert's interval: 253 pairs, C = 74.0649; rounding the ranks would miss 35.71182."""
    line = theil_sen(SULFATE_YEAR, SULFATE, alpha=0.05)
    assert line.low_rank == pytest.approx(89.4676, abs=5e-5)
    assert line.high_rank == pytest.approx(164.5324, abs=5e-5)
    assert line.low == pytest.approx(20.0, abs=5e-6)
    assert line.high == pytest.approx(35.71182, abs=5e-6)


def test_epa_17_6_least_squares_for_contrast() -> None:
    """The same data by least squares give 29.834, pulled up by the one high sample."""
    assert least_squares(SULFATE_YEAR, SULFATE).slope == pytest.approx(29.834, abs=5e-4)


@outside("worked example", "EPA 2009, Unified Guidance, example 17-5")
def test_epa_17_5_least_squares() -> None:
    assert least_squares(CHLORIDE_DAY, CHLORIDE).slope == pytest.approx(0.00309575, abs=5e-9)


def test_nist_norris_certified_values() -> None:
    """Certified to 15 digits; double precision with sums about the mean keeps 12 and more.

    The last digits of the standard error are from memory (matched).
    """
    x, y = np.array(NORRIS_X.split(), float), np.array(NORRIS_Y.split(), float)
    line = least_squares(x, y)
    assert x.size == 36
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.slope_se == pytest.approx(0.000429796848199937, rel=1e-11)


@outside("worked example", "Sen 1968, JASA 63:1379–1389")
def test_sen_1968_slope() -> None:
    assert theil_sen(SEN_X, SEN_Y).slope == 4.0


@outside("worked example", "Sen 1968, JASA 63:1379–1389")
def test_sen_1968_interval() -> None:
    """Published 3.714 to 4.375: the 4th and 18th of 21 slopes.

    Sen gives it 93 %; counting all 5,040 orders gives these ends 97.0 % (next test), the first at or above 95 %.
    """
    line = theil_sen(SEN_X, SEN_Y, ranks="exact")
    assert line.low == pytest.approx(3.714, abs=5e-4)
    assert line.high == pytest.approx(4.375, abs=5e-4)
    assert (line.low_rank, line.high_rank) == (4, 18)


def test_gilbert_tiny_example() -> None:
    """10, 15, 14, 20: S = 4, exact p twice the one-sided 4/24 (Gilbert 1987, ch. 16; data from memory)."""
    test = mann_kendall([10, 15, 14, 20])
    assert test.s == 4
    assert test.p == pytest.approx(8 / 24, abs=1e-12)
    assert test.method == "exact"


@pytest.mark.parametrize(("n", "orders"), [(3, 6), (4, 24), (5, 120)])
def test_smallest_p_a_few_years_can_give(n: int, orders: int) -> None:
    """1/6, 1/24, 1/120 one-sided (check by enumeration): under five samples no trend reaches 5 % two-sided."""
    assert smallest_p(n) == pytest.approx(2 / orders)
    assert mann_kendall(range(n)).p == pytest.approx(smallest_p(n))
    assert math.factorial(n) == orders
