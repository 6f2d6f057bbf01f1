"""What the classes of the trade can do, against libraries, published figures and the words of a standard."""

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.optimize import minimize

from pipeline.agronomy.crown import fit_quadratic
from pipeline.agronomy.level_grid import LevelGrid
from pipeline.agronomy.organic_matter import Comparability
from pipeline.agronomy.profile import Layer, Profile

pytestmark = pytest.mark.published


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


def test_layers_taken_apart_weigh_what_the_published_layers_weigh():
    """The ten-step example (ATC 2021-04-23): of 6.7, 3.1, 2.0 and 1.6 % in 20 mm each the top 70 mm weigh 90,429 g."""
    whole = Profile.of((6.7, 3.1, 2.0, 1.6), (20.0,) * 4)
    assert whole.thickness_mm == pytest.approx(80)
    above, below = whole.split(70.0)
    assert above.mass_kg_m2 == pytest.approx(90.429, abs=0.001)
    assert (above.thickness_mm, below.thickness_mm) == pytest.approx((70, 10))
    assert above.mass_kg_m2 + below.mass_kg_m2 == pytest.approx(whole.mass_kg_m2)
    assert above.organic_kg_m2 + below.organic_kg_m2 == pytest.approx(whole.organic_kg_m2)
    assert Layer.of(6.7, 20.0).scaled(0.5) == Layer.of(6.7, 10.0)


STANDARD = Comparability(0, 20, 440, sieved=False, verdure=False)


@pytest.mark.parametrize(
    ("other", "said"),
    [
        (Comparability(0, 20, 440, sieved=False, verdure=True), "verdure removed against verdure left on"),
        (Comparability(0, 20, 360, sieved=False, verdure=False), "burned at 440 °C against burned at 360 °C"),
        (Comparability(0, 20, 440, sieved=False, verdure=False), ""),
    ],
)
def test_what_the_standard_method_fixes_forbids_a_comparison(other, said):
    """USGA Green Section Record 62(02) and ATC 2020-05-13: verdure and burn temperature change the result."""
    assert STANDARD.difference(other) == said
    assert STANDARD.unstated(other) == ""
