"""Straightedge, rinks, odd readings and grids at the borders of their rules."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.agronomy.levels.level_grid import LevelGrid, level_grid
from pipeline.agronomy.levels.level_map import Mark, band_edges_mm, level_map
from pipeline.agronomy.levels.levels import Plane, coverage, fit_plane
from pipeline.agronomy.levels.lows import lows
from pipeline.agronomy.levels.odd_levels import odd_readings
from pipeline.agronomy.levels.rinks import rink_levels
from pipeline.agronomy.levels.straightedge import bowl_path, largest_gap, straightedge_gaps


def square(size: int, step: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Places of a square of so many steps."""
    axis = np.arange(size + 1) * step
    across, along = np.meshgrid(axis, axis)
    return across.ravel(), along.ravel()


@pytest.mark.parametrize(("off", "odd"), [(9.9, False), (10.1, True), (-9.9, False), (-10.1, True)])
def test_on_an_even_green_ten_millimetres_are_odd(off, odd):
    """The stated rule: no reading nearer than 10 mm to its neighbours is taken for a slip."""
    x, y = square(14)
    z = np.zeros(x.size)
    z[112] += off
    assert bool(odd_readings(x, y, z)[112]) is odd


@pytest.mark.parametrize(("off", "odd"), [(25.5, False), (28.0, True)])
def test_on_a_rough_green_six_spreads_are_odd(off, odd):
    """Heights 3 mm up and down in turn: the spread is 1.4826 × 3 = 4.45 mm, six of them 26.7 mm."""
    x, y = square(14)
    z = np.where((x + y) % 2 == 0, 3.0, -3.0)
    z[112] = off
    found = odd_readings(x, y, z)
    assert bool(found[112]) is odd
    assert np.count_nonzero(found) == odd


def test_points_of_a_rink_within_the_tolerance_of_the_green():
    """Two rinks of 10 and 11 columns, 11 mm below and 10 above the mean: on the tolerance itself is within."""
    across, along = square(20)
    z = np.where(across < 10, -11.0, 10.0)
    grid = level_grid(across, along, z)
    for tolerance, within in ((10.0, [0.0, 100.0]), (9.99, [0.0, 0.0]), (11.0, [100.0, 100.0])):
        first, second = rink_levels(across, along, z, grid, 2, tolerance)
        assert [first.within_pct, second.within_pct] == within
        assert (first.n, second.n) == (210, 231)
        assert (first.mean_mm, second.mean_mm) == pytest.approx((-11.0, 10.0))


def test_the_middle_line_of_each_rink_is_what_a_bowl_meets():
    """Three rinks of 6 m that rise 1, 2 and 3 mm/m along: each tells its own, and none across."""
    across, along = np.meshgrid(np.arange(0, 18.5, 1.0), np.arange(0, 20.5, 1.0))
    slope = 1.0 + np.minimum(np.floor(across / 6), 2)
    grid = LevelGrid(across[0], along[:, 0], slope * along, as_surveyed=True)
    found = rink_levels(across.ravel(), along.ravel(), (slope * along).ravel(), grid, 3, 6.0)
    assert [one.path.steepest_mm_m for one in found] == pytest.approx([1, 2, 3])
    assert [one.fall_mm for one in found] == pytest.approx([20, 40, 60])


@pytest.mark.parametrize(("spacing", "length"), [(1.5, 1.5), (0.7, 3.0), (2.0, 3.0)])
def test_a_straightedge_that_is_no_whole_number_of_places_long_is_refused(spacing, length):
    with pytest.raises(ValueError, match="whole number of spacings long, two at least"):
        straightedge_gaps(np.zeros(20), spacing, length)


def test_a_straightedge_of_two_places_sees_the_one_between():
    """2 mm below the line through its neighbours."""
    assert straightedge_gaps(np.array([0.0, -2.0, 0.0]), 1.0, 2.0).tolist() == [0.0, 2.0, 0.0]
    assert straightedge_gaps(np.array([0.0, -3.0, 0.0, 6.0]), 1.0, 3.0).tolist() == [0.0, 5.0, 4.0, 0.0]


def test_a_place_without_a_height_carries_nothing_and_shows_nothing():
    gaps = straightedge_gaps(np.array([0.0, np.nan, -4.0, 0.0, 0.0]), 1.0, 4.0)
    assert np.isnan(gaps[1])
    assert gaps[[0, 2, 3, 4]].tolist() == [0.0, 4.0, 0.0, 0.0]


@pytest.mark.parametrize(("size", "told"), [(2.5, False), (3.0, True)])
def test_a_green_as_long_as_the_edge_is_long_enough(size, told):
    axis = np.arange(0, size + 0.1, 0.5)
    grid = LevelGrid(axis, axis, np.zeros((len(axis), len(axis))), as_surveyed=True)
    assert (largest_gap(grid, along=True) is not None) is told


def test_where_a_bowl_meets_the_steepest_and_the_sharpest():
    """Level for 4 m, 3 mm/m up for 2 m, level: steepest in the first metre of the rise, sharpest where it begins."""
    s = np.arange(0, 10.5, 0.5)
    path = bowl_path(3.0 * np.clip(s - 4, 0, 2), 0.5, 1.0)
    assert (path.steepest_mm_m, path.steepest_at_m) == pytest.approx((3.0, 4.5))
    assert (path.turn_mm_m, path.turn_at_m) == pytest.approx((3.0, 4.0))
    assert bowl_path(np.zeros(4), 1.0, 2.0) is None
    assert bowl_path(np.zeros(5), 1.0, 2.0) is not None


@pytest.mark.parametrize(("off_mm", "one_grid"), [(9.7, True), (10.3, False)])
def test_lines_of_a_grid_may_be_twenty_millimetres_wide(off_mm, one_grid):
    """A point set out by tape is no nearer: places up to 20 mm apart are one line, 20.6 mm are two."""
    across, along = square(6, 2.0)
    jitter = np.where(np.arange(across.size) % 2 == 0, off_mm, -off_mm) / 1000
    assert level_grid(across + jitter, along, np.zeros(across.size)).as_surveyed is one_grid


def test_three_points_make_a_plane_and_two_or_a_line_do_not():
    plane = fit_plane(np.array([0.0, 10.0, 0.0]), np.array([0.0, 0.0, 10.0]), np.array([5.0, 15.0, 25.0]))
    assert (plane.rise_x_mm_m, plane.rise_y_mm_m) == pytest.approx((1.0, 2.0))
    for points in ((np.array([0.0, 1.0]), np.array([0.0, 2.0])), (np.arange(5.0), 2 * np.arange(5.0))):
        with pytest.raises(ValueError, match="not on one line"):
            fit_plane(*points, np.zeros(len(points[0])))


@pytest.mark.parametrize(("near", "without"), [(3.0, ()), (2.99, ("near left",))])
def test_a_corner_with_a_point_as_near_as_that_is_covered(near, without):
    across, along = np.array([3.0, 0.0, 10.0, 10.0, 0.0]), np.array([0.0, 4.0, 10.0, 0.0, 10.0])
    assert coverage(across, along, near).corners_without == without


def test_coverage_by_every_distance_of_its_lattice():
    """41 × 41 places, each to its nearest point: on three points of a triangle."""
    across, along = np.array([0.0, 20.0, 20.0]), np.array([0.0, 0.0, 30.0])
    u, v = np.meshgrid(np.linspace(0, 20, 41), np.linspace(0, 30, 41))
    apart = np.min([np.hypot(u - x, v - y) for x, y in zip(across, along, strict=True)], axis=0)
    found = coverage(across, along, 8.0)
    assert found.share_pct == pytest.approx(100 * (apart <= 8).mean())
    assert np.hypot(found.across_m - across, found.along_m - along).min() == pytest.approx(apart.max())
    assert found.corners_without == ("far left",)


@pytest.mark.parametrize(
    ("least", "most", "edges"),
    [
        (-0.9, 0.9, (-1, 1)),
        (-1, 1, (-1, 1)),
        (-3, 3, (-1, 1)),
        (-3.01, 0, (-3, -1, 1, 3)),
        (0, 5, (-3, -1, 1, 3)),
        (-100, 100, (-7, -5, -3, -1, 1, 3, 5, 7)),
    ],
)
def test_bands_of_two_millimetres_reach_as_far_as_heights_go_and_are_nine_at_most(least, most, edges):
    """Half a band, one and a half, … on either side; a height on an edge needs no band beyond."""
    assert band_edges_mm(least, most, 2.0) == edges


@pytest.mark.parametrize(("rinks", "lines"), [(0, ()), (1, ()), (2, (9.0,)), (3, (6.0, 12.0))])
def test_a_map_is_drawn_from_places_a_page_can_show(rinks, lines):
    """Places 0.1 m apart are read half a metre apart, those 0.5 m apart as they are; the mark stays."""
    mark = Mark("highest", 1.0, 2.0, 3.0)
    for step, drawn in ((0.1, 0.5), (0.5, 0.5), (1.0, 1.0)):
        axis = np.arange(0, 18 + step / 2, step)
        grid = LevelGrid(axis, axis, np.zeros((len(axis), len(axis))), as_surveyed=True)
        made = level_map(grid, 4.0, "the mean", rinks, (mark,))
        assert made.step_m == pytest.approx(drawn)
        assert made.rinks_m == pytest.approx(lines)
        assert (made.marks, made.width_m, made.length_m) == ((mark,), pytest.approx(18), pytest.approx(18))
        assert [band.area_m2 for band in made.bands] == pytest.approx([0, 324, 0])


def test_ground_between_points_ends_three_spacings_from_the_last():
    """Points about 1 m apart on 20 × 20 m with one alone 12 m off: between them lies ground nobody measured.

    A spacing is the side of the ground each point has; places lie half of that apart.
    """
    x, y = square(20)
    draw = np.random.default_rng(3)
    x, y = np.append(x + draw.uniform(0, 0.3, x.size), 32.0), np.append(y + draw.uniform(0, 0.3, y.size), 10.0)
    grid = level_grid(x, y, np.zeros(x.size))
    side = np.sqrt(x.max() * y.max() / x.size)
    assert grid.step_m == pytest.approx((side / 2, side / 2), rel=0.02)
    assert (grid.across_m[0], grid.along_m[0], grid.across_m[-1]) == (0.0, 0.0, 32.0)
    u, v = grid.places()
    apart = np.min(np.hypot(u[..., None] - x, v[..., None] - y), axis=2)
    within = (np.abs(v - 10) < np.minimum(9, (32 - u) * 9.5 / 12)) & (u > 1)  # the square, and on to the point alone
    assert not grid.as_surveyed
    assert np.isnan(grid.height_mm[apart > 3.05 * side]).all()
    assert not np.isnan(grid.height_mm[(apart < 2.95 * side) & within]).any()


def test_two_lines_of_points_are_a_grid():
    """Two columns and two rows are the least; one line is none."""
    across, along = np.array([0.0, 3.0, 0.0, 3.0]), np.array([0.0, 0.0, 4.0, 4.0])
    grid = level_grid(across, along, np.array([1.0, 2.0, 3.0, 4.0]))
    assert grid.as_surveyed
    assert grid.height_mm.tolist() == [[1.0, 2.0], [3.0, 4.0]]


def test_more_than_ten_thousand_points_are_averaged_and_keep_their_plane():
    draw = np.random.default_rng(5)
    x, y = draw.uniform(0, 40, (2, 10_001))
    grid = level_grid(x, y, 2 * x - y)
    u, v = grid.places()
    known = ~np.isnan(grid.height_mm)
    assert np.abs(grid.height_mm - (2 * u - v))[known].max() < 1e-6
    assert grid.step_m == pytest.approx((0.25, 0.25), abs=0.01)


@pytest.mark.parametrize(
    ("rise", "towards"), [((1, 0), 270), ((-1, 0), 90), ((0, 1), 180), ((0, -1), 0), ((1, 1), 225)]
)
def test_a_plane_falls_towards_a_direction_of_the_compass(rise, towards):
    """Degrees clockwise from y, once round: up to the east is a fall to the west."""
    x, y = square(4)
    found = fit_plane(x, y, rise[0] * x + rise[1] * y).falls_towards_deg
    assert 0 <= found < 360
    assert min(abs(found - towards), 360 - abs(found - towards)) < 1e-6


def test_a_hair_anticlockwise_of_y_is_no_turn_of_360_degrees():
    """A rise of 1e-20 mm/m to the east turned the fall to 360.0, which is no direction."""
    assert Plane(0.0, 0.0, 0.0, 1e-20, -1.0).falls_towards_deg == 0.0
    assert Plane(0.0, 0.0, 0.0, 1e-6, -1.0).falls_towards_deg < 360.0


def test_every_corner_without_a_point_is_named():
    """Points in a cross: no corner has one near."""
    across, along = np.array([0.0, 10.0, 20.0, 10.0, 10.0]), np.array([15.0, 15.0, 15.0, 0.0, 30.0])
    named = coverage(across, along, 5.0).corners_without
    assert named == ("near left", "near right", "far left", "far right")
    for left_out, corner in zip(named, ((0, 0), (20, 0), (0, 30), (20, 30)), strict=True):
        known = coverage(np.append(across, corner[0]), np.append(along, corner[1]), 0.5).corners_without
        assert set(named) - set(known) == {left_out}


def test_the_low_that_takes_most_stands_first():
    """Pits of 20 and of 8 mm: the deeper first, wherever it lies."""
    heights = np.zeros((9, 9))
    heights[1, 1], heights[6, 6] = -8.0, -20.0
    axis = np.arange(9.0)
    found = lows(LevelGrid(axis, axis, heights, as_surveyed=True), 6.0, 1.5)
    assert [one.deepest_mm for one in found] == [20.0, 8.0]


def test_a_rink_of_one_line_of_points_has_no_fall():
    """Points on one line hold no plane; the rink is told all the same."""
    across, along = np.array([0.0, 0.0, 0.0, 10.0, 12.0, 12.0]), np.array([0.0, 5.0, 10.0, 0.0, 5.0, 10.0])
    axis = np.arange(13.0)
    grid = LevelGrid(axis, axis, np.zeros((13, 13)), as_surveyed=True)
    first, second = rink_levels(across, along, np.zeros(6), grid, 2, 6.0)
    assert (first.n, first.fall_mm, first.crossfall_mm) == (3, None, None)
    assert (second.n, second.fall_mm) == (3, pytest.approx(0))


def test_outlines_of_a_map_are_drawn_to_the_millimetre():
    """A plane of 1 mm/m over 7 × 5 m: its middle band of 3 mm is 3 m wide, from 2 to 5 m, and 15 m² large."""
    across, along = np.arange(0, 7.1, 0.7), np.arange(0, 5.1, 1.0)
    u, _ = np.meshgrid(across, along)
    made = level_map(LevelGrid(across, along, 1.001 * (u - 3.5), as_surveyed=True), 3.0, "the mean")
    assert (made.width_m, made.length_m) == pytest.approx((7, 5))
    low, middle, high = made.bands
    xs = [x for x, _ in middle.shapes[0].outline]
    assert (min(xs), max(xs)) == (2.001, 4.999)
    assert [low.area_m2, middle.area_m2, high.area_m2] == pytest.approx([10.0075, 14.985, 10.0075], abs=1e-3)


def test_a_place_read_twice_is_no_grid_as_surveyed():
    """Which of the two stands would be chance: the heights between are interpolated instead."""
    x, y = square(6)
    assert level_grid(x, y, np.zeros(x.size)).as_surveyed
    again = level_grid(np.append(x, 3.0), np.append(y, 3.0), np.append(np.zeros(x.size), 5.0))
    assert not again.as_surveyed


def test_of_more_than_ten_thousand_points_neighbours_are_averaged():
    """Two readings a millimetre apart, 5 mm up and 5 mm down, 6,400 times: the ground between is flat."""
    x, y = square(79, 0.25)
    across, along = np.concatenate((x + 0.001, x + 0.002)), np.concatenate((y + 0.001, y + 0.002))
    grid = level_grid(across, along, np.repeat([5.0, -5.0], x.size))
    assert np.nanmean(np.abs(grid.height_mm)) < 1.0
