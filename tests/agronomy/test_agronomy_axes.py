"""Axes of a green, rinks and crowns at the borders of their rules."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pipeline.agronomy.levels.crown import crown_of, fit_quadratic
from pipeline.agronomy.levels.green_axes import green_axes, rinks_across
from pipeline.agronomy.levels.level_change import level_change


def turned(u, v, degrees):
    """Places of a green's own axes in a survey that lies so far round."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return 4e3 + u * cos + v * sin, 2e3 - u * sin + v * cos


def oblong(across=34.0, along=40.0):
    """Places every 2 m of a rectangle."""
    u, v = np.meshgrid(np.arange(0, across + 1e-9, 2.0), np.arange(0, along + 1e-9, 2.0))
    return u.ravel(), v.ravel()


@pytest.mark.parametrize("degrees", [-170, -100, -44, -10, 0.8, 30, 44, 80, 100, 135.5])
def test_a_turn_is_told_to_the_nearest_quarter(degrees):
    """Four ways of looking at one rectangle: the one within 45 degrees of the survey's y is told."""
    axes = green_axes(*turned(*oblong(), degrees))
    assert axes.turn_deg == pytest.approx((degrees + 45) % 90 - 45, abs=1e-6)
    assert sorted((axes.width_m, axes.length_m)) == pytest.approx([34, 40])


@pytest.mark.parametrize(("degrees", "wanted"), [(25, -65), (-25, 65), (0, 90)])
def test_rinks_that_run_the_other_way_turn_by_a_quarter(degrees, wanted):
    """The register says 34 m of play where the survey's longer side lies along: a quarter turn, the shorter way."""
    axes = green_axes(*turned(*oblong(), degrees), length_m=34.0, width_m=40.0)
    assert axes.turn_deg == pytest.approx(wanted, abs=1e-6)
    assert (axes.width_m, axes.length_m, axes.told) == (pytest.approx(40), pytest.approx(34), True)


@pytest.mark.parametrize(
    ("register", "survey", "told"),
    [
        ((40.0, 38.0), (34.0, 40.0), False),  # 5 % apart and no more
        ((40.0, 39.0), (34.0, 40.0), False),
        ((40.0, 37.9), (34.0, 40.0), True),
        ((40.0, 34.0), (38.0, 40.0), False),  # the same for what was surveyed
        ((40.0, 34.0), (36.0, 40.0), True),
    ],
)
def test_sides_that_differ_by_five_per_cent_at_most_do_not_tell_the_way_of_play(register, survey, told):
    assert green_axes(*oblong(*survey), *register).told is told


def bevelled(cut: float, degrees: float):
    """Outline of 40 × 30 m whose corners are cut off, turned."""
    u = np.array([cut, 40 - cut, 40, 40, 40 - cut, cut, 0, 0])
    v = np.array([0, 0, cut, 30 - cut, 30, 30, 30 - cut, cut])
    return turned(u, v, degrees)


@pytest.mark.parametrize(("cut", "turn"), [(6.0, 0.8), (8.0, 0.0)])
def test_straight_sides_are_followed_from_seven_tenths_of_the_outline(cut, turn):
    """Corners cut by 6 m leave 73 % of the outline straight, by 8 m 63 %: then the survey's own axes are kept."""
    assert green_axes(*bevelled(cut, 0.8)).turn_deg == pytest.approx(turn, abs=1e-6)


@pytest.mark.parametrize(("short", "degrees", "kept"), [(15.0, 20, True), (12.0, 44, False)])
def test_without_straight_sides_the_smallest_rectangle_must_save_three_per_cent(short, degrees, kept):
    """Of an ellipse of 40 × 30 m at 20° the survey's rectangle is 1.7 % too large, of 40 × 24 m at 44° 13 %."""
    angle = np.radians(np.arange(0, 360, 2.0))
    axes = green_axes(*turned(short * np.cos(angle), 20 * np.sin(angle), degrees))
    assert axes.turn_deg == pytest.approx(0 if kept else degrees, abs=1.5)
    assert (axes.turn_deg == 0.0) is kept


@pytest.mark.parametrize(
    ("width", "rinks"),
    [(26.9, 5), (27.0, 6), (27.1, 6), (28.0, 6), (36.0, 6), (36.1, 7), (41.8, 7), (41.9, 8), (47.6, 8), (3.0, 1)],
)
def test_rinks_at_the_width_the_laws_allow(width, rinks):
    """4.3 to 5.8 m a rink, 0.6 m to each side ditch: six from 27.0 to 36.0 m, else the fewest not too wide."""
    assert rinks_across(width) == rinks


def test_a_crown_of_half_a_millimetre_has_a_top_and_a_saddle_has_none_whichever_way_it_lies():
    x, y = oblong()
    low = fit_quadratic(x, y, -0.5 * ((x - 17) / 17) ** 2 - 0.5 * ((y - 20) / 20) ** 2)
    assert low.top == pytest.approx((17, 20))
    for way in (1.0, -1.0):
        assert fit_quadratic(x, y, way * ((x - 17) ** 2 - (y - 20) ** 2)).top is None


@pytest.mark.parametrize(("along", "inside"), [(0.5, True), (39.5, True), (-0.5, False), (40.5, False)])
def test_a_top_counts_within_the_green_up_to_its_edge(along, inside):
    """A crown that would be highest outside the green has no height there."""
    x, y = oblong()
    z = -0.4 * (x - 17) ** 2 - 0.4 * (y - along) ** 2
    assert (crown_of(fit_quadratic(x, y, z), x, y, z).height_mm is not None) is inside
    across = -0.4 * (x - 34 * along / 40) ** 2 - 0.4 * (y - 20) ** 2
    assert (crown_of(fit_quadratic(x, y, across), x, y, across).height_mm is not None) is inside


def test_two_shared_points_are_no_change_and_three_are():
    places = np.array([0.0, 10.0, 20.0]), np.zeros(3)
    later, earlier = (*places, np.array([1.0, 2.0, 4.0])), (*places, np.array([0.0, 5.0, 4.0]))
    assert level_change(tuple(one[:2] for one in later), earlier, same_benchmark=True) is None
    found = level_change(later, earlier, same_benchmark=True)
    assert found is not None
    assert found.change_mm.tolist() == [1.0, -3.0, 0.0]


def test_an_even_survey_is_like_no_other():
    """Ranks of heights that are all the same say nothing."""
    places = np.array([0.0, 10.0, 20.0]), np.zeros(3)
    sloping, even = (*places, np.array([1.0, 2.0, 4.0])), (*places, np.full(3, 7.0))
    for later, earlier in ((sloping, even), (even, sloping)):
        found = level_change(later, earlier, same_benchmark=True)
        assert found is not None
        assert found.likeness is None
