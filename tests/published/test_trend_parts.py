"""The steps of the trend tests, each against the published figure it leads to."""

from __future__ import annotations

import numpy as np
import pytest
from published_checks import CASE, check
from scipy.stats import norm

from pipeline.statistics.kendall import continuity_z, exact_upper_tail, normal_upper_tail, score_variance
from pipeline.statistics.trend import at_rank, normal_ranks, pair_slopes
from tests.outside_checks import outside

EPA = "EPA 2009, example 17-6"
ONES = (1,) * 23
SEN_X = (1, 2, 3, 4, 10, 12, 18)
SEN_Y = (9, 15, 19, 20, 45, 55, 78)


def sen_slope(rank: float) -> float:
    return at_rank(pair_slopes(np.array(SEN_X, float), np.array(SEN_Y, float)), rank)


def low_rank(pairs: int, variance: float) -> float:
    return normal_ranks(pairs, variance, 0.05)[0]


def high_rank(pairs: int, variance: float) -> float:
    return normal_ranks(pairs, variance, 0.05)[1] - 1


@pytest.mark.parametrize(
    CASE,
    [
        check("worked example", continuity_z, (194, 1428.0), 5.107322, 5e-7, EPA),
        check("worked example", low_rank, (253, 1428.0), 89.4676, 5e-5, EPA),
        check("worked example", high_rank, (253, 1428.0), 163.5324, 5e-5, f"{EPA}, upper rank 164.5324 less one"),
        check("memory", exact_upper_tail, (4, (1, 1, 1, 1)), 4 / 24, 1e-12, "Gilbert 1987 ch. 16"),
        check("memory", exact_upper_tail, (6, (1, 1, 1, 1)), 1 / 24, 1e-12, "Kendall's table, n 4"),
        check("worked example", sen_slope, (4,), 3.714, 5e-4, "Sen 1968, lower end"),
        check("worked example", sen_slope, (11,), 4.0, 1e-12, "Sen 1968, slope"),
        check("worked example", sen_slope, (18,), 4.375, 5e-4, "Sen 1968, upper end"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert function(*arguments) == pytest.approx(expected, abs=tolerance)


@outside("worked example", "EPA 2009, example 17-6: variance 1428")
def test_variance_with_the_ties_of_the_published_series():
    """EPA 2009, example 17-6: 23 values, of which 510 stands three times and 590 and 560 twice each: 1428."""
    ties = (1,) * 16 + (2, 2, 3)
    assert sum(ties) == 23
    assert score_variance(ONES, ties) == pytest.approx(1428.0, abs=1e-9)
    assert score_variance(ONES, ONES) == pytest.approx(23 * 22 * 51 / 18)


@outside("library", "scipy.stats.norm.sf")
@pytest.mark.parametrize("z", [-3.0, 0.0, 1.0, 1.959964, 5.107322])
def test_normal_tail_as_scipy(z: float):
    assert normal_upper_tail(z) == pytest.approx(norm.sf(z), rel=1e-12)
