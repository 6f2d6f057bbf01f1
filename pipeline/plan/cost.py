"""Hours and cost of works, done and planned: of each, added up, and held against each other only where they are whole.

What a job cost is what the log says; else its hours by the rates, with what was put on by its price, and marked so;
else it is not known. A sum of some that are known says of how many, and is never set beside another as if it were
whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pipeline.agronomy.dressing import MoistureBasis, depth_mm, dry_mass_kg
from pipeline.common.money import plain, rounded, total
from pipeline.common.words import counted, listed, logged_for
from pipeline.plan.areas import Areas
from pipeline.plan.rates import MOST_YEAR_H, Figure, Rate, Rates, exact, planned_hours, priced, remembering, unknown
from pipeline.plan.unit_price import Asked, Prices, unpriced
from pipeline.plan.works import Done, Planned, Unit
from pipeline.standardise.several.said import PUTS_ON

Quantity = Callable[["Item"], float | None]
"""What a cost is told by: how much of it a work is; None where that is not known, 0 where it is none of it."""

EACH = 4
"""Decimals that a price of a kilogram or litre is printed with: a tonne at 420 is 0.42 a kg."""
BOUGHT = PUTS_ON - {"irrigation"}
"""Operations whose material is bought; water is not priced here."""


@dataclass(frozen=True)
class Facts:
    """What the register says of a material, as far as cost is told by it.

    Attributes:
        nitrogen_pct: nitrogen by mass, %; None where it is not known.
        bulk_density_t_m3: of the dry material; None where it is not known.
        moisture_pct: moisture as delivered, %; None where it is not known, and not taken off.
        moisture_basis: what that is a percentage of.
    """

    nitrogen_pct: float | None = None
    bulk_density_t_m3: float | None = None
    moisture_pct: float | None = None
    moisture_basis: MoistureBasis = "dry"


@dataclass(frozen=True)
class Item:
    """Hours and cost of one work, done or planned."""

    work: Done | Planned
    hours: Figure
    cost: Figure

    @property
    def green(self) -> str:
        """Code of its green."""
        return self.work.green

    @property
    def operation(self) -> str:
        """What is done."""
        return self.work.operation


@dataclass(frozen=True)
class Sum:
    """Hours or money added up over works. There is no order among sums: :func:`compared` sets two beside each other.

    Attributes:
        value: the sum of what is known; None where nothing is.
        logged: works whose figure the log or the plan gives.
        by_rate: works whose figure is made by a rate.
        of: works in all.
        planned: whether it is of planned works.
        so_far: whether it is of a log of a season that still runs.
        short: what else of the log is not in it, in words; "" where nothing is known to be missing.
    """

    value: Decimal | None
    logged: int
    by_rate: int
    of: int
    planned: bool = False
    so_far: bool = False
    short: str = ""

    @property
    def complete(self) -> bool:
        """Whether it is of all works, and there are any."""
        return 0 < self.of == self.logged + self.by_rate and not self.short

    @property
    def said(self) -> str:
        """Of how many works it is: "logged for 12 of 40, 3 more by rate"; "" where all are logged."""
        return "; ".join(filter(None, [self.of_how_many, self.short]))

    @property
    def of_how_many(self) -> str:
        """The same without what else the log lacks."""
        if not self.of:
            return "nothing planned" if self.planned else "no job logged"
        if self.by_rate and not self.logged:
            return logged_for(self.by_rate, self.of, "by rate") or "all by rate"
        rest = f", {self.by_rate:,} more by rate" if self.by_rate else ""
        return f"{logged_for(self.logged, self.of, 'given' if self.planned else 'logged')}{rest}"


@dataclass(frozen=True)
class Compared:
    """Two sums beside each other.

    Attributes:
        difference: the first less the second; None where they cannot be compared.
        why: why they cannot, or what of them is made by rate; "" where all is logged.
    """

    difference: Decimal | None
    why: str


@dataclass(frozen=True)
class Per:
    """A cost told by a quantity.

    Attributes:
        value: money for one of it; None where it is not known.
        whole: the cost it is made from, and of how many works.
        quantity: what that is divided by; None where it is not known.
        why: what it leaves out, or why it is not known.
    """

    value: Decimal | None
    whole: Sum
    quantity: float | None
    why: str


def of_job(job: Done, rates: Iterable[Rate], prices: Prices) -> Item:
    """Hours and cost of a job of the log."""
    hours = Figure(exact(job.hours), "logged") if job.hours is not None else unknown("no hours logged")
    cost = Figure(job.cost, "logged") if job.cost is not None else _by_rate(job, hours, remembering(rates), prices)
    return Item(job, hours, cost)


def of_planned(planned: Planned, rates: Iterable[Rate], prices: Prices, area_m2: float | None) -> Item:
    """Hours and cost that a planned work will take.

    Args:
        planned: the work.
        rates: of all days.
        prices: of the materials.
        area_m2: area of its green; None where it is not recorded.
    """
    held = remembering(rates)
    hours = planned_hours(planned, held, area_m2)
    return Item(planned, hours, _by_rate(planned, hours, held, prices))


def labour_of(work: Done | Planned, hours: Figure, rates: Iterable[Rate]) -> Figure:
    """What the hours of a work cost in labour."""
    if hours.value is None:
        return hours
    return priced(rates, "labour", hours.value, work.operation, work.first)


def machine_of(work: Done | Planned, hours: Figure, rates: Iterable[Rate]) -> Figure:
    """What the hours of a work cost in machines, where the machine runs as long as the people work."""
    if hours.value is None:
        return hours
    return priced(rates, "machine", hours.value, work.operation, work.first)


def material_of(work: Done | Planned, prices: Prices) -> Figure:
    """What was, or is to be, put on costs; nothing where the work puts nothing on.

    A work in kg or l that names no material puts something on all the same, and so does a dressing or a feed.
    """
    amounts = amounts_of(work)
    by_amount = bool(amounts) or (isinstance(work, Planned) and work.unit != "times")
    if not work.material and not by_amount and work.operation not in BOUGHT:
        return Figure(Decimal(0), "by rate")
    if not work.material:
        return unknown("the material is not named")
    if not amounts:
        return unknown(f"the amount of {work.material} is not known")
    for unit, amount in amounts.items():
        if (offers := prices.get((work.material, unit))) is not None:
            asked = offers.asked(amount)
            return Figure(asked.money, "by rate", _by_pack(asked))
    return unknown(unpriced(prices, work.material, work.first))


def _by_pack(asked: Asked) -> str:
    """By which pack something is priced: "0.24 a kg by a pack of 25 kg"."""
    by = asked.by
    pack = f"pack of {by.pack:,g} {by.unit}"
    if asked.whole:
        return f"a whole {pack}, {plain(by.price)}"
    return f"{plain(rounded(by.each, EACH))} a {'litre' if by.unit == 'l' else by.unit} by a {pack}"


def amounts_of(work: Done | Planned) -> dict[Unit, float]:
    """What a work puts on, by unit, as far as it is known."""
    if isinstance(work, Planned):
        return {} if work.size is None or work.unit == "times" else {work.unit: work.size}
    given: dict[Unit, float | None] = {"kg": work.kg, "l": work.l}
    return {unit: amount for unit, amount in given.items() if amount is not None}


def _by_rate(work: Done | Planned, hours: Figure, rates: Rates, prices: Prices) -> Figure:
    """The cost by rates: not known where labour or material is not, for a part of a cost is not the cost."""
    labour, material = labour_of(work, hours, rates), material_of(work, prices)
    lacking = [part.why for part in (labour, material) if not part.known]
    if lacking or labour.value is None or material.value is None:
        return unknown("; ".join(lacking))
    machine = machine_of(work, hours, rates)
    why = "" if machine.known else f"without machines: {machine.why}"
    return Figure(labour.value + material.value + (machine.value or 0), "by rate", why)


def added(figures: Iterable[Figure], planned: bool = False, so_far: bool = False, short: str = "") -> Sum:
    """The sum of what is known of figures, and of how many it is."""
    known: list[Decimal] = []
    every = by_rate = 0
    for one in figures:  # one pass: sums of a county are of a million works
        every += 1
        if one.value is not None:
            known.append(one.value)
            by_rate += one.how == "by rate"
    return Sum(total(known), len(known) - by_rate, by_rate, every, planned, so_far, short)


def hours(items: Iterable[Item], so_far: bool = False, short: str = "") -> Sum:
    """The hours of works; ``so_far`` where they are logged of a season that still runs, ``short`` of what it lacks."""
    every = list(items)
    return added((one.hours for one in every), _are_planned(every), so_far, short)


def cost(items: Iterable[Item], so_far: bool = False, short: str = "") -> Sum:
    """The cost of works; ``so_far`` and ``short`` as of :func:`hours`."""
    every = list(items)
    return added((one.cost for one in every), _are_planned(every), so_far, short)


def _are_planned(items: list[Item]) -> bool:
    return bool(items) and all(isinstance(one.work, Planned) for one in items)


def compared(first: Sum | Decimal, second: Sum | Decimal) -> Compared:
    """One sum less another: budget and actual, or two seasons. No number where one of them is not whole.

    A budget that somebody set is whole as it stands. What is logged of a season that still runs is set beside a budget
    or a plan, as so far, and not beside a season that is over.
    """
    sides = [one for one in (first, second) if isinstance(one, Sum)]
    lacking = [one.said for one in sides if not one.complete]
    if lacking:
        return Compared(None, f"not compared: {listed(lacking)}")
    if len({one.so_far for one in sides if not one.planned}) > 1:
        return Compared(None, "not compared: one of the two seasons still runs")
    low, high = (one.value if isinstance(one, Sum) else one for one in (first, second))
    assert low is not None and high is not None
    so_far = ["so far"] if any(one.so_far for one in sides) else []
    return Compared(low - high, listed([*so_far, *(one.said for one in sides if one.said)]))


def per_m2(items: Iterable[Item], areas: Areas) -> Per:
    """The cost of works over the area of their greens, which says of how many works it is.

    Each work is told by the area of its green on its day, as the figure ``cost_m2`` is; of several greens each counts
    by its area on the day of its last work.
    """
    every = [(one, areas.of(one.work)) for one in items]
    whole = cost(one for one, _ in every)
    last: dict[str, date] = {}
    for one, _ in every:
        last[one.green] = max(one.work.first, last.get(one.green, date.min))
    over = {green: areas.on(green, day) or 0.0 for green, day in last.items()}
    lacking = sorted({one.green for one, area in every if not area})
    if lacking or not over or whole.value is None:
        why = f"the area of {listed(lacking)} is not recorded" if lacking else whole.said
        return Per(None, whole, None, why)
    square_metres = sum(over[green] for green in sorted(over))
    parts = total(_as_on(one, over[one.green], area) for one, area in every)
    return Per(None if parts is None else parts / exact(square_metres), whole, square_metres, whole.said)


def _as_on(item: Item, area_m2: float, own: float | None) -> Decimal | None:
    """What a work would have cost on another area of its green, at its cost a square metre; None where it has none.

    Args:
        item: the work.
        area_m2: the other area.
        own: the area of its green on its day.
    """
    assert own, "an area looked for before"
    if item.cost.value is None or own == area_m2:
        return item.cost.value
    return item.cost.value * exact(area_m2) / exact(own)


def per(items: Iterable[Item], quantity: Quantity) -> Per:
    """The cost of works by how much of a quantity they are, from those of which both are known.

    Args:
        items: the works.
        quantity: of one work; works that are none of it (0) are left out.
    """
    of_it = [(one, much) for one in items if (much := quantity(one)) != 0]
    both = [(one, much) for one, much in of_it if much is not None and one.cost.known]
    whole = cost(one for one, _ in both)
    left_out = len(of_it) - len(both)
    if not both:
        return Per(None, whole, None, "no work has both a cost and an amount" if of_it else "no such work")
    said = [f"from {len(both)} of {counted(len(of_it), 'work')}"] if left_out else []
    return _divided(whole, sum(much for _, much in both if much), "; ".join([*said, *filter(None, [whole.said])]))


def _divided(whole: Sum, quantity: float, why: str) -> Per:
    value = None if whole.value is None else whole.value / exact(quantity)
    return Per(value, whole, quantity, why)


def nitrogen_kg(facts: Mapping[str, Facts]) -> Quantity:
    """Of a work, the kilograms of nitrogen it puts on."""

    def much(item: Item) -> float | None:
        found = facts.get(item.work.material) if item.work.material else None
        if found is None or not found.nitrogen_pct:
            of_feed = item.operation == "fertilising" and (found is None or found.nitrogen_pct is None)
            return None if of_feed else 0.0
        kg = amounts_of(item.work).get("kg")
        return None if kg is None else kg * found.nitrogen_pct / 100.0

    return much


def dressing_mm(facts: Mapping[str, Facts], areas: Areas) -> Quantity:
    """Of a work, the depth of dressing in mm over its green, by the area of its day."""

    def much(item: Item) -> float | None:
        if item.operation != "top_dressing":
            return 0.0
        found, area, kg = facts.get(item.work.material), areas.of(item.work), amounts_of(item.work).get("kg")
        if found is None or not found.bulk_density_t_m3 or not area or kg is None:
            return None
        dry = kg if found.moisture_pct is None else dry_mass_kg(kg, found.moisture_pct, found.moisture_basis)
        return float(depth_mm(dry / area, found.bulk_density_t_m3))

    return much


def beyond_published(of_year: Sum) -> str:
    """What to look at where a year's hours of one green are more than is published of one; "" where they are not."""
    if of_year.value is None or of_year.value <= exact(MOST_YEAR_H):
        return ""
    return (
        f"{of_year.value:,.0f} hours are more than the {MOST_YEAR_H:.0f} a year published for a council green kept to "
        "a good standard: check the rates."
    )
