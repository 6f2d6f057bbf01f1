"""What the classes of the trade can do, against libraries."""

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.optimize import minimize

from pipeline.agronomy.levels.crown import fit_quadratic
from pipeline.agronomy.levels.level_grid import LevelGrid
from tests.outside_checks import outside


@outside("library", "scipy.optimize.minimize")
def test_top_of_a_surface_as_scipy_finds_it():
    """A dome with its top aside of the middle: the closed form against a general minimiser; a bowl has no top."""
    draw = np.random.default_rng(4)
    x, y = draw.uniform(0, 38, 300), draw.uniform(0, 36, 300)
    dome = 300 - 0.4 * (x - 17) ** 2 - 0.5 * (y - 20) ** 2 + 0.1 * (x - 17) * (y - 20) + draw.normal(0, 2, 300)
    surface = fit_quadratic(x, y, dome)
    found = minimize(lambda at: -float(surface.at(np.array([at[0]]), np.array([at[1]]))[0]), (18, 18), tol=1e-12)
    assert surface.top == pytest.approx(tuple(found.x), abs=1e-4)
    assert surface.top == pytest.approx((17, 20), abs=0.5)
    assert fit_quadratic(x, y, -dome).top is None


@outside("library", "scipy.integrate.trapezoid")
def test_ground_of_a_grid_is_that_of_scipys_trapezoids():
    """Heights times the ground each stands for are the volume by the trapezoid rule, both ways."""
    across, along = np.arange(0, 38.5, 2.0), np.arange(0, 36.5, 1.5)
    u, v = np.meshgrid(across, along)
    grid = LevelGrid(across, along, 5 * np.sin(u / 7) + 0.2 * v, as_surveyed=True)
    assert grid.step_m == pytest.approx((2.0, 1.5))
    theirs = trapezoid(trapezoid(grid.height_mm, across, axis=1), along)
    assert float((grid.areas_m2 * grid.height_mm).sum()) == pytest.approx(float(theirs), rel=1e-12)
    assert float(grid.areas_m2.sum()) == pytest.approx(38.0 * 36.0)
    assert np.array_equal(grid.less(0.2 * v).height_mm, grid.height_mm - 0.2 * v)
