"""What a survey advises: the works its findings ask for, with amount and cost as the year ahead plans and prices them.

The same actions as on the first page of a condition report: what is due comes from :mod:`pipeline.plan`, hollows are
filled by the survey, and what no line asks for is told by what was done of it this season. Here each work has a line of
its own, with every finding that asks for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.first_page.actions import NOT_REPEATED, filling, of_due, repeated, turn
from pipeline.first_page.found import LEVELS
from pipeline.indicators.base.first_page import Action, Decider, Found, Hollows
from pipeline.plan.cost import Item
from pipeline.plan.due_list import DueItem
from pipeline.survey.told import Told


@dataclass(frozen=True)
class Advice:
    """One work that is advised, or due anyway.

    Attributes:
        action: the work with amount, months and cost.
        findings: numbers of the findings that ask for it; none for routine.
        weight: the gravest consequence among them, 1 to 5; 0 for routine.
    """

    action: Action
    findings: tuple[int, ...] = ()
    weight: int = 0


def advice(
    told: Sequence[Told],
    items: Sequence[DueItem],
    jobs: Sequence[Item],
    season_due: str,
    own: Mapping[str, Decider],
    hollows: Hollows | None = None,
) -> tuple[Advice, ...]:
    """Every work asked for: first what findings ask for, in their order, then routine by day; each work once.

    Args:
        told: the findings, in the order of their numbers.
        items: what is due over the season.
        jobs: of the season of the visit, as logged up to its day.
        season_due: name of the season the lines are of.
        own: who decides about operations, where the workspace says so.
        hollows: where the green is low.
    """
    due = {one.operations[0]: one for one in of_due(items, season_due, own)}
    asked = dict.fromkeys(work for one in told for work in one.works)
    made = []
    for work in asked:
        by = [(number, one) for number, one in enumerate(told, start=1) if work in one.works]
        numbers, less = tuple(number for number, _ in by), tuple(number for number, one in by if one.less(work))
        for action in _actions(work, [one for _, one in by], due, (jobs, own, hollows)):
            made.append(Advice(replace(action, less=less), numbers, max(one.weight for _, one in by)))
    if hollows is not None and "levelling" not in asked and hollows.fill_t is not None:
        made.append(Advice(filling((), hollows, own)))
    routine = sorted((one for work, one in due.items() if work not in asked), key=turn)
    return (*made, *(Advice(one) for one in routine))


def _actions(
    work: str,
    asking: Sequence[Told],
    due: Mapping[str, Action],
    beside: tuple[Sequence[Item], Mapping[str, Decider], Hollows | None],
) -> Iterator[Action]:
    """How one work is to be done: by the survey's hollows, by what is due, else as this season."""
    jobs, own, hollows = beside
    every = [one.months(work) for one in asking]
    months = () if () in every else tuple(sorted({month for months in every for month in months}))
    found = Found("", asking[0].lead.figures[0], works=(work,), months=months)
    if work == "levelling" and hollows is not None and any(_of_levels(one) for one in asking):
        yield replace(filling(months, hollows, own), waits=any(map(_in_question, asking)))
    elif work in due:
        yield due[work]
    elif work not in NOT_REPEATED and not all(one.less(work) for one in asking):
        yield from repeated(found, jobs, own)


def _in_question(one: Told) -> bool:
    """Whether a finding rests on an entry under a warning: how much it takes is not known until that is settled."""
    return any(figure.questioned for figure in one.figures)


def _of_levels(one: Told) -> bool:
    return any(figure.name in LEVELS for figure in one.figures)
