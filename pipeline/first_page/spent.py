"""What a season took in money and hours, as its log gives it, beside the season before and the budget."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.common.money import total
from pipeline.indicators.base.first_page import LoggedSum, Spent
from pipeline.plan.account import Account
from pipeline.plan.cost import Sum, compared


def spent(account: Account) -> Spent:
    """The sums of a green's account; two that are not both whole have no difference, and a reason why."""
    this, last, budget = account.this, account.last, account.budget.value
    beside_last = compared(this.cost_logged, last.cost_logged)
    beside_budget = None if budget is None else compared(this.cost_logged, budget)
    said = beside_last if beside_budget is None else beside_budget
    return Spent(
        season=this.season,
        last_season=last.season,
        so_far=this.so_far,
        cost=_logged(this.cost_logged),
        hours=_logged(this.hours),
        per_m2=this.per_m2_logged.value,
        last_cost=_logged(last.cost_logged),
        last_hours=_logged(last.hours),
        last_per_m2=last.per_m2_logged.value,
        less_last=beside_last.difference,
        budget=budget,
        less_budget=None if beside_budget is None else beside_budget.difference,
        why="" if said.difference is not None else said.why,
    )


def _logged(one: Sum) -> LoggedSum:
    return LoggedSum(one.value, one.logged, one.of, one.short)


def sum_of(parts: Sequence[LoggedSum]) -> LoggedSum:
    """The sum of several, exact; it is known for the jobs that any of them is known for, and short where one is."""
    return LoggedSum(
        total(one.value for one in parts),
        sum(one.known for one in parts),
        sum(one.jobs for one in parts),
        next((one.short for one in parts if one.short), ""),
    )
