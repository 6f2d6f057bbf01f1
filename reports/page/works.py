"""What was done on a green and what it cost, as printed: every kind of work once, with range, amount and sums."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from pipeline.common.grouped import grouped
from pipeline.common.words import logged_for
from pipeline.indicators.base.first_page import Spent
from pipeline.indicators.base.green_season import Evidence, Work
from pipeline.summaries.club_season import Effort
from pipeline.summaries.effort import effort
from reports.page import text
from reports.page.effort import SumDigits, digits_of, effort_cells, effort_note, rounded_apart
from reports.page.figures import QUESTIONED, asked
from reports.page.house_style import Units
from reports.page.work_amounts import amount_of, range_of
from schemas.codes import code_list

PUT_ON = "putting_on"
GROUPS = {
    "cutting": "Cutting and grooming",
    "opening": "Opening the soil",
    PUT_ON: "Dressing, feed, seed and water",
    "around": "Around the green",
    "": "Other work",
}
"""Group of an operation, as ``schemas/codes/operation.toml`` has it → its heading, in the order printed."""


@dataclass(frozen=True)
class WorkLine:
    """One kind of work, as printed.

    Attributes:
        operation: what was done.
        times: how often.
        range: with what and how; quantities that differ as a range.
        amount: how much in all.
        hours: hours of all people.
        cost: money.
        share: its money as a share of the dearest kind's, percent, drawn as a bar; 0 draws none.
    """

    operation: str
    times: str
    range: str
    amount: str
    hours: str
    cost: str
    share: float


@dataclass(frozen=True)
class WorkSum:
    """A row of sums: what it is of, and its sums."""

    what: str
    times: str
    hours: str
    cost: str


@dataclass(frozen=True)
class WorkGroup:
    """Kinds of work under one heading, dearest first."""

    sums: WorkSum
    lines: tuple[WorkLine, ...]


@dataclass(frozen=True)
class WorkTable:
    """Every kind of work of a season.

    Attributes:
        lead: what took most of it, in a sentence.
        groups: the kinds; none where nothing is logged.
        total: sums of all of them.
        last: those of the season before; None where nothing of it is logged.
        note: what the sums lack.
        with_hours: whether any work gives hours.
        with_cost: whether any gives a cost.
        cost_heading: heading of the column of costs.
    """

    lead: str
    groups: tuple[WorkGroup, ...]
    total: WorkSum
    last: WorkSum | None
    note: str
    with_hours: bool
    with_cost: bool
    cost_heading: str = "Cost"


def work_table(
    works: Sequence[Work],
    spent: Spent | None = None,
    currency: str = "",
    units: Units = "metric",
    lines: frozenset[Evidence] = frozenset(),
) -> WorkTable:
    """The table of works: nothing of a season is left out of it.

    Args:
        works: of the season, their texts in units of display.
        spent: what the season took beside the one before.
        currency: of all money.
        units: units of display, in which amounts are summed up here.
        lines: lines under a warning: a kind of work that has one is marked.
    """
    kinds = {name: (effort(same), same) for name, same in grouped(works, lambda one: one.operation).items()}
    total, last = effort(works), _last_season(spent)
    digits = digits_of([*(of for of, _ in kinds.values()), *([last] if last else [])])
    dearest = max((of.cost for of, _ in kinds.values() if of.cost), default=Decimal(0))

    def line(name: str) -> WorkLine:
        of, same = kinds[name]
        share = round(float(of.cost / dearest * 100), 1) if of.cost and dearest else 0.0
        return WorkLine(
            operation=asked(text.clean(name, 60), questioned=any(one.evidence in lines for one in same)),
            range=range_of(same, units),
            amount=amount_of(same, units, put_on=_group(same[0]) == PUT_ON),
            share=share,
            **_cells(of, digits),
        )

    by_group = grouped(kinds, lambda name: _group(kinds[name][1][0]))
    groups = []
    for group, heading in GROUPS.items():
        names = sorted(by_group.get(group, ()), key=lambda name: _dearest_first(name, kinds[name][0]))
        if names:
            of = effort([one for name in names for one in kinds[name][1]])
            groups.append(WorkGroup(_sums(heading, of, digits), tuple(line(name) for name in names)))
    return WorkTable(
        lead=_lead(total, {name: of for name, (of, _) in kinds.items()}),
        groups=tuple(groups),
        total=_sums("Total", total, digits),
        last=_sums("Last season", last, digits) if last else None,
        note=" ".join(
            filter(None, (_in_doubt(works, lines), _note(total, last, [of for of, _ in kinds.values()], digits)))
        ),
        with_hours=total.with_hours > 0,
        with_cost=total.with_cost > 0,
        cost_heading=text.cost_heading(currency),
    )


def _in_doubt(works: Sequence[Work], lines: frozenset[Evidence]) -> str:
    """What the mark behind a kind of work means, and the lines it is about; "" where none is marked."""
    found = [one for one in works if one.evidence in lines]
    if not found:
        return ""
    places = dict.fromkeys(f"{text.name(one.evidence.file, 60)}, line {one.evidence.line:,}" for one in found)
    rest = "rests on an entry" if len(places) == 1 else "rests on entries"
    return f"{QUESTIONED}: {rest} to be checked first, see page 1 ({'; '.join(places)})."


def _group(of: Work) -> str:
    code = code_list("operation").get(of.code)
    return str(code.facts["group"]) if code else ""


def _dearest_first(name: str, of: Effort) -> tuple[Decimal, float, int, str]:
    return -(of.cost or Decimal(0)), -(of.hours or 0.0), -of.jobs, name


def _cells(of: Effort, digits: SumDigits) -> dict[str, str]:
    cells = effort_cells(of, digits)
    return {"times": cells["jobs"], "hours": cells["hours"], "cost": cells["cost"]}


def _sums(what: str, of: Effort, digits: SumDigits) -> WorkSum:
    return WorkSum(what, **_cells(of, digits))


def _last_season(spent: Spent | None) -> Effort | None:
    """The sums of the season before; None where nothing of it is logged."""
    if spent is None or not spent.last_cost.jobs:
        return None
    hours, cost = spent.last_hours, spent.last_cost
    worked = None if hours.value is None else float(hours.value)
    return Effort(cost.jobs, worked, hours.known, cost.value, cost.known)


def _lead(total: Effort, kinds: dict[str, Effort]) -> str:
    """How many jobs, and which kind took most of the hours and of the money, where all of them are logged."""
    if not kinds:
        return ""
    said = f"{text.count(total.jobs, 'job')} of {text.count(len(kinds), 'kind')}."
    parts = [
        *_most(kinds, total.hours, total.with_hours == total.jobs, "hours", lambda of: of.hours),
        *_most(kinds, total.cost, total.with_cost == total.jobs, "money", lambda of: of.cost),
    ]
    if not parts:
        return said
    (first, share, what), rest = parts[0], parts[1:]
    told = [f"{first} took {share} of the {what}"]
    told += [
        f"{share} of the {what}" if name == first else f"{name} {share} of the {what}" for name, share, what in rest
    ]
    return f"{said} {text.sentence(text.inside(' and '.join(told)))}"


def _most(
    kinds: dict[str, Effort], total: float | Decimal | None, whole: bool, what: str, of: Callable[[Effort], object]
) -> Iterator[tuple[str, str, str]]:
    """The kind with most of a sum: its name, its share and of what; nothing where the sum is not of all jobs."""
    if whole and total:
        name = max(kinds, key=lambda one: float(of(kinds[one]) or 0.0))  # type: ignore[arg-type]
        share = float(of(kinds[name]) or 0.0) / float(total)  # type: ignore[arg-type]
        yield text.clean(name, 60), text.with_unit(text.number(share * 100, 0), "%"), what


def _note(total: Effort, last: Effort | None, parts: Sequence[Effort], digits: SumDigits) -> str:
    """What sums of this season and the last lack, and whether hours are rounded apart."""
    said = [effort_note(total), rounded_apart(parts, total, digits)]
    if last:
        lacks = [
            f"{what} {logged}"
            for what, known in (("hours", last.with_hours), ("cost", last.with_cost))
            if known and (logged := logged_for(known, last.jobs))
        ]
        said.append(f"Last season: {' and '.join(lacks)} jobs." if lacks else "")
    return " ".join(filter(None, said))
