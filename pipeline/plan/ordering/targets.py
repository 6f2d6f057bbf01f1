"""What targets ask for of greens whose programme does not plan it: dressing and nitrogen, as needs.

Amounts are those of :func:`pipeline.plan.from_targets.from_targets`, and so those of the due list. Of a green whose
programme of the season has a line of the same, the target asks for nothing here: it would be ordered twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from pipeline.common.amounts import AmountText
from pipeline.common.words import counted
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.works import dressing
from pipeline.plan.from_targets import Feed, Goal, from_targets
from pipeline.plan.logged import place_of
from pipeline.plan.ordering.goods import Registered
from pipeline.plan.ordering.open_works import Wanted
from pipeline.plan.purchase.parts import Need, Stopped, weighed
from pipeline.plan.rates import exact
from pipeline.plan.works import Planned

DRESSING, FEEDING = "top_dressing", "fertilising"
OF_GOAL = {DRESSING: "dressing", FEEDING: "nitrogen"}


@dataclass(frozen=True)
class Planless:
    """Greens whose programme of a season has no line of a sort that targets ask for.

    Attributes:
        dressing: greens without dressing.
        feeding: greens without a feed.
    """

    dressing: tuple[str, ...]
    feeding: tuple[str, ...]

    def lacks(self, green: str, operation: str) -> bool:
        """Whether a green's programme has no line of this operation."""
        return green in (self.dressing if operation == DRESSING else self.feeding)

    @property
    def greens(self) -> tuple[str, ...]:
        """All of them."""
        return tuple(sorted({*self.dressing, *self.feeding}))


def planless(greens: Iterable[str], lines: Iterable[Planned], registered: Mapping[str, Registered]) -> Planless:
    """Greens whose lines put on no dressing, and those whose lines put on no nitrogen: iron alone is no feed.

    Args:
        greens: those asked about.
        lines: every line of the season's programmes, done or not.
        registered: the register of materials.
    """
    dressed, fed = set(), set()
    for one in lines:
        material = registered.get(one.material)
        if one.operation == DRESSING or (material and material.material.sort == DRESSING):
            dressed.add(one.green)
        if (material and material.n_pct) or (one.operation == FEEDING and not (material and material.no_nitrogen)):
            fed.add(one.green)
    every = sorted(greens)
    return Planless(tuple(one for one in every if one not in dressed), tuple(one for one in every if one not in fed))


def of_targets(
    records: Iterable[GreenRecords],
    bare: Planless,
    day: date,
    feed: Feed | None,
    drop_of: Callable[[str, str], str],
) -> Wanted:
    """What the targets of a season ask for on greens whose programme does not plan it.

    Nitrogen is no product: without a feed it is stopped, with how much it is in all.

    Args:
        records: of each green, for the season.
        bare: the greens whose programmes lack dressing or feed.
        day: the day of the order.
        feed: the feed that nitrogen is ordered as; None where nobody says.
        drop_of: where a material goes for a green.
    """
    needs: list[Need] = []
    stopped: list[Stopped] = []
    nitrogen: dict[str, Decimal] = {}
    for own in records:
        green = own.green["green"]
        for goal in from_targets(own, place_of(own), day, feed).goals:
            if goal.met or not bare.lacks(green, goal.operation):
                continue
            if goal.operation == FEEDING and feed is None and goal.low is not None:
                nitrogen[green] = exact(goal.low)
            elif goal.low is None or not all(one.work.material for one in goal.entries):
                stopped.append(_unknown(goal, green))
            else:
                needs += _needs(goal, own, green, drop_of)
    return Wanted(tuple(needs), (*stopped, *_which_feed(nitrogen)))


def _unknown(goal: Goal, green: str) -> Stopped:
    what = OF_GOAL[goal.operation]
    if goal.low is not None:
        much = weighed(exact(goal.low), "kg")
        reason = AmountText("its target asks for ", much, " of it, and which is not known: none was put on last")
        return Stopped(what, "", (green,), reason)
    why = next((one.lacking for one in goal.entries if one.lacking), "how much of it is open is not known")
    return Stopped(what, "", (green,), f"its target asks for it, and how much is not known: {why}")


def _which_feed(nitrogen: Mapping[str, Decimal]) -> Iterator[Stopped]:
    open_ = {green: kg for green, kg in nitrogen.items() if kg > 0}
    if open_:
        kg = weighed(sum(open_.values(), Decimal(0)).quantize(Decimal("0.1")), "kg")
        on = f" of nitrogen in all on {counted(len(open_), 'green')}, and which feed is not said"
        reason = AmountText("targets ask for ", kg, on)
        yield Stopped("nitrogen", "", tuple(sorted(open_)), reason)


def _needs(goal: Goal, own: GreenRecords, green: str, drop_of: Callable[[str, str], str]) -> Iterator[Need]:
    """The works that meet a goal; a dressing whose moisture is not known is planned dry, and stopped by the order."""
    dry: Decimal | None = Decimal(1)
    if goal.operation == DRESSING:
        last = dressing.last_dressed(replace(own, as_of=own.last_day))
        dry = None if last is None or last.delivered_of_dry is None else Decimal(1)
    for entry in goal.entries:
        work = entry.work
        amount = None if work.size is None else exact(work.size)
        drop = drop_of(green, work.material)
        yield Need(work.material, amount, "kg", drop, green, dry, entry.lacking)
