"""The due list: what is due on greens by a day, with what stands against it, hours and cost, and totals by material.

What is due is what :mod:`pipeline.plan.next` says, as every document prints it; nothing is worked out anew here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import fsum

from pipeline.agronomy.dressing import packs
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.grouped import grouped
from pipeline.common.words import counted
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Due
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.plan.account import Priced
from pipeline.plan.against import OfGreen, against
from pipeline.plan.cost import Item, Sum, added, of_planned
from pipeline.plan.due import season_due
from pipeline.plan.due_again import LOOK_AGAIN
from pipeline.plan.due_facts import Facts, facts
from pipeline.plan.due_log import Programme, programmes
from pipeline.plan.due_planned import MAY_BE_DONE, PlannedDue
from pipeline.plan.next import due_lines
from pipeline.plan.rates import Figure, unknown
from pipeline.plan.works import Planned, Unit
from pipeline.workspace.settings import Season

WEEKS = 4
"""Weeks after the last day on record that the list looks ahead, unless told how far: common practice, no source."""
KG_OF_T = 1000.0
NOT_PLANNED = unknown("it is no work of the log")
ASKED_FOR = "An order asks for all of it, with a question: say 0 times in the programme where it is done."
LEFT_OUT = "An order leaves it out until that is known."
NO_FEED = unknown("which feed is used, and how often, is open")


@dataclass(frozen=True)
class DueItem:
    """One thing that is due on a green.

    Attributes:
        green: code of the green.
        due: what is due, as every document says it.
        against: what stands against it, in sentences.
        hours: of all people, by the programme or by rate.
        cost: money by rate.
    """

    green: str
    due: Due
    against: tuple[str, ...] = ()
    hours: Figure = NOT_PLANNED
    cost: Figure = NOT_PLANNED


@dataclass(frozen=True)
class GreenDue:
    """What is due on one green.

    Attributes:
        green: its code.
        name: its name.
        club: code of its club.
        club_name: name of its club.
        day: last day on record of the green, to which what is due counts; None where nothing is.
        weather: what the weather records show of their last days.
        items: what is due, by day.
    """

    green: str
    name: str
    club: str
    club_name: str
    day: date | None
    weather: str
    items: tuple[DueItem, ...]


@dataclass(frozen=True)
class Total:
    """What is due of one material on all greens together.

    Attributes:
        what: the material; what is done, where that is open.
        unit: unit of the amount: t, kg or l.
        amount: sum of what is known; None where nothing is.
        packs: whole packs that hold it; None where the register does not say what a pack holds.
        held: the same in words, with what a pack holds; "" likewise.
        lines: how many lines it is of.
        unknown: of how many of them no amount is known: they are not in the sum.
        greens: on how many greens.
    """

    what: str
    unit: str
    amount: float | None
    packs: int | None
    held: str
    lines: int
    unknown: int
    greens: int


@dataclass(frozen=True)
class DueList:
    """What is due on greens by a day.

    Attributes:
        day: the last day on record of any of them; the day that it was asked where nothing is.
        until: the day up to which the list looks ahead.
        season: name of the season of ``until``.
        greens: every green asked for, those without anything due too.
        totals: by material.
        currency: of all money.
        missing: what the workspace lacks, in sentences.
        look: where it is looked at as of another day, or from what was in the store then.
    """

    day: date
    until: date
    season: str
    greens: tuple[GreenDue, ...]
    totals: tuple[Total, ...]
    currency: str
    missing: tuple[str, ...] = ()
    look: Look = ORDINARY

    @property
    def on_record(self) -> bool:
        """Whether anything is on record of any of them."""
        return any(one.day for one in self.greens)

    @property
    def items(self) -> tuple[DueItem, ...]:
        """Everything that is due, green by green."""
        return tuple(item for green in self.greens for item in green.items)

    @property
    def works(self) -> tuple[DueItem, ...]:
        """What has hours and a cost, known or not: works, and no look at the green."""
        return tuple(item for item in self.items if item.due.operation)

    @property
    def hours(self) -> Sum:
        """Hours of the works, and of how many they are."""
        return added((item.hours for item in self.works), planned=True)

    @property
    def cost(self) -> Sum:
        """Cost of the works, and of how many it is."""
        return added((item.cost for item in self.works), planned=True)


def greens_due(each: Sequence[tuple[GreenRecords, OfGreen]], until: date, priced: Priced) -> Iterator[GreenDue]:
    """What is due on each of some greens, one or many, by a day.

    Args:
        each: the records of a green, with everything logged, and what stands against any work on it.
        until: the last day looked ahead to.
        priced: what works are priced by.
    """
    seasons = [season_due(one.season, max(one.as_of, one.last_day)) for one, _ in each]
    every = [one for one, _ in each]
    made = zip(facts(every, seasons), programmes(every, seasons), strict=True)
    for (records, of), season, own in zip(each, seasons, made, strict=True):
        yield _green_due(records, of, (season, own), until, priced)


def _green_due(
    records: GreenRecords, of: OfGreen, season_made: tuple[Season, tuple[Facts, Programme]], until: date, priced: Priced
) -> GreenDue:
    """What is due on a green by a day: what is overdue or due, and what a window or a target opens for by then."""
    season, made = season_made
    found = sorted(due_lines(records, season, records.as_of, made, until), key=lambda one: one[0].turn)
    chosen = [(due, line) for due, line in found if _by_then(due, until, season)]
    lasts = next((due for due, _ in found if due.what == LOOK_AGAIN), None)
    items = tuple(_item(due, line, (records, of, until, lasts), priced) for due, line in chosen)
    names = records.names
    return GreenDue(str(records.green["green"]), names["green_name"], names["club"], names["club_name"],
                    records.last_day, of.weather, items)  # fmt: skip


def due_priced(records: GreenRecords, season: Season, until: date, priced: Priced) -> tuple[DueItem, ...]:
    """What is due on one green by a day, by day, with hours and cost; what stands against each is left out.

    Args:
        records: of the green, with everything logged.
        season: the season whose targets are to be met.
        until: the last day looked ahead to.
        priced: what works are priced by.
    """
    found = sorted(due_lines(records, season, records.as_of, None, until), key=lambda one: one[0].turn)
    green = str(records.green["green"])
    return tuple(
        DueItem(green, due, (), *_priced(due, _work(due, line, records, until, priced), priced))
        for due, line in found
        if _by_then(due, until, season)
    )


def _by_then(due: Due, until: date, season: Season) -> bool:
    """Whether something is due by a day: a window that has opened, a day that has come, a target of a season begun."""
    if due.state:
        return due.first is None or due.first <= until or due.overdue
    if due.operation or due.unit:
        return season.start <= until
    return due.day is None or due.day <= until


def _item(
    due: Due, line: PlannedDue | None, of: tuple[GreenRecords, OfGreen, date, Due | None], priced: Priced
) -> DueItem:
    records, stands, until, lasts = of
    work = _work(due, line, records, until, priced)
    tomorrow = records.last_day + timedelta(days=1)
    days = max(due.first or tomorrow, tomorrow), (due.day if due.first and not due.overdue and due.day else until)
    last_feed = lasts.why if lasts is not None and lasts.day is not None and lasts.day >= days[0] else ""
    facts = priced.facts.get(work.material) if work is not None else None
    area = None if work is None else priced.areas.of(work)
    said = (
        *_of_the_order(work, line),
        *against(stands, records, days, (work, area, facts.nitrogen_pct if facts else None, last_feed)),
    )
    hours, cost = _priced(due, work, priced)
    return DueItem(str(records.green["green"]), due, said, hours, cost)


def _work(due: Due, line: PlannedDue | None, records: GreenRecords, until: date, priced: Priced) -> Planned | None:
    """The work that a line of the list asks for; None where it is none."""
    return line.left if line is not None else _of_target(due, records, until, priced)


def _of_the_order(work: Planned | None, line: PlannedDue | None) -> Iterator[str]:
    """What an order does with a material of which it is not known whether, or of what, it may be put on."""
    if work is None or not work.material:
        return
    if work.caution:
        yield work.caution
    elif line is not None and line.due.state == "not known":
        yield LEFT_OUT if line.line.state in MAY_BE_DONE else ASKED_FOR


def _of_target(due: Due, records: GreenRecords, until: date, priced: Priced) -> Planned | None:
    """What a target asks for as a work: of dressing what is least; of nitrogen no product is chosen yet."""
    if not due.operation:
        return None
    kg = due.low * KG_OF_T if due.low is not None and due.unit == "t" else None
    first = min(records.last_day, until)
    unregistered = bool(due.material) and due.material not in priced.facts
    return Planned(str(records.green["green"]), due.operation, first, until, "kg", kg, due.material,
                   unregistered=unregistered)  # fmt: skip


def _priced(due: Due, work: Planned | None, priced: Priced) -> tuple[Figure, Figure]:
    if work is None:
        return NOT_PLANNED, NOT_PLANNED
    if not due.state and due.operation == "fertilising":
        return NO_FEED, NO_FEED
    if due.state == "not known":
        why = unknown("whether it is still to be done is not known")
        return why, why
    if not due.state and due.low is None:
        why = unknown("how much is still to be put on is not known")
        return why, why
    made: Item = of_planned(work, priced.rates, priced.prices(work.first), priced.areas.of(work))
    return made.hours, made.cost


def totals(greens: Iterable[GreenDue], packs_of: dict[str, tuple[Unit, float]]) -> tuple[Total, ...]:
    """What is due of each material on all greens, by material; what is not known is counted, and never as nothing.

    Args:
        greens: what is due on each.
        packs_of: what a pack of a material holds, by its name in the register.
    """
    every = [item for green in greens for item in green.items if item.due.operation and item.due.unit]
    alike = grouped(every, lambda item: (_named(item.due), item.due.unit))
    return tuple(_total(what, unit, items, packs_of) for (what, unit), items in sorted(alike.items()))


def _named(due: Due) -> str:
    return due.material or (due.what if due.state else f"{due.what}, product open")


def _total(what: str, unit: str, items: Sequence[DueItem], packs_of: dict[str, tuple[Unit, float]]) -> Total:
    known = list(_known(items))
    amount = fsum(known) if known else None
    of_unit, pack = packs_of.get(what, ("kg", None))
    number = None
    if amount is not None and pack and of_unit == ("kg" if unit == "t" else unit):
        number = int(packs(amount * (KG_OF_T if unit == "t" else 1.0), pack))
    greens = len({item.green for item in items})
    held = AmountText(f"{counted(number, 'pack')} of ", Amount(pack, of_unit, ",g")) if number and pack else ""
    return Total(what, unit, amount, number, held, len(items), len(items) - len(known), greens)


def _known(items: Iterable[DueItem]) -> Iterator[float]:
    return (item.due.low for item in items if item.due.low is not None)
