"""A programme with its price, as a club is given it: what is done by month, and each line with what it comes to.

Pure. Every sum of money is one of rounded cells of the quotation, so that months, greens and the whole add up as
printed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from pipeline.common.grouped import grouped
from pipeline.plan.account import Priced
from pipeline.plan.cost import Sum, added, amounts_of
from pipeline.plan.quotation import Quotation, QuotedLine, quotation
from pipeline.plan.rates import Rate, RateOf, rate_for, times_of
from pipeline.plan.unit_price import Prices, UnitPrice
from pipeline.plan.works import Planned
from pipeline.workspace.settings import Season


@dataclass(frozen=True)
class OfGreen:
    """A green of the programme: its code, its name, and its area in m², None where that is not recorded."""

    code: str
    name: str
    area_m2: float | None


@dataclass(frozen=True)
class NotPlanned:
    """A work that a source asks for and that is not planned on a green, and why."""

    green: str
    operation: str
    source: str
    why: str


@dataclass(frozen=True)
class PricedProgramme:
    """The content of the document.

    Attributes:
        about: code of the green or club.
        name: what it is called.
        club: what the club is called; "" where it is that.
        season: the season.
        day: the day from which on it was planned, or the last day on record.
        loaded: whether it is of the lines in the store; else of lines just made, which are not loaded yet.
        greens: the greens, in order.
        quotation: every line with its price, by green and window.
        prices: the prices of materials that were used.
        rates: the rates that were used.
        unused_prices: materials whose prices are of several packs at once, or two for one pack: not used.
        not_planned: works that sources ask for and that are left out.
        currency: of all sums.
        with_vat: whether the price told first is the one with VAT.
        travel_km: kilometres driven; None where not said.
    """

    about: str
    name: str
    club: str
    season: Season
    day: date
    loaded: bool
    greens: tuple[OfGreen, ...]
    quotation: Quotation
    prices: tuple[UnitPrice, ...]
    rates: tuple[Rate, ...]
    unused_prices: tuple[str, ...]
    not_planned: tuple[NotPlanned, ...]
    currency: str
    with_vat: bool = False
    travel_km: float | None = None

    @property
    def lines(self) -> tuple[QuotedLine, ...]:
        """Its lines."""
        return self.quotation.lines

    @cached_property
    def hours(self) -> Sum:
        """Hours of all lines, and of how many they are known."""
        return hours_of(self.lines)

    @cached_property
    def months(self) -> dict[date, tuple[QuotedLine, ...]]:
        """Lines by the first day of the month in which their window opens, in order."""
        by_day = sorted(self.lines, key=lambda line: (line.planned.first, line.planned.last))
        return {
            month: tuple(lines)
            for month, lines in grouped(by_day, lambda one: one.planned.first.replace(day=1)).items()
        }

    def of_green(self, code: str) -> tuple[QuotedLine, ...]:
        """The lines of a green, by window."""
        own = (line for line in self.lines if line.planned.green == code)
        return tuple(sorted(own, key=lambda line: (line.planned.first, line.planned.last)))


def hours_of(lines: Iterable[QuotedLine]) -> Sum:
    """Hours of lines, and of how many they are known."""
    return added((line.hours for line in lines), planned=True)


def net_of(lines: Iterable[QuotedLine]) -> Decimal:
    """The price of lines as far as it is known, without travel and VAT."""
    return sum((line.price for line in lines), Decimal("0.00"))


def unknown_parts(line: QuotedLine) -> tuple[str, ...]:
    """What a line's price does not have in it."""
    cells = {"labour": line.labour, "machines": line.machine, "material": line.material}
    return tuple(name for name, cell in cells.items() if cell is None)


def quoted(works: Iterable[Planned], priced: Priced, vat_pct: Decimal | None, travel_km: float | None) -> Quotation:
    """The quotation of works, by green and window."""
    ordered = sorted(works, key=lambda one: (one.green, one.first, one.last, one.operation, one.material))
    return quotation(ordered, priced.rates, priced.prices, priced.areas, vat_pct, travel_km)


def rates_used(works: Sequence[Planned], rates: Sequence[Rate]) -> tuple[Rate, ...]:
    """The rates by which any of the works is priced, in the order of the store."""
    sorts: tuple[RateOf, ...] = ("labour", "machine", "output")
    told = [one for one in works if one.hours is not None or times_of(one) is not None]
    found = [rate_for(rates, of, one.operation, one.first)[0] for one in told for of in sorts]
    if works:
        found.append(rate_for(rates, "mileage", "", min(one.first for one in works))[0])
    return tuple(one for one in rates if any(one is other for other in found))


def prices_used(works: Iterable[Planned], prices: Callable[[date], Prices]) -> tuple[UnitPrice, ...]:
    """The prices by which the material of any of the works is priced, by material, day and pack."""
    found = {
        offers.asked(amount).by
        for one in works
        for unit, amount in amounts_of(one).items()
        if (offers := prices(one.first).get((one.material, unit))) is not None
    }
    return tuple(sorted(found, key=lambda one: (one.material, one.unit, one.holds_from or date.min, one.pack,
                                                one.supplier)))  # fmt: skip
