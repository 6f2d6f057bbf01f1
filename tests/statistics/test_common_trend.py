"""A change that most members show alike over the years is found; one of a few, of one year, or of chance is none."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm

from pipeline.statistics.common_trend import common_levels, common_trend
from tests.calibrate.laboratories import EACH, county
from tests.calibrate.result import Shares
from tests.outside_checks import outside


def group(members: int, years: int, slope: float, seed: int = 1, moved: int | None = None) -> tuple[list, ...]:
    """Year, value and member: so many of them change by ``slope`` a year."""
    draw = np.random.default_rng(seed)
    found = []
    for at in range(members):
        own = slope if moved is None or at < moved else 0.0
        level = draw.uniform(1, 2)
        found += [(year, level + own * year + draw.normal(0, 0.02), at) for year in range(years)]
    return tuple(list(one) for one in zip(*found, strict=True))


@outside("library", "statsmodels OLS on dummies of years and rows")
@pytest.mark.parametrize("seed", range(3))
def test_levels_about_their_mean_as_the_coefficients_of_statsmodels(seed: int) -> None:
    """Six years of nine rows, a third of the values missing."""
    draw = np.random.default_rng(seed)
    cells = [(y, r) for y in range(6) for r in range(9) if r == 0 or draw.random() < 0.65]
    year, row = np.array(cells, float).T
    values = draw.normal(0, 1, 9)[row.astype(int)] + 0.1 * year + draw.normal(0, 0.4, year.size)
    here, levels = common_levels(year, values, row.tolist())
    columns = [year == y for y in range(6)] + [row == r for r in range(1, 9)]
    theirs = sm.OLS(values, np.array(columns, float).T).fit().params[:6]
    assert here.tolist() == list(range(6))
    assert levels == pytest.approx(theirs - theirs.mean(), abs=1e-9)


def test_years_that_nothing_links_are_left_out() -> None:
    here, levels = common_levels([0, 1, 2, 3, 3], [1.0, 2.0, 5.0, 7.0, 8.0], ["a", "a", "b", "b", "c"])
    assert (here.tolist(), levels.tolist()) == ([2, 3], pytest.approx([-1.0, 1.0]))


def test_a_drift_of_all_is_found() -> None:
    year, values, member = group(8, 7, -0.03)
    found = common_trend(year, values, member, member)
    assert found is not None
    assert found.slope == pytest.approx(-0.03, abs=0.005)
    assert (found.first, found.last, found.members, found.alike) == (0, 6, 8, 8)
    assert found.p == pytest.approx(2 / 5040)  # of the 7! orders one falls all the way and one rises


@pytest.mark.parametrize(("members", "years", "moved"), [(5, 7, 5), (8, 4, 8), (8, 7, 4)])
def test_few_members_few_years_or_half_of_them_are_none(members: int, years: int, moved: int) -> None:
    """Four years reach a p of 2/24; half of the greens that fall is no change of what measures all of them."""
    year, values, member = group(members, years, -0.05, moved=moved)
    assert common_trend(year, values, member, member) is None


def test_three_quarters_of_the_least_group_are_enough() -> None:
    """Six of eight, the other two steady: at the limit itself it is told, below it not."""
    for up, told in ((2, True), (3, False)):
        slopes = [0.0] * up + [-0.05] * (8 - up)
        year, member = np.tile(np.arange(6), 8), np.repeat(np.arange(8), 6).tolist()
        values = np.array(slopes)[np.array(member)] * year
        assert (common_trend(year, values, member, member) is not None) == told


def test_half_of_the_common_slope_is_like_it() -> None:
    """Six members: five fall by 5, one by 2 or by 3; of the levels' 4.5 and 4.67 half is 2.25 and 2.33."""
    for last, alike in ((-2.0, 5), (-3.0, 6)):
        slopes = np.array([-5.0] * 5 + [last])
        year, member = np.tile(np.arange(6), 6), np.repeat(np.arange(6), 6).tolist()
        found = common_trend(year, slopes[np.array(member)] * year, member, member)
        assert found is not None
        assert found.alike == alike


def test_layers_of_a_member_count_as_one() -> None:
    """Two greens of three layers each are two, however many series fall."""
    year, values, row = group(6, 7, -0.05)
    assert common_trend(year, values, row, [one // 3 for one in row]) is None
    assert common_trend(year, values, row, row) is not None


def test_rules_of_the_calibration_are_kept() -> None:
    """Even laboratories are seldom said to drift, whatever their batches; one that drifts by 3 % a year mostly is."""
    shares = Shares()
    county(np.random.default_rng(7), shares)
    assert all(one.cases == EACH and one.kept(0.02 + 3 * one.error) for one in shares.values())
    assert shares["drift told of a laboratory that drifts by 3 % a year, steady greens, 18 greens"].found > 0.6
