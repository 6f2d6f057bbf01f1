"""Level surveys of ground that is known, and of which the instrument was moved or not: how often a step is told."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pipeline.agronomy.levels.levels import Floats, point_spacing_m
from pipeline.agronomy.levels.steps import step_between
from tests.calibrate.result import Shares

LAYOUTS = ("rows", "there and back", "scattered")
SIZES_MM = (8.0, 12.0, 20.0, 30.0, -50.0, 200.0)
"""Heights that an instrument is moved by."""
MINGLED = ("every other point", "a checkerboard", "every other row", "any point")
"""Which points of two standpoints are of the second, where they lie mingled."""
MINGLED_MM = (8.0, 12.0, 20.0, 80.0)
"""Heights between two standpoints whose points lie mingled."""
EACH = 6
"""Surveys of each sort a county: looking for a step is the dearest of what is calibrated."""
EVEN = 18
"""Surveys of ground as it is: what is asked for nothing is to be known best."""
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


def second(rng: np.random.Generator, which: str, x: Floats, y: Floats) -> NDArray[np.bool_]:
    """Which points are read from the second of two standpoints."""
    if which == "any point":
        return rng.random(len(x)) < rng.uniform(0.35, 0.65)
    if which == "every other point":
        return np.arange(len(x)) % 2 == 1
    step = point_spacing_m(x, y)
    across, along = np.round(x / step), np.round(y / step)
    return np.asarray((along if which == "every other row" else across + along) % 2 == 1)


def mingled(kind: int, size_mm: float, count: int, *, crown: bool) -> float:
    """Share of greens called stepped, of which points here and there were read from another height."""
    hits = 0
    for number in range(count):
        rng = np.random.default_rng([kind, number, int(crown)])
        x, y, z = ground(rng, LAYOUTS[number % 3], crown=crown)
        hits += step_between(x, y, z + size_mm * second(rng, MINGLED[number % 4], x, y)) is not None
    return hits / count


def surveys(draw: np.random.Generator, shares: Shares) -> None:
    """Surveys of a county: of ground as it is, of a sunk drain, and of an instrument that was moved half-way."""
    for crown in (False, True):
        green = "crown green" if crown else "flat green"
        for number in range(EVEN):
            layout = LAYOUTS[number % len(LAYOUTS)]
            shares.of(f"level survey of a {green} asked about for a step there is not", "at most", 0.01).count(
                step_between(*ground(draw, layout, crown=crown)) is not None
            )
        for number in range(EACH):
            layout = LAYOUTS[number % len(LAYOUTS)]
            shares.of(f"the same, a drain sunk right across the {green}", "told", None).count(
                step_between(*ground(draw, layout, crown=crown, drain=True)) is not None
            )
            for size in SIZES_MM:
                x, y, z = ground(draw, layout, crown=crown)
                z[int(len(z) * draw.uniform(0.2, 0.8)) :] += size
                what = f"instrument moved by {abs(size):.0f} mm on a {green}, found"
                shares.of(what, "told", None).count(step_between(x, y, z) is not None)
            for size in MINGLED_MM:
                x, y, z = ground(draw, layout, crown=crown)
                z = z + size * second(draw, MINGLED[number % len(MINGLED)], x, y)
                what = f"points of two heights {size:.0f} mm apart, mingled on a {green}, found"
                shares.of(what, "told", None).count(step_between(x, y, z) is not None)
