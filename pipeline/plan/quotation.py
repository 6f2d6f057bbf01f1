"""What a club is asked for a programme: each work with its hours and money, and a total that says what it is without.

Money is rounded once, in each cell of a line; lines, the sum before VAT and the total are sums of rounded cells, so
that rows and columns add up to the penny as printed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pipeline.common.grouped import grouped
from pipeline.common.money import NOTHING, rounded
from pipeline.common.words import listed, period
from pipeline.plan.areas import Areas
from pipeline.plan.cost import labour_of, machine_of, material_of
from pipeline.plan.rates import Figure, Rate, exact, planned_hours, priced, unknown
from pipeline.plan.unit_price import Prices
from pipeline.plan.works import Planned
from schemas.codes import code_list


@dataclass(frozen=True)
class QuotedLine:
    """A planned work with what it comes to.

    Attributes:
        planned: the work, with its window and amount.
        hours: of all people.
        labour: money of these hours, rounded; None where it is not known.
        machine: of the machine's hours, as long as the people's; None where no rate of one holds.
        material: of what is put on; None where it is not known.
        price: the sum of what is known of the three.
        material_by: by which pack the material is priced; "" where nothing is put on, or it has no price.
    """

    planned: Planned
    hours: Figure
    labour: Decimal | None
    machine: Decimal | None
    material: Decimal | None
    price: Decimal
    material_by: str = ""


@dataclass(frozen=True)
class Quotation:
    """A price for a programme.

    Attributes:
        lines: its works, in the order given.
        labour: sum of that column, as are the next two.
        machine: of the machines.
        material: of the materials.
        travel: by the kilometres of all visits, rounded; None where none are said, or no rate of mileage holds.
        before_vat: sum before VAT.
        vat_pct: VAT, %; None where it is not said.
        vat: VAT on the net, rounded once; None where it is not said.
        total: net and VAT.
        without: what the total does not have in it, and why; empty where it is whole.
    """

    lines: tuple[QuotedLine, ...]
    labour: Decimal
    machine: Decimal
    material: Decimal
    travel: Decimal | None
    before_vat: Decimal
    vat_pct: Decimal | None
    vat: Decimal | None
    total: Decimal
    without: tuple[str, ...]

    @property
    def complete(self) -> bool:
        """Whether all that it asks for has a price."""
        return not self.without

    @property
    def said(self) -> str:
        """What stands beside the total: "" where it is whole."""
        return f"without {listed(self.without)}" if self.without else ""


def quotation(
    planned: Iterable[Planned],
    rates: Iterable[Rate],
    prices: Callable[[date], Prices],
    areas: Areas,
    vat_pct: Decimal | None,
    travel_km: float | None = None,
) -> Quotation:
    """The price of planned works. What is not known is left out of it, named, and never 0 in silence.

    Args:
        planned: the works, of one club or many.
        rates: of all days; each work is priced by those that hold when its window opens.
        prices: what can be had of materials on a day, without VAT; each work is priced by those that hold when its
            window opens.
        areas: of the greens; each work is told by the area of the day on which its window opens.
        vat_pct: VAT, %; None where it is not said, and 0 where none is asked for.
        travel_km: kilometres driven for all of it; None where they are not said: named, where a kilometre has a rate.
    """
    held = tuple(rates)
    made = [_line(one, held, prices(one.first), areas.of(one)) for one in planned]
    lines = tuple(line for line, _ in made)
    without = list(_named(fault for _, faults in made for fault in faults))
    travel = _travel(lines, held, travel_km)
    if travel is not None and not travel.known:
        without.append(f"travel ({travel.why})")
    driven = None if travel is None or travel.value is None else rounded(travel.value)
    net = _total([*(line.price for line in lines), driven])
    vat = None if vat_pct is None else rounded(net * vat_pct / 100)
    if vat is None:
        without.append("VAT (no rate of it is set)")
    return Quotation(
        lines=lines,
        labour=_total(line.labour for line in lines),
        machine=_total(line.machine for line in lines),
        material=_total(line.material for line in lines),
        travel=driven,
        before_vat=net,
        vat_pct=vat_pct,
        vat=vat,
        total=net + (vat or NOTHING),
        without=tuple(without),
    )


def _travel(lines: tuple[QuotedLine, ...], rates: tuple[Rate, ...], travel_km: float | None) -> Figure | None:
    """What the kilometres cost by the rate of the first work's day; None where nobody asks for any."""
    if travel_km is None:
        return unknown("kilometres not said") if any(one.of == "mileage" for one in rates) else None
    if not lines:
        return None
    return priced(rates, "mileage", exact(travel_km), "", min(line.planned.first for line in lines))


_Lacking = tuple[str, str, str]
"""What a line is without: the sort of money, of which work, and why."""


def _line(
    planned: Planned, rates: tuple[Rate, ...], prices: Prices, area_m2: float | None
) -> tuple[QuotedLine, list[_Lacking]]:
    hours = planned_hours(planned, rates, area_m2)
    parts = {
        "labour": labour_of(planned, hours, rates),
        "machines": machine_of(planned, hours, rates),
        "material": material_of(planned, prices),
    }
    cells = {name: None if one.value is None else rounded(one.value) for name, one in parts.items()}
    label = code_list("operation")[planned.operation].label.lower()
    of_work = {"material": f"{label} {period(planned.first, planned.last)}"}
    faults = [(name, of_work.get(name, label), one.why) for name, one in parts.items() if not one.known]
    net = _total(cells.values())
    by = parts["material"].why if parts["material"].known else ""
    return QuotedLine(planned, hours, cells["labour"], cells["machines"], cells["material"], net, by), faults


def _named(faults: Iterable[_Lacking]) -> Iterable[str]:
    """What is lacking, each reason once with the sorts of money and the works: "labour and machines of mowing (…)"."""
    sorts: dict[tuple[str, str], list[str]] = {}
    for (name, why), same in grouped(faults, lambda fault: (fault[0], fault[2])).items():
        works = listed(list(dict.fromkeys(work for _, work, _ in same)))
        sorts.setdefault((works, why), []).append(name)
    for (works, why), names in sorts.items():
        yield f"{listed(names)} of {works} ({why})"


def _total(cells: Iterable[Decimal | None]) -> Decimal:
    return sum((cell for cell in cells if cell is not None), Decimal("0.00"))
