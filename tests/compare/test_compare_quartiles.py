"""The type of quartile chosen is the one in the figures and the one named on the page."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

from pipeline.compare.build import comparison
from pipeline.compare.county import Member
from pipeline.statistics.ways import PercentileType
from reports.comparison.render import view
from tests.compare.counties import DRESSED, county
from tests.outside_checks import outside

NUMPY = {6: "weibull", 7: "linear", 8: "median_unbiased"}
VALUES = (1.0, 2.0, 3.5, 5.0, 8.0, 9.0, 9.5)


@outside("library", "numpy.quantile by its three methods")
@pytest.mark.parametrize("kind", get_args(PercentileType))
def test_quartiles_by_the_type_chosen(kind: PercentileType) -> None:
    """Numpy's quantiles by the three definitions (Hyndman & Fan 1996)."""
    members = {f"G{i}": Member(f"Green {i}", f"C{i % 3}", ("flat greens", "North")) for i in range(len(VALUES))}
    drawn = {f"G{i}": [(DRESSED, value, None)] for i, value in enumerate(VALUES)}
    found = comparison(replace(county(members, drawn, {}), percentile=kind))
    cell = found.cells[0]
    rounded = [round(value / DRESSED.step) * DRESSED.step for value in VALUES]
    wanted = [float(np.quantile(rounded, share, method=NUMPY[kind])) for share in (0.25, 0.5, 0.75)]
    assert (cell.quarter, cell.median, cell.three_quarters) == tuple(pytest.approx(one) for one in wanted)
    page = view(found, version="0")
    assert any(line.startswith(f"Quartiles are of type {kind} (") for line in page.method)
