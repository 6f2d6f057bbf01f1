"""Vibration, cost, levels, infiltration and hardness against published figures."""

import pytest
from published_checks import CASE, check, given

from pipeline.agronomy.surface import GRAVITIES_PER_CIV, infiltration_mm_h, level_summary
from pipeline.agronomy.work import (
    cost_per_m2,
    daily_exposure_m_s2,
    hours_to_points,
    job_cost,
    person_hours,
    vibration_points,
)
from tests.outside_checks import outside

HAV = "Vibration Regulations 2005 via an acoustics consultant"


@pytest.mark.parametrize(
    CASE,
    [
        check("figure", vibration_points, (4, 2), 64, 1e-9, HAV),
        check("figure", daily_exposure_m_s2, (4, 2), 2.00, 0.005, HAV),
        check("figure", vibration_points, (7, 3), 294, 1e-9, HAV),
        check("figure", daily_exposure_m_s2, (7, 3), 4.29, 0.005, HAV),
        check("standard", vibration_points, (2.5, 8), 100, 1e-9, f"{HAV}, action value"),
        check("standard", vibration_points, (5, 8), 400, 1e-9, f"{HAV}, limit value"),
        check("figure", hours_to_points, (7, 294), 3, 1e-9, HAV),
        check("own", infiltration_mm_h, (1060, 300, 10), 90, 0.05, "ASTM D3385 formula"),
        check("own", person_hours, (3, 2), 6, 1e-9, "definition"),
        check("own", job_cost, (6, 20, 90, 15), 225, 1e-9, "definition"),
        check("own", cost_per_m2, (225, 1500), 0.15, 1e-9, "definition"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


@outside("figure", "NZSTI: 1 CIV is 10 g")
def test_a_clegg_value_is_ten_gravities():
    """NZSTI: 1 CIV is 10 g; STRI writes 88 g where the hammer shows 8.8."""
    assert pytest.approx(88) == 8.8 * GRAVITIES_PER_CIV


LEVELS = [0, 2, -1, 3, -4, 5, -7, 1, 1]


@pytest.mark.parametrize("benchmark", [0, 1000.0, -250.5])
def test_7_4_levels_whatever_the_benchmark_regression_not_published(benchmark):
    summary = level_summary([height + benchmark for height in LEVELS], tolerance_mm=6)
    assert summary.largest_deviation_mm == pytest.approx(7)
    assert summary.within_pct == pytest.approx(88.9, abs=0.05)
