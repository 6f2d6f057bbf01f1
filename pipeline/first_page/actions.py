"""What to do on a green: the lines of its due list, works of one operation together, beside what findings ask for.

Every line of the due list that asks for a work stands in exactly one action; what asks for a look is named apart. A
finding's works that no line asks for are told by what was done of them this season, and filling hollows by the survey.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from math import fsum

from pipeline.common.grouped import grouped
from pipeline.common.money import total
from pipeline.common.words import long_date
from pipeline.first_page.deciders import DECIDERS, LICENSED, decides
from pipeline.indicators.base.first_page import Action, Amounts, Decider, Found, Hollows
from pipeline.indicators.base.green_season import Due
from pipeline.plan.cost import Item
from pipeline.plan.due_again import LOOK_AGAIN
from pipeline.plan.due_list import DueItem
from schemas.codes import code_list

OTHER = "Other routine work"
CALLED = {
    "top_dressing": "Dress the green",
    "fertilising": "Feed",
    "levelling": "Level",
    "plant_protection": "Plant protection",
}
"""What a reader is told to do, where the label of the list is no such words."""
NOT_REPEATED = frozenset({"inspection", *LICENSED})
"""Works that no finding asks to be done as this season: a look is told apart, and a treatment is never advised."""


def actions(
    items: Sequence[DueItem],
    found: Sequence[Found],
    jobs: Sequence[Item],
    season_due: str,
    own: Mapping[str, Decider],
    hollows: Hollows | None = None,
) -> tuple[Action, ...]:
    """What to do: first what answers a finding, in the order of the findings, then routine by day.

    Args:
        items: what is due over the season.
        found: the findings of the page.
        jobs: of the season that is reported, as logged.
        season_due: name of the season the lines are of.
        own: who decides about operations, where the workspace says so.
        hollows: where the green is low.
    """
    asked = of_due(items, season_due, own)
    answered = list(_answering(found, asked, jobs, own, hollows))
    taken = {id(action) for _, action in answered}
    routine = sorted((one for one in asked if id(one) not in taken), key=turn)
    told = [_with_numbers(one, _answered_by(one, number, found), found) for number, one in answered]
    return (*told, *routine)


def looks(items: Iterable[DueItem]) -> tuple[str, ...]:
    """What is to be looked at or measured, and why: what is due and no work of the log, in its order."""
    return tuple(dict.fromkeys(_with_why(one.due) for one in items if not one.due.operation))


def _with_why(due: Due) -> str:
    """What is due; of the look before the next feed also how long the last one lasts, which is why it is due."""
    if due.what != LOOK_AGAIN or due.day is None:
        return due.what
    return f"{due.what}: the last one {'lasted' if due.overdue else 'lasts'} to {long_date(due.day)} by its label"


def of_due(items: Iterable[DueItem], season_due: str, own: Mapping[str, Decider]) -> list[Action]:
    """What is due as actions, works of one operation together, in the order in which they are first met."""
    by_operation = grouped((one for one in items if one.due.operation), lambda one: one.due.operation)
    return [_of_lines(lines, season_due, own) for lines in by_operation.values()]


def turn(one: Action) -> tuple[bool, object]:
    """The place of a routine action: by its first day, then those without one by name."""
    return one.first is None, one.first or one.what


def _of_lines(lines: Sequence[DueItem], season: str, own: Mapping[str, Decider]) -> Action:
    """Lines of one operation as one action."""
    operation = lines[0].due.operation
    dues = [one.due for one in lines]
    of_licensed = operation in LICENSED  # neither what nor how much: whether, a licensed person decides by the label
    sure = [one for one in dues if one.state != "not known"]
    sized = [] if of_licensed else [one for one in sure if one.low is not None and one.unit]
    days = [one.day for one in dues if one.day]
    firsts = [day for one in dues if (day := one.first or (one.day if one.state else None))]
    costs = [one.cost.value for one in lines]
    green = f"area of {lines[0].green} "  # a page of one green does not call it by its code
    return Action(
        what=CALLED.get(operation) or code_list("operation")[operation].label,
        who=decides([operation], own),
        operations=(operation,),
        lines=len(lines),
        unsized=sum(bool(one.unit) and one.low is None for one in dues),
        unsure=len(dues) - len(sure),
        amounts=tuple(_amounts(sized)),
        materials=() if of_licensed else tuple(dict.fromkeys(one.material for one in dues if one.material)),
        first=min(firsts, default=None),
        last=max(days, default=None),
        season=season,
        overdue=any(one.overdue for one in dues),
        waits=any(one.waits for one in dues),
        cost=total(costs),
        priced=sum(cost is not None for cost in costs),
        of=len(lines),
        why=next((one.cost.why for one in lines if one.cost.value is None), "").replace(green, "green’s area "),
        lacking=next((one.lacking for one in dues if one.lacking), "").replace(green, "green’s area "),
        at_least=any(not one.due.state and one.cost.value is not None for one in lines),
    )


def _amounts(sized: Sequence[Due]) -> Iterator[Amounts]:
    """What the lines put on, added up by unit; of a line without an upper end there is none of the sum.

    What a target asks for of nitrogen stands by itself: it is no mass of a feed.
    """
    for (unit, of), dues in grouped(sized, lambda one: (one.unit, _of(one))).items():
        highs = [one.high for one in dues if one.high is not None]
        low = fsum(one.low for one in dues if one.low is not None)
        yield Amounts(low, fsum(highs) if len(highs) == len(dues) else None, unit, of)


def _of(one: Due) -> str:
    """What an amount is of: nitrogen ("N") where a target asks for it and the feed is open; "" of what is put on."""
    return "N" if one.operation == "fertilising" and not one.state and not one.material else ""


def _answering(
    found: Sequence[Found],
    asked: Sequence[Action],
    jobs: Sequence[Item],
    own: Mapping[str, Decider],
    hollows: Hollows | None,
) -> Iterator[tuple[int, Action]]:
    """The actions that answer findings, each once, with the number of the first that it answers."""
    left, told = list(asked), {name for action in asked for name in action.operations}
    for number, one in enumerate(found, start=1):
        if one.hollows is not None and hollows is not None:
            yield number, filling(one.months, hollows, own)
            continue
        mine = [action for action in left if set(action.operations) & set(one.works)]
        for action in mine:
            left.remove(action)
            yield number, action
        for action in () if one.less or told & set(one.works) else repeated(one, jobs, own):
            told.update(action.operations)
            yield number, action


def _answered_by(one: Action, first: int, found: Sequence[Found]) -> tuple[int, ...]:
    """The numbers of all findings whose works an action does, from the one that it was asked for."""
    later = (number for number, other in enumerate(found, 1) if number > first and other.hollows is None
             and set(one.operations) & set(other.works))  # fmt: skip
    return (first, *later)


def _with_numbers(one: Action, numbers: tuple[int, ...], found: Sequence[Found]) -> Action:
    return replace(one, findings=numbers, less=tuple(number for number in numbers if found[number - 1].less))


def filling(months: tuple[int, ...], hollows: Hollows, own: Mapping[str, Decider]) -> Action:
    """Hollows filled by the survey; where they are too deep for dressing, or the survey is in doubt, to be checked."""
    who = decides(["levelling"], own)
    if hollows.fill_t is None:
        what = "Check heights, then level"
        return Action(what, who, ("levelling",), of=1, why="no dressing is ordered for it", hollows=hollows)
    what = "Fill the hollow" if hollows.number == 1 else "Fill the hollows"
    if hollows.one_side:
        what = "Raise the low side"
    amounts = (Amounts(hollows.fill_t, hollows.fill_t, "t"),)
    why = "how it is spread over dressings is open"
    return Action(what, who, ("levelling",), amounts=amounts, months=months, of=1, why=why, hollows=hollows)


def repeated(one: Found, jobs: Sequence[Item], own: Mapping[str, Decider]) -> Iterator[Action]:
    """What a finding asks for and no line does: as often as this season, at this season's cost where it is whole."""
    works = tuple(name for name in one.works if name not in NOT_REPEATED)
    if not works:
        return
    labels = [code_list("operation")[name].label for name in works]
    done = [job for job in jobs if job.operation in works]
    costs = [job.cost.value for job in done if job.cost.how == "logged"]
    whole: Decimal | None = total(costs) if done and len(costs) == len(done) else None
    yield Action(
        what=" or ".join([labels[0], *(label[:1].lower() + label[1:] for label in labels[1:])]),
        who=decides(works, own),
        operations=works,
        months=one.months,
        cost=whole,
        priced=int(whole is not None),
        of=1,
        why="" if whole is not None else "how much is open",
        as_this_season=len(done),
    )


def folded(every: Sequence[Action], room: int) -> tuple[Action, ...]:
    """The actions in so many rows: those that answer findings, the dearest of the routine, the others added up in one.

    Args:
        every: the actions.
        room: rows; those that answer findings stand however many they are.
    """
    routine = [one for one in every if not one.findings]
    if len(every) <= room:
        return tuple(every)
    answering = [one for one in every if one.findings]
    ranked = sorted(routine, key=lambda one: (one.who != "Licensed person", -(one.cost or 0)))
    kept = ranked[: max(0, room - len(answering) - 1)]
    left = [one for one in routine if not any(one is other for other in kept)]
    shown = [one for one in routine if any(one is other for other in kept)]
    return (*answering, *shown, *([together(left)] if len(left) > 1 else left))


def together(several: Sequence[Action], what: str = OTHER) -> Action:
    """Actions of several operations as one, called so."""
    firsts = [one.first for one in several if one.first]
    lasts = [one.last for one in several if one.last]
    return Action(
        what=what,
        who=next(who for who in DECIDERS if any(one.who == who for one in several)),
        operations=tuple(name for one in several for name in one.operations),
        lines=sum(one.lines for one in several),
        unsized=sum(one.unsized for one in several),
        unsure=sum(one.unsure for one in several),
        first=min(firsts, default=None),
        last=max(lasts, default=None),
        season=several[0].season,
        overdue=any(one.overdue for one in several),
        waits=any(one.waits for one in several),
        cost=total(one.cost for one in several),
        priced=sum(one.priced for one in several),
        of=sum(one.of for one in several),
        why=next((one.why for one in several if one.why), ""),
        at_least=any(one.at_least for one in several),
        parts=tuple(several),
    )
