"""Sums of hours and cost in a sentence: what is a lower bound is never rounded up."""

from __future__ import annotations

from decimal import Decimal

import pytest

from pipeline.summaries.club_season import Effort
from reports.page.effort import effort_words


@pytest.mark.parametrize(
    ("with_hours", "said"),
    [pytest.param(8, "at least 45.67 hours", id="a lower bound"), pytest.param(9, "45.68 hours", id="the sum")],
)
def test_at_least_is_not_rounded_up(with_hours: int, said: str) -> None:
    """45.678 hours of 8 of 9 jobs are no "at least 45.68"."""
    total = Effort(jobs=9, hours=45.678, with_hours=with_hours, cost=Decimal("199.999"), with_cost=with_hours)
    hours, cost = effort_words(total, "GBP")
    assert hours == said
    assert cost == ("at least £199.99 of cost" if with_hours < 9 else "£200.00 of cost")


def test_a_sum_that_is_whole_but_for_its_last_bits_stays_so() -> None:
    hours, *_ = effort_words(Effort(jobs=9, hours=0.1 * 3 * 10 - 1e-12, with_hours=8, cost=None, with_cost=0), "GBP")
    assert hours == "at least 3 hours"
