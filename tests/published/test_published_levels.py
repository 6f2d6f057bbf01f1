"""Levels against published figures, reference libraries and shapes whose figures are known exactly."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy.integrate import dblquad
from scipy.ndimage import map_coordinates
from scipy.spatial.distance import cdist
from scipy.stats import binned_statistic_2d

from pipeline.agronomy.levels.crown import crown_of, fit_quadratic
from pipeline.agronomy.levels.green_axes import green_axes, rinks_across
from pipeline.agronomy.levels.level_change import detectable_mm, level_change
from pipeline.agronomy.levels.level_grid import LevelGrid, cell_means, level_grid, resampled
from pipeline.agronomy.levels.level_map import band_edges_mm, level_map
from pipeline.agronomy.levels.levels import coverage, fit_plane, point_spacing_m
from pipeline.agronomy.levels.lows import Low, cut_and_fill_m3, lows
from pipeline.agronomy.levels.mingled import two_groups
from pipeline.agronomy.levels.odd_levels import odd_readings
from pipeline.agronomy.levels.rinks import rink_levels
from pipeline.agronomy.levels.steps import step_at, step_between
from pipeline.agronomy.levels.straightedge import bowl_path, largest_gap, straightedge_gaps
from pipeline.agronomy.surface import level_summary
from tests.outside_checks import outside


def grid_points(width=38.0, length=38.0, step=1.0):
    """Across and along of a square grid."""
    axes = np.arange(0, width + step / 2, step), np.arange(0, length + step / 2, step)
    return tuple(one.ravel() for one in np.meshgrid(*axes))


def grid_of(shape, width=38.0, length=38.0, step=1.0):
    across, along = np.arange(0, width + step / 2, step), np.arange(0, length + step / 2, step)
    u, v = np.meshgrid(across, along)
    return LevelGrid(across, along, shape(u, v), as_surveyed=True)


# NIST StRD, Norris (linear, 36 points): certified values, reproduced from the US-government data set.
NORRIS_X = np.fromstring(
    "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1 "
    "995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5",
    sep=" ",
)
NORRIS_Y = np.fromstring(
    "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3 "
    "998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2",
    sep=" ",
)


@outside("worked example", "NIST StRD, Norris: certified values")
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_plane_through_certified_points_has_the_certified_slope(mirrored):
    """NIST StRD Norris as the middle line of a survey, its points repeated to both sides: slope and intercept certified
    to 15 figures, residual standard deviation 0.884796396144373."""
    x, y = np.tile(NORRIS_X, 2), np.repeat([-1.0, 1.0], 36)
    z = np.tile(NORRIS_Y, 2)
    plane = fit_plane(y, x, z) if mirrored else fit_plane(x, y, z)
    slope, flat = (plane.rise_y_mm_m, plane.rise_x_mm_m) if mirrored else (plane.rise_x_mm_m, plane.rise_y_mm_m)
    assert slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert flat == pytest.approx(0.0, abs=1e-12)
    here = (np.zeros(1), np.zeros(1))
    assert float(plane.at(*here)[0]) == pytest.approx(-0.262323073774029, rel=1e-9)
    left = NORRIS_Y - (plane.at(np.zeros(36), NORRIS_X) if mirrored else plane.at(NORRIS_X, np.zeros(36)))
    assert math.sqrt(float(left @ left) / 34) == pytest.approx(0.884796396144373, rel=1e-10)


@outside("library", "statsmodels OLS")
def test_plane_agrees_with_numpy_and_statsmodels():
    """Least squares of two libraries on the same scattered points, in grid eastings."""
    draw = np.random.default_rng(7)
    x, y = draw.uniform(412_300, 412_340, 200), draw.uniform(267_800, 267_838, 200)
    z = 1000 + 0.8 * (x - 412_300) - 0.3 * (y - 267_800) + draw.normal(0, 4, 200)
    plane = fit_plane(x, y, z)
    design = np.column_stack((np.ones(200), x - 412_320, y - 267_819))
    by_numpy = np.linalg.lstsq(design, z, rcond=None)[0]
    by_statsmodels = sm.OLS(z, design).fit().params
    for other in (by_numpy, by_statsmodels):
        assert (plane.rise_x_mm_m, plane.rise_y_mm_m) == pytest.approx(tuple(other[1:]), rel=1e-9)
    assert np.abs(plane.at(x, y) - design @ by_numpy).max() < 1e-6


def test_slope_and_direction_of_a_plane():
    """By definition: 3 mm/m up in x and 4 in y falls 5 mm/m towards south-west, 216.87° from y."""
    x, y = grid_points(10, 10)
    plane = fit_plane(x, y, 3 * x + 4 * y)
    assert plane.slope_mm_m == pytest.approx(5.0)
    assert plane.falls_towards_deg == pytest.approx(180 + math.degrees(math.atan2(3, 4)))


def test_survey_arithmetic_as_published_does_not_depend_on_the_benchmark():
    """Check value 7.4 (arithmetic of the ± 6 mm rule): 9 deviations, largest 7, 88.9 % within."""
    heights = [0, 2, -1, 3, -4, 5, -7, 1, 1]
    for benchmark in (0.0, 1012.0, 87_654.3):
        found = level_summary([one + benchmark for one in heights], 6)
        assert found.largest_deviation_mm == pytest.approx(7)
        assert found.within_pct == pytest.approx(88.9, abs=0.05)


@outside("standard", "Laws of the Sport of Bowls, as quoted by DLGSC: a rink of 4.3 to 5.8 m, normally six")
@pytest.mark.parametrize(("width", "rinks"), [(34.0, 6), (31.0, 6), (36.0, 6), (38.0, 7), (40.0, 7), (5.0, 1)])
def test_rinks_are_as_wide_as_the_laws_allow(width, rinks):
    """Laws of the Sport of Bowls as quoted by DLGSC: 4.3 to 5.8 m a rink, 0.6 m to the side ditch, normally six."""
    assert rinks_across(width) == rinks
    if width > 10:
        assert 4.3 <= (width - 1.2) / rinks <= 5.8


def test_spacing_of_a_known_grid():
    """By definition: a grid of 1.5 m."""
    x, y = grid_points(30, 30, 1.5)
    assert point_spacing_m(x + 4e5, y + 2e5) == pytest.approx(1.5, rel=1e-6)


def test_axes_of_a_turned_rectangle_are_those_of_the_rectangle():
    """A rectangle of 40 × 34 m turned by a known angle, its register saying which side is along."""
    u, v = grid_points(34, 40, 2)
    turn = math.radians(25)
    x = 4e5 + u * math.cos(turn) + v * math.sin(turn)
    y = 2e5 - u * math.sin(turn) + v * math.cos(turn)
    axes = green_axes(x, y, 40.0, 34.0)
    assert (axes.turn_deg, axes.width_m, axes.length_m) == pytest.approx((25, 34, 40), abs=1e-6)
    assert axes.told
    across, along = axes.of(x, y)
    assert np.abs(across - u).max() < 1e-6
    assert np.abs(along - v).max() < 1e-6
    turned = green_axes(x, y, 34.0, 40.0)  # the register says that play runs the short way
    assert (turned.width_m, turned.length_m) == pytest.approx((40, 34), abs=1e-6)
    assert not green_axes(x, y).told


@outside("library", "statsmodels RLM with HuberT")
def test_quadratic_agrees_with_statsmodels_robust_regression():
    """Huber's M-estimate with the median absolute deviation, against statsmodels' RLM; ten points lie far off."""
    draw = np.random.default_rng(3)
    x, y = draw.uniform(0, 40, 150), draw.uniform(0, 38, 150)
    z = 2000 - 0.4 * (x - 20) ** 2 - 0.3 * (y - 19) ** 2 + draw.normal(0, 3, 150)
    z[::15] += 60
    found = fit_quadratic(x, y, z, rounds=400)
    u, v = (x - found.x_m) / found.scale_m, (y - found.y_m) / found.scale_m
    design = np.column_stack((np.ones_like(u), u, v, u * u, u * v, v * v))
    other = sm.RLM(z, design, M=sm.robust.norms.HuberT()).fit(maxiter=400, tol=1e-10)
    assert np.abs(found.at(x, y) - other.fittedvalues).max() < 1e-3


def test_exact_crown_has_its_own_figures():
    """z = 300 − 150·((x−19)/19)² − 150·((y−20)/20)²: top in the middle, every corner 300 mm down, even quarters."""
    x, y = grid_points(38, 40)
    z = 2300 - 150 * ((x - 19) / 19) ** 2 - 150 * ((y - 20) / 20) ** 2
    surface = fit_quadratic(x, y, z)
    assert np.abs(surface.at(x, y) - z).max() < 1e-9
    crown = crown_of(surface, x, y, z)
    assert (crown.height_mm, crown.across_m, crown.along_m) == pytest.approx((300, 19, 20))
    assert crown.corners_mm == pytest.approx((300, 300, 300, 300))
    assert crown.quarters_mm == pytest.approx((0, 0, 0, 0), abs=1e-9)


def test_a_sunk_quarter_is_told():
    """The far right quarter lies 12 mm lower: it stands 9 below the mean of the quarters, the others 3 above."""
    x, y = grid_points(38, 40)
    z = 300 - 150 * ((x - 19) / 19) ** 2 - 150 * ((y - 20) / 20) ** 2 - 12.0 * ((x > 19) & (y > 20))
    assert crown_of(fit_quadratic(x, y, z), x, y, z).quarters_mm == pytest.approx((3, 3, 3, -9))


@pytest.mark.parametrize("shape", [lambda x, y: 0 * x + 5, lambda x, y: x * x + y * y, lambda x, y: x * x - y * y])
def test_what_has_no_top_is_no_crown(shape):
    """A plane, a hollow and a saddle: a height of crown would be an invention."""
    x, y = grid_points(20, 20)
    z = shape(x - 10, y - 10)
    crown = crown_of(fit_quadratic(x, y, z), x, y, z)
    assert crown.height_mm is None
    assert crown.corners_mm == ()


def test_an_odd_reading_is_found_on_a_plane_with_a_crown():
    """A decimetre misread; the real hollow of 12 mm beside it is left alone, and so are tilt and crown."""
    x, y = grid_points(38, 38, 2)
    draw = np.random.default_rng(5)
    z = 1000 + 2 * x - 0.4 * (y - 19) ** 2 + draw.normal(0, 1, x.size)
    z -= 12 * np.exp(-((x - 10) ** 2 + (y - 10) ** 2) / 18)
    assert not odd_readings(x, y, z).any()
    z[137] += 100
    off = odd_readings(x, y, z)
    assert np.flatnonzero(off).tolist() == [137]
    assert off[137] == pytest.approx(100, abs=6)


def test_two_heights_that_lie_mingled_are_told_apart():
    """A level grid of which every other point lies 50 mm higher, by construction; of one height there is none."""
    x, y = grid_points(step=2.0)
    upper = (x / 2 + y / 2) % 2 == 1
    z = 1000.0 + (x * 3 + y) % 5 + 50.0 * upper
    places = np.column_stack((x, y)) / 38.0
    found = two_groups(places, z, z - z.mean())
    assert found is not None
    assert found.apart_mm == pytest.approx(50, abs=1)
    assert np.array_equal(found.upper, upper)
    level = z - 50.0 * upper
    assert two_groups(places, level, level - level.mean()) is None


def test_a_step_between_two_standpoints_is_found_and_its_size_told():
    """Half of a sloping green read 200 mm too low, by construction; without the step there is none."""
    x, y = grid_points(38, 38, 3)
    z = 2 * x + (x * 7 + y * 5) % 3
    assert step_between(x, y, z) is None
    low = z - 200 * (y > 19)
    found = step_between(x, y, low)
    assert found is not None
    assert abs(found.step_mm) == pytest.approx(200, abs=5)
    assert step_at(x, y, low, y > 19) == pytest.approx(-200, abs=5)


def test_what_fills_a_low_goes_on_in_ten_lifts_at_most():
    """By definition: ten lifts of 3 mm are 30 mm."""
    assert Low(1, 1, 30, 4, 0.1, 0.15, 10).dressed
    assert not Low(1, 1, 33, 4, 0.1, 0.15, 11).dressed


def test_a_missing_corner_is_seen_and_a_whole_grid_is_whole():
    """By definition; the corner left out is 8 m deep."""
    x, y = grid_points(38, 38, 2)
    whole = coverage(x, y, 3.0)
    assert (whole.share_pct, whole.corners_without) == (100.0, ())
    keep = ~((x > 28) & (y > 28))
    holed = coverage(x[keep], y[keep], 3.0)
    assert holed.corners_without == ("far right",)
    assert (holed.across_m, holed.along_m) == pytest.approx((38, 38))
    assert holed.share_pct < 97


@pytest.mark.parametrize("length", [1.0, 2.0, 3.0, 4.0])
def test_gap_under_a_straightedge_over_known_profiles(length):
    """Exact: a parabola k·s² leaves k·L²/4 under the middle of the edge wherever it lies, a V of slope g leaves g·L/2,
    a plane and a mound none."""
    s = np.arange(0, 20.001, 0.25)
    assert straightedge_gaps(2.0 * s**2, 0.25, length)[20:-20] == pytest.approx(2.0 * length**2 / 4)
    vee = straightedge_gaps(7.0 * np.abs(s - 10), 0.25, length)
    assert (vee.max(), s[vee.argmax()]) == pytest.approx((7.0 * length / 2, 10.0))
    assert straightedge_gaps(3.0 * s + 5, 0.25, length) == pytest.approx(0.0, abs=1e-9)
    assert straightedge_gaps(-2.0 * s**2, 0.25, length) == pytest.approx(0.0, abs=1e-9)


@outside("library", "scipy.spatial.ConvexHull")
def test_gap_agrees_with_the_string_drawn_over_every_window():
    """Against the upper convex hull (scipy.spatial) of each window of a rough profile: the same gap, to rounding."""
    from scipy.spatial import ConvexHull

    draw = np.random.default_rng(11)
    z, step, reach = draw.normal(0, 3, 60), 0.5, 6
    worst = np.zeros(60)
    for first in range(60 - reach):
        part = np.column_stack((np.arange(reach + 1) * step, z[first : first + reach + 1]))
        hull = part[sorted(ConvexHull(np.vstack((part, [[-1e-6, -1e3], [reach * step + 1e-6, -1e3]]))).vertices)[:-2]]
        string = np.interp(part[:, 0], hull[:, 0], hull[:, 1])
        worst[first : first + reach + 1] = np.maximum(worst[first : first + reach + 1], string - part[:, 1])
    assert straightedge_gaps(z, step, reach * step) == pytest.approx(worst, abs=1e-9)


@pytest.mark.parametrize("along", [True, False])
def test_largest_gap_of_a_green_is_found_where_it_is(along):
    """A trough 8 mm deep and 3 m wide, V-shaped, across one way only: the edge over it shows 8 mm, along it none."""
    grid = grid_of(lambda u, v: -8 * np.clip(1 - np.abs((v if along else u) - 12) / 1.5, 0, None), step=0.5)
    over, beside = largest_gap(grid, along), largest_gap(grid, not along)
    assert over.gap_mm == pytest.approx(8.0, abs=1e-9)
    assert (over.along_m if along else over.across_m) == pytest.approx(12.0)
    assert beside.gap_mm == pytest.approx(0.0, abs=1e-9)


def test_bowl_meets_known_gradients():
    """A line that rises 4 mm/m for 10 m, is level for 5, then falls 6 mm/m: steepest −6, sharpest change −6 at 15 m."""
    s = np.arange(0, 30.001, 0.5)
    z = np.where(s < 10, 4 * s, 40.0) - np.where(s > 15, 6 * (s - 15), 0.0)
    found = bowl_path(z, 0.5, 1.0)
    assert (found.steepest_mm_m, found.turn_mm_m, found.turn_at_m) == pytest.approx((-6, -6, 15))


def test_interpolation_of_analytic_surfaces_agrees_with_scipy():
    """Scattered points of sin·cos, whose maximum is 20 mm at (10, 15): within what a triangle of that size can miss
    (h²·M/8, the classic bound), and the same as scipy's own interpolator on the grid."""
    from scipy.interpolate import RegularGridInterpolator

    draw = np.random.default_rng(2)
    x, y = draw.uniform(0, 40, (2, 6000))
    shape = lambda u, v: 20 * np.sin(np.pi * u / 20) * np.sin(np.pi * v / 30)  # noqa: E731
    grid = level_grid(x, y, shape(x, y))
    assert not grid.as_surveyed
    u, v = grid.places()
    known = ~np.isnan(grid.height_mm)
    assert known.mean() > 0.99
    inner = known & (u > 1.5) & (u < 38.5) & (v > 1.5) & (v < 38.5)
    assert np.abs(grid.height_mm - shape(u, v))[inner].max() < 0.5
    top = np.unravel_index(np.nanargmax(np.where(inner, grid.height_mm, np.nan)), u.shape)
    assert (u[top], v[top]) == pytest.approx((10, 15), abs=1.0)
    whole = grid_of(shape, 40, 40, 0.5)
    finer = resampled(whole, 0.2, 0.2)
    read = RegularGridInterpolator((whole.along_m, whole.across_m), whole.height_mm)
    u, v = finer.places()
    assert finer.height_mm == pytest.approx(read((np.minimum(v, 40), np.minimum(u, 40))), abs=1e-9)


def test_means_by_cell_keep_the_mean_and_the_plane():
    """Four points a cell: means of places and heights of a plane lie on the plane; nothing is lost."""
    x, y = grid_points(9.5, 9.5, 0.5)
    across, along, z = cell_means(x, y, 3 * x - 2 * y, 1.0)
    assert len(z) == 100
    assert z == pytest.approx(3 * across - 2 * along)
    assert z.mean() == pytest.approx((3 * x - 2 * y).mean())


def test_volume_of_a_known_bowl():
    """A paraboloid of depth h and radius a: below the tolerance t it covers r² = a²(1 − t/h), and filling that to the
    top takes π·h·(r² − r⁴/2a²) (integrated by hand); the whole cap is π·a²·h/2."""
    deep, radius, tolerance = 40.0, 8.0, 6.0
    grid = grid_of(lambda u, v: -np.clip(deep * (1 - ((u - 19) ** 2 + (v - 20) ** 2) / radius**2), 0, None), step=0.1)
    (low,) = lows(grid, tolerance, 1.5)
    r2 = radius**2 * (1 - tolerance / deep)
    assert low.area_m2 == pytest.approx(math.pi * r2, rel=0.002)
    volume = math.pi * deep / 1000 * (r2 - r2**2 / (2 * radius**2))
    assert low.volume_m3 == pytest.approx(volume, rel=0.002)
    assert low.mass_t == pytest.approx(1.5 * volume, rel=0.002)
    assert (low.across_m, low.along_m, low.deepest_mm, low.lifts) == pytest.approx((19, 20, 40, 14))
    cut, fill = cut_and_fill_m3(grid)
    assert (cut, fill) == pytest.approx((0.0, math.pi * radius**2 * deep / 2000), rel=0.001)


def test_two_lows_are_two_and_none_is_none():
    """Two square pits of 20 mm, each of 21 × 21 places of a grid of 0.1 m: 4.41 m² and 88.2 l each; they touch by a
    corner alone, which does not join them."""
    pit = lambda u, v, x, y: (np.abs(u - x) < 1.04) & (np.abs(v - y) < 1.04)  # noqa: E731
    grid = grid_of(lambda u, v: -20.0 * (pit(u, v, 8, 8) | pit(u, v, 10.1, 10.1)), step=0.1)
    found = lows(grid, 6, 1.5)
    assert [one.area_m2 for one in found] == pytest.approx([4.41, 4.41])
    assert [one.volume_m3 for one in found] == pytest.approx([0.0882, 0.0882])
    assert lows(grid, 25, 1.5) == ()


def test_rinks_of_a_known_slope():
    """2 mm/m up along and 1 mm/m up across, 36 × 38 m in six rinks of 6 m: each rises 76 mm along and 6 across."""
    across, along = grid_points(36, 38)
    z = 2 * along + across
    found = rink_levels(across, along, z, level_grid(across, along, z), 6, 6.0)
    assert [one.number for one in found] == [1, 2, 3, 4, 5, 6]
    assert sum(one.n for one in found) == len(z)
    for one in found:
        assert (one.fall_mm, one.crossfall_mm) == pytest.approx((76, 6))
        assert one.path.steepest_mm_m == pytest.approx(2)
        assert one.path.turn_mm_m == pytest.approx(0, abs=1e-9)
    assert found[5].mean_mm > 0 > found[0].mean_mm


def test_errors_of_two_surveys_add_up_as_squares():
    """JCGM 100:2008, 5.1.2: √(3² + 4²) = 5, times 1.96 at 95 %."""
    assert detectable_mm(3, 4) == pytest.approx(1.96 * 5, rel=1e-4)


def test_change_is_told_at_shared_points_alone():
    """A hollow of 20 mm that sank between two surveys, the later one 0.1 m off and lacking a row."""
    x, y = grid_points(38, 38, 2)
    draw = np.random.default_rng(9)
    before = 1000 + draw.normal(0, 5, x.size)
    after = before - 3 - 20 * np.exp(-((x - 10) ** 2 + (y - 20) ** 2) / 8)
    keep = y > 0
    later = (x[keep] + 0.1, y[keep], after[keep])
    same = level_change(later, (x, y, before), same_benchmark=True)
    assert same.n == keep.sum()
    assert same.change_mm == pytest.approx((after - before)[keep])
    assert same.mean_mm == pytest.approx((after - before)[keep].mean())
    apart = level_change(later, (x, y, before + 500), same_benchmark=False)
    assert apart.mean_mm is None
    assert apart.change_mm == pytest.approx(same.change_mm - same.mean_mm)
    assert level_change((x + 1, y, after), (x, y, before), same_benchmark=True) is None


@outside("library", "scipy.spatial.distance.cdist and pandas' rank correlation")
@pytest.mark.parametrize("seed", range(3))
def test_shared_points_and_likeness_by_every_distance(seed):
    """Two surveys of scattered points a few decimetres apart: every pair measured, mutual nearest kept."""
    draw = np.random.default_rng(seed)
    x, y = draw.uniform(0, 8, (2, 120))
    new = np.append(x, x[:40]) + draw.normal(0, 0.12, 160), np.append(y, y[:40]) + draw.normal(0, 0.12, 160)
    old_z, new_z = draw.normal(0, 5, 120), draw.normal(0, 5, 160)
    found = level_change((*new, new_z), (x, y, old_z), same_benchmark=True)
    apart = cdist(np.column_stack(new), np.column_stack((x, y)))
    nearest, back = apart.argmin(axis=1), apart.argmin(axis=0)
    pairs = [(i, int(j)) for i, j in enumerate(nearest) if back[j] == i and apart[i, j] <= 0.25]
    assert list(zip(found.later.tolist(), found.earlier.tolist(), strict=True)) == pairs
    assert 40 < found.n < 120
    heights = pd.DataFrame([(new_z[i], old_z[j]) for i, j in pairs])
    assert found.likeness == pytest.approx(heights.corr(method="spearman").iloc[0, 1])
    assert found.mean_mm == pytest.approx((heights[0] - heights[1]).mean())


@outside("library", "scipy.spatial.distance.cdist")
def test_spacing_of_scattered_points_by_every_distance():
    """The middle one of the distances to the nearest other point."""
    x, y = np.random.default_rng(6).uniform(0, 38, (2, 250))
    apart = cdist(np.column_stack((x, y)), np.column_stack((x, y)))
    np.fill_diagonal(apart, np.inf)
    assert point_spacing_m(x, y) == pytest.approx(float(np.median(apart.min(axis=1))))


@outside("library", "scipy.stats.binned_statistic_2d")
def test_means_by_cell_as_scipy_bins_them():
    x, y = np.random.default_rng(8).uniform(0, 12, (2, 900))
    z = np.random.default_rng(9).normal(0, 4, 900)
    edges = [np.arange(0, 13.0) + x.min(), np.arange(0, 13.0) + y.min()]
    theirs, _, _, _ = binned_statistic_2d(x, y, z, "mean", bins=edges)
    _, _, ours = cell_means(x, y, z, 1.0)
    assert np.sort(ours) == pytest.approx(np.sort(theirs[~np.isnan(theirs)]))


@outside("library", "scipy.ndimage.map_coordinates, order 1")
def test_heights_between_the_places_of_a_grid_as_scipy_reads_them():
    draw = np.random.default_rng(12)
    grid = LevelGrid(np.arange(0, 20.5, 2.0), np.arange(0, 30.5, 1.5), draw.normal(0, 5, (21, 11)), as_surveyed=True)
    finer = resampled(grid, 0.4, 0.3)
    u, v = finer.places()
    theirs = map_coordinates(grid.height_mm, [np.minimum(v, 30.0) / 1.5, np.minimum(u, 20.0) / 2.0], order=1)
    assert finer.height_mm == pytest.approx(theirs)


@outside("library", "scipy.integrate.dblquad")
def test_filling_of_a_dished_green_as_scipy_integrates_it():
    """One dish of 30 mm over 20 × 16 m: what lies over 6 mm deep, and all below and above its middle height."""
    deep = lambda v, u: 30 * np.sin(np.pi * u / 20) * np.sin(np.pi * v / 16)  # noqa: E731
    grid = grid_of(lambda u, v: -deep(v, u), 20, 16, 0.1)
    (low,) = lows(grid, 6.0, 1.6)
    below, _ = dblquad(lambda v, u: deep(v, u) / 1000 * (deep(v, u) > 6), 0, 20, 0, 16, epsabs=1e-3)
    assert low.volume_m3 == pytest.approx(below, rel=0.003)
    assert low.mass_t == pytest.approx(1.6 * below, rel=0.003)
    over, under = cut_and_fill_m3(grid.less(np.full_like(grid.height_mm, -15.0)))
    rises, _ = dblquad(lambda v, u: max(0.0, 15 - deep(v, u)) / 1000, 0, 20, 0, 16, epsabs=1e-3)
    falls, _ = dblquad(lambda v, u: max(0.0, deep(v, u) - 15) / 1000, 0, 20, 0, 16, epsabs=1e-3)
    assert (over, under) == pytest.approx((rises, falls), rel=0.003)


def test_bands_of_a_map_fill_the_green_and_hold_what_they_say():
    """A plane rising 1 mm/m over 38 m: bands 4 mm wide are strips of 4 m; together they are the green."""
    assert band_edges_mm(-19, 19, 4) == (-14, -10, -6, -2, 2, 6, 10, 14)
    grid = grid_of(lambda u, v: u - 19 + 0 * v)
    made = level_map(grid, 4.0, "the mean", rinks=7)
    assert sum(band.area_m2 for band in made.bands) == pytest.approx(38 * 38, rel=1e-9)
    assert [band.area_m2 for band in made.bands] == pytest.approx([38 * 5, *[38 * 4] * 7, 38 * 5])
    for band in made.bands:
        for shape in band.shapes:
            xs = [x for x, _ in shape.outline]
            assert shape.outline[0] == shape.outline[-1]
            assert band.low_mm + 19 - 1e-3 <= min(xs) if band.low_mm > -math.inf else min(xs) == 0
            assert max(xs) <= band.high_mm + 19 + 1e-3 if band.high_mm < math.inf else max(xs) == 38
    assert made.rinks_m == pytest.approx([38 * k / 7 for k in range(1, 7)])


def test_a_hollow_in_a_band_is_a_hole_in_it():
    """A ring of ground has an inner edge; filled solid it would hide the low inside."""
    made = level_map(grid_of(lambda u, v: -20 * np.exp(-((u - 19) ** 2 + (v - 19) ** 2) / 40)), 4.0, "the mean")
    ring = next(band for band in made.bands if band.low_mm == -10)
    assert len(ring.shapes) == 1
    assert len(ring.shapes[0].holes) == 1
