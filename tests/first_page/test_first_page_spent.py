"""What was spent: sums as the log gives them, none compared that is not whole."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from pipeline.indicators.base.first_page import LoggedSum, Spent
from reports.condition.first.spent import cells, nothing_logged


def whole(value: str, jobs: int = 40) -> LoggedSum:
    return LoggedSum(Decimal(value), jobs, jobs)


SPENT = Spent("2026", "2025", so_far=False, cost=whole("7172.40"), hours=whole("231"), per_m2=Decimal("4.967"),
              last_cost=whole("7468.30"), last_hours=whole("243.25"), last_per_m2=Decimal("5.172"),
              less_last=Decimal("-295.90"))  # fmt: skip


def printed(**changed: Any) -> list[tuple[str, str, str]]:
    return [(one.label, one.value, one.below) for one in cells(replace(SPENT, **changed), "GBP", "metric")]


def test_two_whole_seasons_stand_beside_each_other() -> None:
    assert printed() == [
        ("Spent on the green", "£7,172", "last season £7,468"),
        ("Hours worked", "231", "last season 243.3"),
        ("For each square metre", "£4.97", "last season £5.17"),
        ("Beside last season", "£296 less", "no budget given"),
    ]


def test_the_budget_stands_there_where_there_is_one() -> None:
    told = printed(budget=Decimal(7000), less_budget=Decimal("172.40"))
    assert told[3] == ("Beside the budget", "£172 over", "budget £7,000")


@pytest.mark.parametrize(
    ("changed", "beside"),
    [
        ({"cost": LoggedSum(Decimal(900), 12, 40)}, "this log lacks some sums"),
        ({"cost": LoggedSum(Decimal(900), 40, 40, "1 entry is not in it")}, "rejected rows are missing"),
        ({"last_cost": LoggedSum(Decimal(900), 12, 40)}, "last season’s log lacks some"),
        ({"last_cost": LoggedSum(None, 0, 0)}, "last season not logged"),
        ({"so_far": True}, "this season still runs"),
    ],
)
def test_a_sum_that_is_not_whole_is_never_compared(changed: dict[str, Any], beside: str) -> None:
    assert printed(less_last=None, **changed)[3] == ("Beside last season", "not compared", beside)


def test_a_sum_of_some_jobs_says_of_how_many() -> None:
    assert printed(less_last=None, cost=LoggedSum(Decimal(900), 12, 40))[0][2] == "logged for 12 of 40 jobs"
    assert (
        printed(less_last=None, last_cost=LoggedSum(Decimal(900), 12, 40))[0][2] == "last season £900 (12 of 40 jobs)"
    )
    assert printed(less_last=None, last_cost=LoggedSum(None, 0, 0))[0][2] == "last season not logged"


def test_nothing_logged_is_said_and_is_no_nothing_spent() -> None:
    bare = replace(SPENT, cost=LoggedSum(None, 0, 0), hours=LoggedSum(None, 0, 0), less_last=None)
    assert cells(bare, "GBP", "metric") == ()
    assert nothing_logged(bare) == "No job of this season is logged: money and hours are not known."
    assert nothing_logged(SPENT) == ""
    unpriced = replace(SPENT, cost=LoggedSum(None, 0, 40), per_m2=None, less_last=None)
    assert [one.value for one in cells(unpriced, "GBP", "metric")] == ["not logged", "231", "not known", "not compared"]


def test_money_for_an_area_is_told_by_the_unit_of_the_page() -> None:
    """4.967 a square metre are 461.45 for 1000 ft² of 92.90304 m² (international foot, NIST Handbook 44)."""
    third = cells(SPENT, "GBP", "US")[2]
    assert (third.label, third.value) == ("For each 1000 ft²", "£461.45")
