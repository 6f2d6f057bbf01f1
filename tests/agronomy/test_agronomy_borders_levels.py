"""Straightedge, rinks, odd readings and grids at the borders of their rules."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.agronomy.levels.level_grid import LevelGrid, level_grid
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
