"""Sieve curves: D-values, uniformity and bands against the stated example, numpy and published limits."""

import numpy as np
import pytest
from published_checks import CASE, check, given

from pipeline.agronomy.soil.particle_size import (
    Curve,
    band_checks,
    curve_from_retained,
    d_value_mm,
    dressing_match,
    fraction_pct,
    gradation_index,
    layer_match,
    passing_at_pct,
    uniformity_coefficient,
)
from tests.outside_checks import outside

ROOT_ZONE = Curve((0.002, 0.05, 0.15, 0.25, 0.5, 1.0, 2.0, 3.4), (1.5, 3, 8, 25, 75, 95, 99.5, 100))
GRAVEL = Curve((1.0, 2.0, 4.0, 6.3, 9.5, 12.5), (0, 3, 20, 65, 98, 100))
EXAMPLE = "constructed root zone and gravel"
LOG, LINEAR = "log_linear", "linear"


@pytest.mark.parametrize(
    CASE,
    [
        check("own", d_value_mm, (ROOT_ZONE, 10, LOG), 0.1593, 5e-5, EXAMPLE),
        check("own", d_value_mm, (ROOT_ZONE, 15, LOG), 0.1851, 5e-5, EXAMPLE),
        check("own", d_value_mm, (ROOT_ZONE, 50, LOG), 0.3536, 5e-5, EXAMPLE),
        check("own", d_value_mm, (ROOT_ZONE, 60, LOG), 0.4061, 5e-5, EXAMPLE),
        check("own", d_value_mm, (ROOT_ZONE, 85, LOG), 0.7071, 5e-5, EXAMPLE),
        check("own", d_value_mm, (ROOT_ZONE, 90, LOG), 0.8409, 5e-5, EXAMPLE),
        check("own", uniformity_coefficient, (ROOT_ZONE, LOG), 2.55, 0.005, EXAMPLE),
        check("own", uniformity_coefficient, (ROOT_ZONE, LINEAR), 2.63, 0.005, EXAMPLE),
        check("own", gradation_index, (ROOT_ZONE, LOG), 5.28, 0.005, EXAMPLE),
        check("own", d_value_mm, (GRAVEL, 15, LOG), 3.262, 5e-4, EXAMPLE),
        check("own", d_value_mm, (GRAVEL, 90, LOG), 8.600, 5e-4, EXAMPLE),
        check("own", fraction_pct, (ROOT_ZONE, 0.25, 1.0, LOG), 70, 1e-9, EXAMPLE),
        check("own", passing_at_pct, (ROOT_ZONE, 0.5, LOG), 75, 1e-9, EXAMPLE),
    ],
)
def test_figure_of_the_example(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@outside("library", "numpy.interp")
@pytest.mark.parametrize("passing", [5, 10, 15, 50, 60, 85, 90, 99])
def test_d_values_agree_with_numpy_interp_on_the_logarithm(passing):
    logs = np.log(ROOT_ZONE.sizes_mm)
    expected = np.exp(np.interp(passing, ROOT_ZONE.passing_pct, logs))
    assert d_value_mm(ROOT_ZONE, passing, LOG) == pytest.approx(expected, rel=1e-12)
    plain = np.interp(passing, ROOT_ZONE.passing_pct, ROOT_ZONE.sizes_mm)
    assert d_value_mm(ROOT_ZONE, passing, LINEAR) == pytest.approx(plain, rel=1e-12)


@outside("library", "numpy.interp")
@pytest.mark.parametrize("size", [0.01, 0.15, 0.3, 0.71, 1.5])
def test_passing_agrees_with_numpy_interp(size):
    expected = np.interp(np.log(size), np.log(ROOT_ZONE.sizes_mm), ROOT_ZONE.passing_pct)
    assert passing_at_pct(ROOT_ZONE, size, LOG) == pytest.approx(expected, rel=1e-12)


def by_numpy(curve, passing):
    """The size that so much is finer than."""
    return float(np.exp(np.interp(passing, curve.passing_pct, np.log(curve.sizes_mm))))


@outside("library", "numpy.interp")
def test_ratios_and_classes_agree_with_numpy_interp():
    """Uniformity, gradation, the three factors over gravel, and a dressing against its root zone."""
    assert uniformity_coefficient(ROOT_ZONE, LOG) == pytest.approx(by_numpy(ROOT_ZONE, 60) / by_numpy(ROOT_ZONE, 10))
    assert gradation_index(ROOT_ZONE, LOG) == pytest.approx(by_numpy(ROOT_ZONE, 90) / by_numpy(ROOT_ZONE, 10))
    d15 = by_numpy(GRAVEL, 15)
    factors = [d15 / by_numpy(ROOT_ZONE, 85), d15 / by_numpy(ROOT_ZONE, 15), by_numpy(GRAVEL, 90) / d15]
    found = {one.name: one.value for one in layer_match(GRAVEL, ROOT_ZONE, "2018", LOG)}
    names = ("bridging D15/D85", "permeability D15/D15", "uniformity D90/D15")
    assert [found[name] for name in names] == pytest.approx(factors)
    sand = Curve((0.05, 0.125, 0.25, 0.5, 0.71, 2.0), (1, 4, 22, 80, 97, 100))
    match = dressing_match(sand, ROOT_ZONE, LOG)
    assert match.d_ratio["D50"] == pytest.approx(by_numpy(sand, 50) / by_numpy(ROOT_ZONE, 50))
    finer = [np.interp(np.log(0.15), np.log(one.sizes_mm), one.passing_pct) for one in (sand, ROOT_ZONE)]
    coarser = [np.interp(np.log(0.25), np.log(one.sizes_mm), one.passing_pct) for one in (sand, ROOT_ZONE)]
    gap = (coarser[0] - finer[0]) - (coarser[1] - finer[1])
    assert match.class_gap_pct["0.15–0.25 mm"] == pytest.approx(gap)
    assert fraction_pct(sand, 0.15, 0.25, LOG) == pytest.approx(coarser[0] - finer[0])


def test_layer_match_of_the_example_by_both_editions():
    """5.9: bridging 3.26 ≤ 5.66 and permeability 3.26 ≥ 0.93 pass; uniformity 2.64 passes 2018 and fails 1993."""
    now = layer_match(GRAVEL, ROOT_ZONE, "2018", LOG)
    assert [c.holds for c in now] == [True, True, True, None, True, True]
    d15, d85 = 3.262, 0.7071
    assert now[0].value == pytest.approx(d15 / d85, rel=0.001)
    assert now[0].high * d85 == pytest.approx(5.66, abs=0.005)
    assert now[1].low * 0.1851 == pytest.approx(0.93, abs=0.005)
    assert now[2].value == pytest.approx(2.64, abs=0.005)
    then = layer_match(GRAVEL, ROOT_ZONE, "1993", LOG)
    assert [c.holds for c in then] == [True, True, False]


# Border cases of the factors, by arithmetic: D15, D90 and largest grain of a gravel over a root zone of D15 0.20 and
# D85 0.60 mm, so that 8·D85 is 4.80 and 5·D15 is 1.00 mm; the 1993 edition's 5·D85 is 3.00 mm and its uniformity 2.5.
# The last one's largest grain is taken as 18 mm: the 14 mm of the table lies below its own D90.
BORDERS = (
    ((4.0, 9.0, 11.0), (True, True, True), True, (False, True, True)),
    ((4.80, 11.9, 12.0), (True, True, True), True, (False, True, True)),
    ((3.90, 11.70, 12.0), (True, True, True), True, (False, True, False)),
    ((1.00, 2.4, 6.0), (True, True, True), True, (True, True, True)),
    ((4.81, 9.0, 11.0), (False, True, True), True, (False, True, True)),
    ((0.99, 2.5, 6.0), (True, False, True), True, (True, False, False)),
    ((5.0, 16.0, 18.0), (False, True, False), False, (False, True, False)),
)


@pytest.mark.parametrize(("sizes", "by_2018", "none_over_12", "by_1993"), BORDERS)
def test_regression_not_published_border_cases_of_the_gravel(sizes, by_2018, none_over_12, by_1993):
    """On the line is within it; the shares finer than 2 and 1 mm fail where D15 is about 1 mm, whatever the factors."""
    gravel = Curve(sizes, (15, 90, 100))
    root_zone = Curve((0.2, 0.6), (15, 85))
    now = layer_match(gravel, root_zone, "2018", LOG)
    assert tuple(c.holds for c in now[:4]) == (*by_2018, none_over_12)
    fine = sizes[0] < 1.5
    assert [c.holds for c in now[4:]] == ([False, False if sizes[0] <= 1.0 else None] if fine else [None, None])
    assert tuple(c.holds for c in layer_match(gravel, root_zone, "1993", LOG)) == by_1993


@pytest.mark.parametrize(
    ("passing", "held"),
    [
        ((5, 10, 20, 98, 100, 100), (True, True, True)),
        ((5.1, 10, 20, 98, 100, 100), (True, True, False)),
        ((5, 10.1, 20, 98, 100, 100), (True, False, True)),
        ((5, 10, 20, 98, 99.9, 100), (False, True, True)),
        ((0, 0, 20, 100, 100, 100), (True, True, True)),
    ],
)
def test_shares_of_the_gravel_at_their_limits(passing, held):
    """No particles above 12 mm, not more than 10 % under 2 mm, not more than 5 % under 1 mm: USGA 2018, as quoted by a
    superintendents' association."""
    checks = layer_match(Curve((1, 2, 4, 9.5, 12, 16), passing), ROOT_ZONE, "2018", LOG)
    assert {c.name: c.holds for c in checks[3:]} == dict(
        zip(("over 12 mm", "under 2 mm", "under 1 mm"), held, strict=True)
    )


def test_regression_not_published_a_largest_grain_that_no_sieve_shows():
    """9.5 mm holds 2 % back, 12.5 mm none: the largest grain may be 10 or 12.4 mm, so nothing is said of 12 mm."""
    over = layer_match(GRAVEL, ROOT_ZONE, "2018", LOG)[3]
    assert (over.name, over.value, over.holds) == ("over 12 mm", None, None)
    coarse = Curve((2, 9.5, 16), (3, 90, 98))
    share = layer_match(coarse, ROOT_ZONE, "2018", LOG)[3]
    assert share.value is not None
    assert 2 < share.value < 10
    assert share.holds is False


USGA = {
    "fine gravel": (0.5, None, 3),
    "very coarse sand and gravel": (5.0, None, 10),
    "coarse and medium sand": (70.0, 60, None),
    "fine sand": (17.0, None, 20),
    "very fine sand": (5.0, None, 5),
    "silt": (1.5, None, 5),
    "clay": (1.5, None, 3),
    "very fine sand, silt and clay": (8.0, None, 10),
}


@outside("figure", "University of Arizona ccps0694: USGA classes and limits")
@pytest.mark.parametrize("name", USGA, ids=lambda n: f"5.8 {n} (University of Arizona ccps0694)")
def test_usga_classes_and_limits_are_the_printed_ones(name):
    found = {c.name: c for c in band_checks(ROOT_ZONE, "root_zone", "sand_based", LOG)}[name]
    value, low, high = USGA[name]
    assert found.value == pytest.approx(value, abs=1e-9)
    assert (found.low, found.high) == (low, high)
    assert found.holds


def test_a_root_zone_too_fine_fails_the_usga_band_by_name():
    fine = Curve((0.002, 0.05, 0.15, 0.25, 0.5, 1.0, 2.0, 3.4), (4, 12, 30, 60, 85, 97, 99, 100))
    failed = {c.name for c in band_checks(fine, "root_zone", "sand_based", LOG) if c.holds is False}
    assert failed == {
        "coarse and medium sand",
        "fine sand",
        "very fine sand",
        "silt",
        "clay",
        "very fine sand, silt and clay",
    }


def test_uk_dressing_band_judges_the_medium_sand_and_only_shows_the_wider_band():
    """UK trade magazine, August 2009: mostly 0.25–0.5 mm; no share is printed for 0.125–0.71 mm."""
    sand = Curve((0.125, 0.25, 0.5, 0.71, 1.0), (2, 12, 80, 97, 100))
    medium, wide = band_checks(sand, "dressing", "uk_fine_turf", LOG)
    assert (medium.value, medium.holds) == (pytest.approx(68), True)
    assert (wide.value, wide.holds) == (pytest.approx(95), None)


def test_a_dressing_held_against_itself_matches():
    match = dressing_match(ROOT_ZONE, ROOT_ZONE, LOG)
    assert list(match.d_ratio.values()) == pytest.approx([1, 1, 1])
    assert list(match.class_gap_pct.values()) == pytest.approx([0] * 5)


def test_retained_and_passing_are_the_same_sand():
    """Masses on the sieves of the example root zone, 200 g in all."""
    retained = [3, 10, 34, 100, 40, 9, 1, 0]
    curve = curve_from_retained(ROOT_ZONE.sizes_mm, retained, pan_g=3)
    assert curve.sizes_mm == ROOT_ZONE.sizes_mm
    assert curve.passing_pct == pytest.approx(ROOT_ZONE.passing_pct)
