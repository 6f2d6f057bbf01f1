"""Points of two standpoints that lie mingled: how often one height is called two, and how often two are found."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.agronomy.levels.levels import Floats
from pipeline.agronomy.levels.mingled import two_groups
from pipeline.agronomy.levels.steps import step_between
from tests.calibrate.steps import LAYOUTS, ground, mingled


def checkerboard(apart_mm: float, *, noise_mm: float = 1.0, side: int = 20) -> tuple[Floats, Floats, Floats]:
    """A level grid of 2 m of which every other point, row by row in turn, was read from another height."""
    column, row = (one.ravel() for one in np.meshgrid(np.arange(side), np.arange(side)))
    rng = np.random.default_rng(11)
    z = 1000.0 + apart_mm * ((column + row) % 2) + rng.normal(0, noise_mm, side * side)
    return 2.0 * column, 2.0 * row, z


@pytest.mark.parametrize(("size", "least"), [(12.0, 0.3), (20.0, 0.8), (80.0, 0.95)])
@pytest.mark.parametrize("crown", [False, True])
def test_two_standpoints_that_lie_mingled_are_found(size: float, least: float, *, crown: bool) -> None:
    """Every other point, a checkerboard, every other row, any point: from 20 mm on nearly all (docs/calibration.md)."""
    assert mingled(5, size, 24, crown=crown) >= least


def test_the_points_and_their_height_are_told() -> None:
    """A checkerboard of two set-ups 80 mm apart once loaded without a word."""
    x, y, z = checkerboard(80.0)
    found = step_between(x, y, z)
    assert found is not None
    upper = (x / 2 + y / 2) % 2 == 1
    assert np.array_equal(found.block, upper if found.step_mm > 0 else ~upper)
    assert abs(found.step_mm) == pytest.approx(80, abs=1)


def test_eight_millimetres_are_not_told() -> None:
    """What is not told from the ground is said to be so, and never half the time."""
    assert step_between(*checkerboard(8.0)) is None
    assert step_between(*checkerboard(12.0)) is not None


@pytest.mark.parametrize("written", [10.0, 25.4])
def test_heights_written_in_wide_steps_are_no_two_groups(written: float) -> None:
    """A green level to the centimetre, or the inch, reads one of two values at every point."""
    rng = np.random.default_rng(12)
    x, y, _ = checkerboard(0.0)
    z = np.round(40.5 + rng.normal(0, 1, len(x)) / written) * written
    assert set(np.round(np.diff(np.unique(z)), 6)) == {written}
    assert step_between(x, y, z) is None


def test_rough_readings_of_one_height_are_one_group() -> None:
    """Whatever the errors, they have one middle: 15 mm of a satellite receiver, even ones, ones with wild readings."""
    for number in range(24):
        rng = np.random.default_rng([13, number])
        x, y, z = ground(rng, LAYOUTS[number % 3], crown=number % 2 == 0)
        errors = (rng.normal(0, 15, len(z)), rng.uniform(-20, 20, len(z)), 5 * rng.standard_t(3, len(z)))
        places = np.column_stack((x, y)) / 40.0
        for error in errors:
            read = z + error
            assert two_groups(places, read, error) is None


def test_a_block_is_not_mingled() -> None:
    """Two halves of a survey are two groups at their border alone; they are told as a block."""
    x, y, z = checkerboard(0.0)
    found = step_between(x, y, z + 80.0 * (y > 20))
    assert found is not None
    assert np.array_equal(found.block, (y > 20) if found.step_mm > 0 else (y <= 20))
