"""A survey may be written in any grid, turned, in feet and from any benchmark: what it says of the green is one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.agronomy.levels.crown import fit_quadratic
from pipeline.agronomy.levels.green_axes import green_axes
from pipeline.agronomy.levels.level_grid import level_grid
from pipeline.agronomy.levels.levels import fit_plane
from pipeline.agronomy.levels.lows import lows
from pipeline.agronomy.levels.odd_levels import odd_readings
from pipeline.agronomy.levels.straightedge import straightedge_gaps

HUNDREDTH_MM = 0.01
FOOT_M, FOOT_MM = 0.3048, 304.8


def green() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """40 × 36 m at 2 m: tilt, a mound, a hollow, noise, one odd reading."""
    across, along = (one.ravel() for one in np.meshgrid(np.arange(0, 37, 2.0), np.arange(0, 41, 2.0)))
    draw = np.random.default_rng(17)
    z = 0.6 * across - 0.4 * along + 9 * np.exp(-((across - 24) ** 2 + (along - 14) ** 2) / 30)
    z -= 18 * np.exp(-((across - 10) ** 2 + (along - 30) ** 2) / 20) + draw.normal(0, 1, z.size)
    z[200] -= 90
    return across, along, z


ACROSS, ALONG, HEIGHTS = green()

turns = st.floats(-180, 180)
eastings = st.floats(0, 700_000)
northings = st.floats(0, 1_300_000)
benchmarks = st.floats(-500_000, 3_000_000)


def surveyed(turn: float, east: float, north: float, benchmark: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The same green in the coordinates of a grid, turned, written in feet, and read back in metres and millimetres."""
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    x = (east + ACROSS * cos + ALONG * sin) / FOOT_M
    y = (north - ACROSS * sin + ALONG * cos) / FOOT_M
    z = (HEIGHTS + benchmark) / FOOT_MM
    return x * FOOT_M, y * FOOT_M, z * FOOT_MM


@given(turns, eastings, northings, benchmarks)
def test_residuals_do_not_depend_on_how_the_survey_was_written(
    turn: float, east: float, north: float, benchmark: float
) -> None:
    """Eastings of hundreds of thousands, any turn, feet, any benchmark: to a hundredth of a millimetre."""
    x, y, z = surveyed(turn, east, north, benchmark)
    about_mean = z - z.mean()
    about_plane = z - fit_plane(x, y, z).at(x, y)
    about_crown = z - fit_quadratic(x, y, z).at(x, y)
    assert np.abs(about_mean - (HEIGHTS - HEIGHTS.mean())).max() < HUNDREDTH_MM
    assert np.abs(about_plane - (HEIGHTS - fit_plane(ACROSS, ALONG, HEIGHTS).at(ACROSS, ALONG))).max() < HUNDREDTH_MM
    assert (
        np.abs(about_crown - (HEIGHTS - fit_quadratic(ACROSS, ALONG, HEIGHTS).at(ACROSS, ALONG))).max() < HUNDREDTH_MM
    )
    assert np.flatnonzero(odd_readings(x, y, z)).tolist() == [200]


@given(turns, eastings, northings, benchmarks)
def test_lows_and_grid_do_not_depend_on_it_either(turn: float, east: float, north: float, benchmark: float) -> None:
    """The green's own axes are found again, so area, volume and tonnes of its lows are the same."""
    x, y, z = surveyed(turn, east, north, benchmark)
    axes = green_axes(x, y, 40.0, 36.0)
    assert (axes.width_m, axes.length_m) == pytest.approx((36, 40), abs=1e-5)
    grid = level_grid(*axes.of(x, y), z)
    assert grid.as_surveyed
    found = lows(grid.less(np.full_like(grid.height_mm, z.mean())), 6.0, 1.5)
    plain = level_grid(ACROSS, ALONG, HEIGHTS)
    wanted = lows(plain.less(np.full_like(plain.height_mm, HEIGHTS.mean())), 6.0, 1.5)
    assert len(found) == len(wanted)
    for one, other in zip(found, wanted, strict=True):
        assert one.deepest_mm == pytest.approx(other.deepest_mm, abs=HUNDREDTH_MM)
        assert (one.area_m2, one.volume_m3, one.mass_t) == pytest.approx(
            (other.area_m2, other.volume_m3, other.mass_t), rel=1e-4
        )


@given(st.lists(st.integers(-50, 50), min_size=7, max_size=40), st.integers(-1000, 1000), st.integers(-20, 20))
def test_a_straightedge_sees_neither_benchmark_nor_tilt(heights: list[int], benchmark: int, slope: int) -> None:
    """The edge lies on the ground: what is under it does not change when the ground is raised or tilted as a whole."""
    z = np.array(heights, dtype=float)
    tilted = z + benchmark + slope * np.arange(len(z))
    assert straightedge_gaps(tilted, 0.5, 3.0) == pytest.approx(straightedge_gaps(z, 0.5, 3.0), abs=1e-9)


@given(st.lists(st.integers(-50, 50), min_size=7, max_size=40))
def test_a_longer_straightedge_never_shows_less(heights: list[int]) -> None:
    """Every way of laying a short edge is one of laying a long one."""
    z = np.array(heights, dtype=float)
    gaps = [straightedge_gaps(z, 0.5, length) for length in (1.0, 2.0, 3.0)]
    assert (gaps[0] <= gaps[1] + 1e-9).all()
    assert (gaps[1] <= gaps[2] + 1e-9).all()
    assert (gaps[0] >= 0).all()


def test_ground_without_a_point_near_stays_unknown() -> None:
    """A missing corner filled in silence would be a wrong map."""
    keep = ~((ACROSS > 24) & (ALONG > 26))
    grid = level_grid(ACROSS[keep], ALONG[keep], HEIGHTS[keep])
    assert not grid.as_surveyed
    assert np.isnan(grid.height_mm[-1, -1])
    assert not np.isnan(grid.height_mm[0]).any()
    assert np.isnan(grid.height_mm).mean() < 0.1


def test_a_crown_is_not_cut_by_chords_between_its_points() -> None:
    """Between scattered points of an exact crown the heights are the crown's, at the edge too: chords of 2 m would lie
    under it, and make lows of sound ground."""
    draw = np.random.default_rng(4)
    x, y = draw.uniform(0, 38, (2, 500))
    crown = lambda u, v: -150 * ((u - 19) / 19) ** 2 - 150 * ((v - 19) / 19) ** 2  # noqa: E731
    grid = level_grid(x, y, crown(x, y))
    known = ~np.isnan(grid.height_mm)
    assert np.abs(grid.height_mm - crown(*grid.places()))[known].max() < 1e-6


@pytest.mark.parametrize("few", [0, 1, 2])
def test_too_few_points_or_a_line_make_no_plane(few: int) -> None:
    with (
        pytest.raises(ValueError, match=r"three points|mean of empty|not on one line|a plane"),
        np.errstate(all="ignore"),
    ):
        line = np.arange(float(few + 3))
        fit_plane(line, 2 * line, line)
    with pytest.raises(ValueError, match="no area"):
        green_axes(line, 2 * line)


def test_a_straightedge_must_be_a_whole_number_of_steps() -> None:
    """An edge silently shortened would show a smaller gap."""
    with pytest.raises(ValueError, match="whole number"):
        straightedge_gaps(np.zeros(10), 0.7, 3.0)
