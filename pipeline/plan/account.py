"""What greens take in hours and money: a season as logged, the one before, plans, and a budget set beside them.

Pure: jobs, plans, rates and prices come in as they were read. What the log says is kept apart from what rates make of
it, for documents of the season print the log's own sums.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache, cached_property

from pipeline.common.grouped import grouped
from pipeline.common.words import counted, listed
from pipeline.plan.areas import Areas
from pipeline.plan.cost import (
    Compared,
    Facts,
    Item,
    Per,
    Sum,
    added,
    beyond_published,
    compared,
    cost,
    dressing_mm,
    hours,
    nitrogen_kg,
    of_job,
    of_planned,
    per,
    per_m2,
)
from pipeline.plan.rates import Figure, Rate, remembering, unknown
from pipeline.plan.unit_price import Prices
from pipeline.plan.works import Done, Planned, after_closing
from schemas.codes import code_list


@dataclass(frozen=True)
class Priced:
    """What works are priced by.

    Attributes:
        rates: of all days.
        prices: what can be had of materials on a day.
        facts: what the register says of materials.
        areas: of the greens, on each day.
    """

    rates: Sequence[Rate]
    prices: Callable[[date], Prices]
    facts: Mapping[str, Facts]
    areas: Areas

    @property
    def remembering(self) -> Priced:
        """The same, that look up a day's prices and rates once: for works of many greens."""
        return replace(self, rates=remembering(self.rates), prices=cache(self.prices))


@dataclass(frozen=True)
class OfOperation:
    """Hours and cost of one kind of work."""

    operation: str
    works: int
    hours: Sum
    cost: Sum


@dataclass(frozen=True)
class SeasonCost:
    """Hours and cost of a season of one green or several, done or planned.

    Attributes:
        season: name of the season.
        until: last day that counts; None of a plan.
        items: the works.
        priced: what they are priced by.
        so_far: whether the season still runs.
        short: what else of the log is not in it; "" where nothing is known to be missing.
        after_closing: what a plan has of greens that are given up by then, which is not in it.
    """

    season: str
    until: date | None
    items: tuple[Item, ...]
    priced: Priced
    so_far: bool = False
    short: str = ""
    after_closing: tuple[str, ...] = ()

    @cached_property
    def hours(self) -> Sum:
        """Hours of all people: logged, or of a plan given or by output."""
        return hours(self.items, self.so_far, self.short)

    @cached_property
    def cost(self) -> Sum:
        """Cost where logged, else by rates."""
        return cost(self.items, self.so_far, self.short)

    @cached_property
    def cost_logged(self) -> Sum:
        """Cost as the log gives it, and nothing else."""
        return added((_logged(one.cost) for one in self.items), so_far=self.so_far, short=self.short)

    @cached_property
    def per_m2(self) -> Per:
        """Cost of a square metre of green."""
        found = per_m2(self.items, self.priced.areas)
        return replace(found, whole=self.cost, why=self.cost.said if found.value is not None else found.why)

    @cached_property
    def per_m2_logged(self) -> Per:
        """The same of the cost as the log gives it, and nothing else."""
        of_log = (replace(one, cost=_logged(one.cost)) for one in self.items)
        return replace(per_m2(of_log, self.priced.areas), whole=self.cost_logged)

    @cached_property
    def per_kg_nitrogen(self) -> Per:
        """Cost of a kilogram of nitrogen, by the works that put any on."""
        return per(self.items, nitrogen_kg(self.priced.facts))

    @cached_property
    def per_mm_dressing(self) -> Per:
        """Cost of a millimetre of dressing over a green."""
        return per(self.items, dressing_mm(self.priced.facts, self.priced.areas))

    @cached_property
    def operations(self) -> tuple[OfOperation, ...]:
        """Hours and cost by operation, in the order of work."""
        by = grouped(self.items, lambda one: one.operation)
        return tuple(
            OfOperation(name, len(by[name]), hours(by[name], self.so_far), cost(by[name], self.so_far))
            for name in code_list("operation")
            if name in by
        )

    @cached_property
    def without(self) -> tuple[str, ...]:
        """Why the cost of works is not known, each reason once with how many works it is of, and which."""
        lacking = grouped((one for one in self.items if not one.cost.known), lambda one: one.cost.why)
        labels = {name: code.label.lower() for name, code in code_list("operation").items()}
        return tuple(
            f"{counted(len(some), 'work')} ({_named(sorted({labels[one.operation] for one in some}))}): {why}"
            for why, some in lacking.items()
        )

    @property
    def check(self) -> str:
        """What to look at where the hours of one green are more than is published of a year; "" where they are not."""
        return beyond_published(self.hours) if len({one.green for one in self.items}) == 1 else ""


def _logged(figure: Figure) -> Figure:
    return figure if figure.how == "logged" else unknown("not logged")


@dataclass(frozen=True)
class Budget:
    """What a season may cost.

    Attributes:
        value: the money; None where none is set, or it cannot be told.
        source: who set it; "" where none is set.
        why: why it cannot be told; "" where it can, or none is set.
    """

    value: Decimal | None = None
    source: str = ""
    why: str = ""


@dataclass(frozen=True)
class Account:
    """The account of a green, or of several together.

    Attributes:
        about: code of the green, or of the club; "" of all greens.
        name: what it is called.
        greens: codes of the greens.
        this: the season asked for, as logged.
        last: the one before.
        plan: what is planned of the season asked for.
        next_plan: what is planned of the one after.
        budget: of the season asked for.
    """

    about: str
    name: str
    greens: tuple[str, ...]
    this: SeasonCost
    last: SeasonCost
    plan: SeasonCost
    next_plan: SeasonCost
    budget: Budget

    @property
    def against(self) -> dict[str, Compared]:
        """Sums of cost beside each other, by what is said of them: the first less the second, where both are whole."""
        this, last = self.this, self.last
        found = {f"{this.season} less {last.season}": compared(this.cost, last.cost)}
        if self.budget.value is not None:
            found[f"{this.season} less its budget"] = compared(this.cost, self.budget.value)
        if self.plan.items:
            found[f"{this.season} less its plan"] = compared(this.cost, self.plan.cost)
        if self.next_plan.items:
            found[f"plan of {self.next_plan.season} less {this.season}"] = compared(self.next_plan.cost, this.cost)
        return found


def season_cost(
    season: str, until: date, jobs: Iterable[Done], priced: Priced, *, so_far: bool, short: str = ""
) -> SeasonCost:
    """Hours and cost of the jobs of a season."""
    items = tuple(of_job(one, priced.rates, priced.prices(one.first)) for one in jobs)
    return SeasonCost(season, until, items, priced, so_far, short)


def plan_cost(season: str, planned: Iterable[Planned], priced: Priced) -> SeasonCost:
    """Hours and cost of the works planned of a season, but those of greens that are given up by then."""
    works = tuple(planned)
    stand = (one for one in works if one.given_up is None)
    items = tuple(of_planned(one, priced.rates, priced.prices(one.first), priced.areas.of(one)) for one in stand)
    return SeasonCost(season, None, items, priced, after_closing=after_closing(works))


def together(about: str, name: str, accounts: Sequence[Account]) -> Account:
    """The account of several greens from those of each; budgets are added up where each green has one.

    What is missing from one green's log is missing from the sum, and said with the green's code.
    """
    return Account(
        about,
        name,
        tuple(green for one in accounts for green in one.greens),
        _joined([(one.about, one.this) for one in accounts]),
        _joined([(one.about, one.last) for one in accounts]),
        _joined([(one.about, one.plan) for one in accounts]),
        _joined([(one.about, one.next_plan) for one in accounts]),
        _budgets(accounts),
    )


def _joined(parts: Sequence[tuple[str, SeasonCost]]) -> SeasonCost:
    first = parts[0][1]
    days = [one.until for _, one in parts if one.until]
    lacking = [f"{about}: {one.short}" for about, one in parts if one.short]
    if len(lacking) > MOST_NAMED:
        lacking = [f"the logs of {_named([about for about, one in parts if one.short])} lack some"]
    bare = [about for about, one in parts if not one.items]
    if bare and len(bare) < len(parts):
        lacking.append(f"nothing {'planned' if first.until is None else 'logged'} of {_named(bare)}")
    return SeasonCost(
        first.season,
        max(days, default=None),
        tuple(item for _, one in parts for item in one.items),
        first.priced,
        any(one.so_far for _, one in parts),
        "; ".join(lacking),
        tuple(text for _, one in parts for text in one.after_closing),
    )


MOST_NAMED = 5
"""Greens named in a sentence; the rest are counted."""


def _named(names: Sequence[str]) -> str:
    more = [f"{len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
    return listed([*names[:MOST_NAMED], *more])


def _budgets(accounts: Sequence[Account]) -> Budget:
    known = [one.budget for one in accounts if one.budget.value is not None]
    if not known:
        return Budget(None, "", next((one.budget.why for one in accounts if one.budget.why), ""))
    if len(known) < len(accounts):
        bare = [one.about for one in accounts if one.budget.value is None]
        return Budget(None, "", f"no budget of {_named(bare)}")
    sources = list(dict.fromkeys(one.source for one in known))
    each = " of each green, added up" if len(known) > 1 else ""
    value = sum((one.value for one in known if one.value is not None), Decimal(0))
    return Budget(value, f"{'; '.join(sources[:MOST_NAMED])}{each}")
