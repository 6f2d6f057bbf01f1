"""Steps through a level survey: how often ground alone is called one, and how often one that was made is found."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.agronomy.levels.levels import Floats
from pipeline.agronomy.levels.steps import step_at, step_between

LAYOUTS = ("rows", "there and back", "scattered")
Ground = tuple[Floats, Floats, Floats]


def places(rng: np.random.Generator, layout: str) -> tuple[Floats, Floats, float, float]:
    """Places of a survey in the order they were read, and the green's width and length."""
    width, length, step = rng.uniform(24, 40), rng.uniform(28, 40), rng.choice([1.5, 2.0, 2.5, 3.0])
    if layout == "scattered":
        n = int(rng.integers(100, 300))
        x, y = rng.uniform(0, width, n), rng.uniform(0, length, n)
        order = rng.permutation(n) if rng.random() < 0.5 else np.argsort(np.floor(y / 3) * 1000 + x)
        return x[order], y[order], width, length
    across, along = np.meshgrid(np.arange(0, width, step), np.arange(0, length, step))
    if layout == "there and back":
        across[1::2] = across[1::2, ::-1].copy()
    x, y = across.ravel(), along.ravel()
    return x + rng.normal(0, 0.05, len(x)), y + rng.normal(0, 0.05, len(y)), width, length


def ground(rng: np.random.Generator, layout: str, *, crown: bool, drain: bool = False) -> Ground:
    """A green as one may find it: a tilt, a crown of one of three shapes, hollows and rises, readings to 1 to 2 mm."""
    x, y, width, length = places(rng, layout)
    z = x * rng.normal(0, 1.5) + y * rng.normal(0, 1.5)
    if crown:
        high, middle = rng.uniform(250, 380), (width / 2 + rng.normal(0, 2), length / 2 + rng.normal(0, 2))
        r = np.hypot((x - middle[0]) / (width / 2), (y - middle[1]) / (length / 2)) / np.sqrt(2)
        shapes = (1 - r**2, (np.cos(np.pi * np.minimum(r, 1)) + 1) / 2, 1 - np.sqrt(r**2 + 0.02))
        z = z + high * shapes[int(rng.integers(3))]
    for _ in range(int(rng.integers(0, 8))):
        deep, wide, u, v = rng.uniform(-35, 25), rng.uniform(1.5, 6), rng.uniform(0, width), rng.uniform(0, length)
        z = z + deep * np.exp(-((x - u) ** 2 + (y - v) ** 2) / 2 / wide**2)
    if drain:  # a line of sunk ground right across, along the rows that are read
        z = z - rng.uniform(5, 25) * np.exp(-(((y - rng.uniform(0, length)) / rng.uniform(0.7, 2)) ** 2))
    return x, y, np.round(z + rng.normal(0, rng.uniform(1, 2), len(z)))


def told(kind: int, size_mm: float, count: int, *, crown: bool, drain: bool = False, inner: bool = False) -> float:
    """Share of greens called stepped, of which a block was lifted: to the end, or within (``inner``)."""
    hits = 0
    for number in range(count):
        rng = np.random.default_rng([kind, number, int(crown)])
        x, y, z = ground(rng, LAYOUTS[number % 3], crown=crown, drain=drain)
        first = int(len(z) * rng.uniform(0.2, 0.8))
        stop = min(len(z) - 5, first + int(len(z) * rng.uniform(0.1, 0.4))) if inner else len(z)
        z[first:stop] += size_mm
        hits += step_between(x, y, z) is not None
    return hits / count


@pytest.mark.parametrize("crown", [False, True])
def test_ground_alone_is_hardly_ever_a_step(*, crown: bool) -> None:
    """One survey in a hundred at most is asked about for nothing; of 600 made so it was none."""
    assert told(1, 0.0, 150, crown=crown) <= 0.01


@pytest.mark.parametrize("crown", [False, True])
def test_a_sunk_drain_is_seldom_a_step(*, crown: bool) -> None:
    """A drain sunk right across the green, along the rows read, is the ground that most looks like a moved level."""
    assert told(2, 0.0, 100, crown=crown, drain=True) <= 0.08


@pytest.mark.parametrize(("size", "least"), [(20.0, 0.65), (30.0, 0.8), (-50.0, 0.9), (200.0, 1.0), (-1500.0, 1.0)])
@pytest.mark.parametrize("crown", [False, True])
def test_a_moved_instrument_is_found(size: float, least: float, *, crown: bool) -> None:
    """From 20 mm on most (76 to 96 of 100), of 50 mm 95, of 200 mm all: whichever point it was moved at."""
    assert told(3, size, 60, crown=crown) >= least
    assert told(4, size, 30, crown=crown, inner=True) >= least - 0.05


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
