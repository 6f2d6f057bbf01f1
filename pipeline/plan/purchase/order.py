"""The order: needs less what is there, in packs by supplier and drop, with its sums, its proof and its questions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from time import monotonic

from pipeline.common.amounts import AmountText, joined
from pipeline.plan.purchase.buying import bought
from pipeline.plan.purchase.market import Market, Place, cost_of, total_packs
from pipeline.plan.purchase.needs import Cell, asked
from pipeline.plan.purchase.offers import Catalogue, Ware, catalogue
from pipeline.plan.purchase.parts import (
    MINOR,
    SMALLEST,
    Balance,
    Delivery,
    Line,
    Material,
    Need,
    Offer,
    Order,
    Stock,
    SupplierOrder,
    rounded,
    weighed,
)
from pipeline.plan.purchase.questions import Purchase, questions

SECONDS = 60.0
"""Time for an order; most take a few."""


class WrongOrderError(AssertionError):
    """The order, gone through again in Decimal, does not cover its needs or does not cost what was found."""


def order(
    needs: Iterable[Need],
    stock: Iterable[Stock],
    offers: Iterable[Offer],
    materials: Iterable[Material],
    *,
    vat_pct: Decimal | None,
    seconds: float = SECONDS,
) -> Order:
    """What to order: least cost, then least left over (a litre as a kilogram), then fewest packs, then by name.

    What lies at a drop is used first, then what is on its way there. A need that cannot be counted, and a material that
    cannot be priced, is stopped with the reason and never ordered as nothing; a plant protection product always is.

    Carriage that is not known is counted as nothing while suppliers are compared, the sums are marked short of it, and
    a question says what the order would cost from suppliers whose carriage is known.

    Args:
        needs: of all greens.
        stock: of all drops.
        offers: of all suppliers, those in force on the day of the order.
        materials: what the register says of them.
        vat_pct: rate of VAT, %; None where it is not given. Rounded once for each supplier's order, half up.
        seconds: time for it; an order not proved the least by then is returned with what it may cost more at most.

    Raises:
        WrongOrderError: a fault of ours: the order fails its own check.
    """
    until = monotonic() + seconds
    by_name = {one.name: one for one in materials}
    made = asked(needs, stock, by_name)
    goods = catalogue(offers, by_name, {cell.material: cell.unit for cell in made.cells if cell.to_buy})
    cells = [cell for cell in made.cells if not cell.to_buy or goods.wares[cell.material]]
    unpriced = [cell for cell in made.cells if cell.to_buy and not goods.wares[cell.material]]
    none = [cell.stopped(_no_offer(cell, goods)) for cell in unpriced]
    amounts = {(cell.drop, cell.material): cell.to_buy for cell in cells if cell.to_buy}
    purchase = _bought(goods, amounts, seconds)
    balances = tuple(cell.balance(purchase.amount((cell.drop, cell.material))) for cell in cells)
    suppliers = _suppliers(purchase, vat_pct)
    _check(balances, suppliers, purchase.cost)
    return Order(
        suppliers,
        balances,
        tuple(share for cell in cells for share in cell.shares()),
        tuple(sorted([*made.stopped, *none], key=lambda one: (one.material, one.drop, one.reason))),
        (*goods.questions, *questions(purchase, cells, balances, by_name, until)),
        sum((one.net for one in suppliers), Decimal(0)),
        None if vat_pct is None else sum((one.vat or Decimal(0) for one in suppliers), Decimal(0)),
        (purchase.cost - purchase.found.at_least) * MINOR,
        purchase.found.settled,
    )


def _bought(goods: Catalogue, amounts: Mapping[Place, int], seconds: float) -> Purchase:
    """The least purchase, in two thirds of the time where carriage is not known: comparing takes the rest."""
    wares = {material: some for material, some in goods.wares.items() if some}
    carriage = {supplier: one or 0 for supplier, one in goods.carriage.items()}
    kept = seconds / 3 if None in goods.carriage.values() else 0.0
    market = Market(wares, carriage)
    found = bought(amounts, market, seconds - kept)
    return Purchase(goods, amounts, market, found, cost_of(found.packs, market))


def _suppliers(purchase: Purchase, vat_pct: Decimal | None) -> tuple[SupplierOrder, ...]:
    """The order to each supplier, by name."""
    lines: dict[tuple[str, str], list[Line]] = defaultdict(list)
    numbers = total_packs(purchase.found.packs)
    for (drop, _), ware, packs in purchase.lots():
        lines[ware.supplier, drop].append(_line(ware, packs, numbers[ware.rank]))
    by_supplier: dict[str, list[Delivery]] = defaultdict(list)
    for (supplier, drop), some in sorted(lines.items()):
        carriage = purchase.goods.carriage[supplier]
        paid = None if carriage is None else carriage * MINOR
        by_supplier[supplier].append(Delivery(supplier, drop, tuple(some), paid))
    return tuple(_supplier(name, some, vat_pct) for name, some in by_supplier.items())


def _line(ware: Ware, packs: int, in_all: int) -> Line:
    reached = ware.in_force(in_all)
    assert reached is not None and reached.offer.price is not None and reached.offer.pack is not None
    offer = reached.offer
    return Line(
        ware.material, packs, reached.offer.pack, offer.unit, reached.offer.price, reached.packs,
        packs * reached.offer.price, offer.place,
    )  # fmt: skip


def _supplier(name: str, deliveries: Sequence[Delivery], vat_pct: Decimal | None) -> SupplierOrder:
    goods = rounded(sum((one.goods for one in deliveries), Decimal(0)))
    carriage = rounded(sum((one.carriage or Decimal(0) for one in deliveries), Decimal(0)))
    net = goods + carriage
    vat = None if vat_pct is None else rounded(net * vat_pct / 100)
    known = all(one.carriage is not None for one in deliveries)
    return SupplierOrder(name, tuple(deliveries), goods, carriage, net, vat, known)


def _no_offer(cell: Cell, goods: Catalogue) -> str:
    """Why a cell cannot be bought, and how much it would be."""
    why = goods.left_out[cell.material]
    reason = joined("; ", why) if why else "no offer of it is known, and so no price"
    there = (cell.in_all - cell.to_buy) * SMALLEST
    had = AmountText(", ", weighed(there, cell.unit), " of them there or on order") if there else ""
    return AmountText(reason, ": ", weighed(cell.in_all * SMALLEST, cell.unit), " are needed", had)


def _check(balances: Iterable[Balance], suppliers: Iterable[SupplierOrder], cost: int) -> None:
    """Go through an order once more in Decimal, from what is printed.

    Raises:
        WrongOrderError: less is bought than needed, or it costs something else than was compared.
    """
    for one in balances:
        if one.from_stock + one.from_on_order + one.bought - one.left_of_bought != one.needed or one.left_of_bought < 0:
            raise WrongOrderError(f"{one.material} at {one.drop}: {one}")
    deliveries = [delivery for supplier in suppliers for delivery in supplier.deliveries]
    lines = sum((line.packs * line.price for delivery in deliveries for line in delivery.lines), Decimal(0))
    spent = lines + sum((one.carriage or Decimal(0) for one in deliveries), Decimal(0))
    if spent != cost * MINOR:
        raise WrongOrderError(f"the lines cost {spent}, compared was {cost * MINOR}")
