"""A step common to many members is found in its year; what each does every year is none."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.stats import wilcoxon

from pipeline.statistics.common_shift import common_shifts, signed_rank_p


def changes(members: int, steps: int, seed: int = 1) -> np.ndarray:
    """Changes of members with a course of their own and noise."""
    draw = np.random.default_rng(seed)
    return draw.normal(0, 0.05, (members, 1)) + draw.normal(0, 0.06, (members, steps))


def test_a_step_is_found_in_its_year_and_told_once() -> None:
    table = changes(16, 6)
    table[:, 3] -= 0.12
    (found,) = common_shifts(table)
    assert (found.step, found.members) == (3, 16)
    assert found.value == pytest.approx(-0.12, abs=0.04)
    assert found.same_way >= 13
    assert found.p < 0.01


def test_two_steps_are_both_found() -> None:
    """The first found would otherwise stand in what is usual for the second."""
    table = changes(16, 6)
    table[:, 1] += 0.15
    table[:, 4] -= 0.15
    assert sorted(one.step for one in common_shifts(table)) == [1, 4]


def test_a_fall_of_every_year_is_no_step() -> None:
    """A county that is dressed well falls everywhere, every year."""
    assert common_shifts(changes(16, 6) - 0.1) == []


def test_few_members_or_years_show_nothing() -> None:
    """Five members reach 2/32 at best; with two changes each, either year could be the odd one."""
    few, short = changes(5, 4), changes(16, 2)
    few[:, 2] += 1.0
    short[:, 1] += 1.0
    assert common_shifts(few) == []
    assert common_shifts(short) == []
    assert common_shifts(np.zeros((8, 4))) == []
    with pytest.raises(ValueError, match="one row a member"):
        common_shifts([1.0, 2.0])


def test_p_by_writing_out_every_sign() -> None:
    """Eight members, three steps: each way the signs can fall is as likely; Bonferroni's three times that share."""
    table = changes(8, 3, seed=3)
    table[:, 1] += 0.2
    (found,) = common_shifts(table, alpha=0.5)[:1]
    apart = table[:, 1] - np.median(table[:, [0, 2]], axis=1)
    ranks = np.argsort(np.argsort(np.abs(apart))) + 1
    sums = [sum(r for r, up in zip(ranks, ups, strict=True) if up) for ups in product((True, False), repeat=8)]
    seen = sum(r for r, up in zip(ranks, apart > 0, strict=True) if up)
    far = sum(abs(one - 18) >= abs(seen - 18) for one in sums) / 256
    assert found.p == pytest.approx(min(1.0, 3 * far))


def test_false_steps_of_even_laboratories() -> None:
    """Of 200 even laboratories at most one in twenty is said to have stepped, less three errors of simulation."""
    false = sum(bool(common_shifts(changes(12, 5, seed))) for seed in range(200))
    assert false <= 200 * 0.05 + 3 * np.sqrt(200 * 0.05 * 0.95)


@pytest.mark.parametrize(
    "values",
    [
        [0.0, 1.0, -2.0, 2.0, 3.0, 4.0],
        [0.5, 0.5, 0.5, -0.5, 1.5, 2.0, 2.0],
        [0.0, 0.0, -1.0, -2.0, -3.0],
        [1.0, -1.0],
        [0.1, 0.2, -0.3, 0.4, 0.5, 0.6, 0.7],
        [*([0.25, -0.5, 0.75] * 5), 1.0],
        [-7.5],
        [*range(-6, 0), *range(2, 16, 2)],
        [*([1.0, -2.0, 3.0, 0.0] * 3), 5.0],
        [*([1.0, -2.0, 3.0, 0.0] * 3), 5.0, 6.0],
        [n * (-1.0) ** (n % 3) + 0.01 * n for n in range(1, 51)],
        [n * (-1.0) ** (n % 3) + 0.01 * n for n in range(1, 52)],
        [round(n * (-1.0) ** (n % 3) / 4) + 0.5 for n in range(1, 70)],
    ],
)
def test_signed_ranks_as_by_scipy(values: list[float]) -> None:
    """Ties, zeros, neither, and more of them than are counted out; at either side of where each way ends."""
    assert signed_rank_p(np.array(values)) == pytest.approx(float(wilcoxon(values).pvalue), rel=1e-12)
