"""Steps through a level survey: how often ground alone is called one, and how often one that was made is found."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.agronomy.levels.steps import step_at, step_between
from tests.calibrate.steps import ground, told
from tests.thorough import FUZZ, beyond, thorough


@pytest.mark.parametrize("crown", [False, True])
@beyond(1)
def test_ground_alone_is_hardly_ever_a_step(*, crown: bool) -> None:
    """One survey in a hundred at most is asked about for nothing (docs/calibration.md has the rates)."""
    assert told(1, 0.0, 150, crown=crown) <= 0.01


@pytest.mark.parametrize("crown", [False, True])
@thorough
def test_a_sunk_drain_is_seldom_a_step(*, crown: bool) -> None:
    """A drain sunk right across the green, along the rows read, is the ground that most looks like a moved level.

    It was 0.08 while no step under 15 mm was told: 12 mm are found at that price.
    """
    assert told(2, 0.0, 100, crown=crown, drain=True) <= 0.12


@pytest.mark.parametrize(
    ("size", "least"), [(12.0, 0.45), (20.0, 0.65), (30.0, 0.8), (-50.0, 0.9), (200.0, 1.0), (-1500.0, 1.0)]
)
@pytest.mark.parametrize("crown", [False, True])
@pytest.mark.hypothesis  # so that ``make fuzz`` runs it: of two and a half times the surveys then
@beyond(2)
def test_a_moved_instrument_is_found(size: float, least: float, *, crown: bool) -> None:
    """From 20 mm on most are found, of 200 mm all, whichever point it was moved at (docs/calibration.md)."""
    count = 60 if FUZZ else 24
    assert told(3, size, count, crown=crown) >= least
    assert told(4, size, count // 2, crown=crown, inner=True) >= least - 0.05


@pytest.mark.parametrize("crown", [False, True])
@beyond(1)
def test_a_step_of_eight_millimetres_is_not_told_from_the_ground(*, crown: bool) -> None:
    """The docs say so (docs/calibration.md, docs/method.md), so that nobody trusts the silence."""
    assert told(3, 8.0, 30, crown=crown) <= 0.1


def test_the_block_and_its_height_are_told() -> None:
    """The points named are those of the fewer readings, and the height is what they are off."""
    rng = np.random.default_rng(5)
    x, y, z = ground(rng, "rows", crown=False)
    z[len(z) - 40 :] -= 300
    found = step_between(x, y, z)
    assert found is not None
    assert np.flatnonzero(found.block).tolist() == list(range(len(z) - 40, len(z)))
    assert found.step_mm == pytest.approx(-300, abs=15)
    assert step_at(x, y, z, found.block) == pytest.approx(found.step_mm)


def test_rows_of_a_shuffled_file_are_a_block_too() -> None:
    """A file sorted by point names no longer tells when the instrument was moved; the rows of the grid still do."""
    rng = np.random.default_rng(6)
    x, y, z = ground(rng, "rows", crown=False)
    z[y > 16] += 80
    order = rng.permutation(len(z))
    assert step_between(x[order], y[order], z[order]) is not None


def test_a_single_sunk_row_is_no_step() -> None:
    """An old drain, or the edge that mowers turn on: both sides of it go on at one height."""
    x, y = (one.ravel().astype(np.float64) for one in np.meshgrid(np.arange(0, 38, 2), np.arange(0, 38, 2)))
    assert step_between(x, y, np.where(y == 18, -30.0, 0.0) + (x * 7 + y * 5) % 3) is None


def test_too_few_points_tell_no_step() -> None:
    """Two planes of eight points are needed."""
    x, y = (one.ravel().astype(np.float64) for one in np.meshgrid(np.arange(3), np.arange(5)))
    assert step_between(x, y, np.where(y > 2, 100.0, 0.0)) is None
    assert step_at(x, y, np.where(y > 2, 100.0, 0.0), y > 2) == 0.0
