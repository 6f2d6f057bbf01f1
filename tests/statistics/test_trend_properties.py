"""What must hold of every slope and test, whatever the values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.statistics.kendall import mann_kendall, smallest_p
from pipeline.statistics.trend import least_squares, theil_sen

# Tenths, so that shifting and scaling by whole numbers is exact enough to keep ties tied.
VALUE = st.integers(-200, 200).map(lambda v: v / 8)
POINTS = st.lists(st.tuples(st.integers(0, 30), VALUE), min_size=3, max_size=14).filter(
    lambda points: len({x for x, _ in points}) > 1
)


def _split(points: list[tuple[int, float]]) -> tuple[np.ndarray, np.ndarray]:
    return np.array([x for x, _ in points], float), np.array([y for _, y in points], float)


@settings(max_examples=80, deadline=None)
@given(POINTS, st.integers(-50, 50), st.sampled_from([0.5, 2.0, 8.0]))
def test_shift_and_scale(points: list[tuple[int, float]], shift: int, scale: float) -> None:
    """A lab that reports g/kg for % must find the same trend, ten times as steep."""
    x, y = _split(points)
    base, moved = theil_sen(x, y), theil_sen(x, y * scale + shift)
    for name in ("slope", "low", "high"):
        assert getattr(moved, name) == pytest.approx(getattr(base, name) * scale, abs=1e-9)
    assert moved.confidence == base.confidence
    assert mann_kendall(y * scale + shift, x) == mann_kendall(y, x)
    line, moved_line = least_squares(x, y), least_squares(x, y * scale + shift)
    assert moved_line.slope == pytest.approx(line.slope * scale, abs=1e-8)


@settings(max_examples=80, deadline=None)
@given(POINTS)
def test_upside_down(points: list[tuple[int, float]]) -> None:
    """Falling must be found exactly as readily as rising."""
    x, y = _split(points)
    up, down = theil_sen(x, y), theil_sen(x, -y)
    assert (down.slope, down.low, down.high) == pytest.approx((-up.slope, -up.high, -up.low), abs=1e-12)
    rising, falling = mann_kendall(y, x), mann_kendall(-y, x)
    assert (falling.s, falling.p, falling.variance) == (-rising.s, rising.p, rising.variance)


@settings(max_examples=80, deadline=None)
@given(POINTS, st.randoms(use_true_random=False))
def test_order_of_rows_does_not_matter(points: list[tuple[int, float]], random: object) -> None:
    """An export sorted another way is the same series."""
    x, y = _split(points)
    order = np.array(sorted(range(len(points)), key=lambda _: random.random()))  # type: ignore[attr-defined]
    assert theil_sen(x[order], y[order]) == theil_sen(x, y)
    assert mann_kendall(y[order], x[order]) == mann_kendall(y, x)


@settings(max_examples=80, deadline=None)
@given(POINTS)
def test_bounds(points: list[tuple[int, float]]) -> None:
    x, y = _split(points)
    test, line = mann_kendall(y, x), theil_sen(x, y)
    n = len(points)
    assert abs(test.s) <= n * (n - 1) // 2
    assert test.variance >= 0
    assert smallest_p(n) <= test.p + 1e-15
    assert test.p <= 1
    assert line.low <= line.slope <= line.high


@settings(max_examples=60, deadline=None)
@given(st.lists(VALUE, min_size=5, max_size=10, unique=True))
def test_exact_interval_and_exact_test_agree(values: list[float]) -> None:
    """Zero lies outside the exact interval exactly when the exact test is at most alpha: one truth, not two."""
    x = np.arange(len(values))
    line, test = theil_sen(x, values, ranks="exact"), mann_kendall(values, x)
    assert (line.low > 0 or line.high < 0) == (test.p <= 0.05)


def test_one_wild_sample_hardly_moves_the_slope() -> None:
    x = np.arange(9.0)
    y = 8 - 0.3 * x
    y[4] = 30.0
    assert theil_sen(x, y).slope == pytest.approx(-0.3)
    assert abs(least_squares(x, y).slope - -0.3) < 1e-9  # in the middle it has no pull
    y[4], y[8] = 6.8, 30.0
    assert theil_sen(x, y).slope == pytest.approx(-0.3)
    assert least_squares(x, y).slope > 1


def test_four_points_have_no_95_per_cent_interval() -> None:
    line = theil_sen([1, 2, 3, 4], [9, 8, 7, 5])
    assert (line.low, line.high, line.confidence) == (-math.inf, math.inf, 1.0)


@pytest.mark.parametrize("bad", [[1.0, None, 2.0], [1.0, math.nan, 2.0], [1.0, math.inf, 2.0], [[1.0, 2.0]]])
def test_missing_values_are_refused(bad: list[object]) -> None:
    """Missing is not zero: nothing may be filled in here."""
    for call in (lambda: theil_sen([1, 2, 3], bad), lambda: mann_kendall(bad), lambda: least_squares([1, 2, 3], bad)):
        with pytest.raises(ValueError, match="y: "):
            call()


def test_other_refusals() -> None:
    with pytest.raises(ValueError, match="different x"):
        theil_sen([2, 2], [1, 3])
    with pytest.raises(ValueError, match="differ in length"):
        theil_sen([1, 2, 3], [1, 2])
    with pytest.raises(ValueError, match="same length"):
        mann_kendall([1, 2], [1])
    with pytest.raises(ValueError, match="three points"):
        least_squares([1, 2], [1, 2])
    with pytest.raises(ValueError, match="missing or not a number"):
        mann_kendall([1, {}, 3])
    with pytest.raises(ValueError, match="at least 1"):
        smallest_p(0)


def test_all_values_equal_is_no_trend() -> None:
    test = mann_kendall([3.0] * 6)
    assert (test.s, test.z, test.p, test.variance) == (0, 0.0, 1.0, 0.0)
    assert mann_kendall([3.0] * 20).p == 1.0
