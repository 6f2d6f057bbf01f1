"""The order as a person reads it: what is not ordered and what to ask first, then what is bought."""

from __future__ import annotations

from decimal import Decimal
from textwrap import wrap
from typing import TYPE_CHECKING

from pipeline.cli.narrow import narrowed
from pipeline.cli.printing.table import table
from pipeline.cli.terminal import err, out
from pipeline.common.grouped import grouped
from pipeline.common.shown_text import one_line
from pipeline.common.words import counted
from pipeline.plan.purchase.parts import said

if TYPE_CHECKING:
    from pipeline.plan.ordering.placed import PlacedOrder
    from pipeline.plan.purchase.parts import SupplierOrder
    from pipeline.publish.order import WrittenOrder

WIDTH = 79
"""Columns that sentences are broken to."""
MOST_GREENS = 6
"""Greens named one by one."""


def order(done: WrittenOrder, *, quiet: bool) -> None:
    """What is not ordered and what to ask, the order to each supplier, what is left over, what decided, the files."""
    made = done.order
    _sentence(f"{made.of}.")
    _stopped(made)
    _questions(made)
    for one in made.order.suppliers:
        _supplier(one)
    _sums(made)
    _balances(made)
    if not quiet:
        out()
        for text in made.decided:
            _sentence(text)
    if done.fault:
        err(f"No file was written: {done.fault}.")
        return
    if not done.files:
        out("Nothing is left to order: no file is written.")
        if not quiet:
            err("Plan with swardtally programme CLUB, and load what it writes; --targets orders by targets alone.")
        return
    out()
    for path in done.files:
        out(str(path))
    if done.former:
        names = ", ".join(path.name for path in done.former)
        err(f"Of an order that stood there before, and no part of this one: {names}. Do not send or load them.")
    if not quiet:
        _last(done)


def _last(done: WrittenOrder) -> None:
    if done.unchanged:
        err("The files would come out the same and were left as they are.")
    if done.order.order.suppliers:
        err("Once the order is sent, load ordered.csv: what is in it counts as on its way and is not ordered again.")


def _sentence(text: str, first: str = "", then: str = "") -> None:
    for line in wrap(one_line(text), WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False):
        out(line)


def _stopped(made: PlacedOrder) -> None:
    if not made.order.stopped:
        return
    out()
    out("Not ordered:")
    for one in made.order.stopped:
        place = f" to {one.drop}" if one.drop else ""
        left = len(one.greens) - MOST_GREENS
        more = f" and {left:,} more" if left > 0 else ""
        greens = f" ({', '.join(one.greens[:MOST_GREENS])}{more})" if one.greens else ""
        _sentence(f"{one.material or 'no material'}{place}{greens}: {one.reason}.", "- ", "  ")


def _questions(made: PlacedOrder) -> None:
    if not made.order.questions:
        return
    out()
    out("Look at these first:")
    for one in made.order.questions:
        _sentence(one.text, "- ", "  ")


def _supplier(one: SupplierOrder) -> None:
    for delivery in one.deliveries:
        out()
        out(one_line(f"{one.supplier}, to {delivery.drop}:"))
        rows: list[tuple[object, ...]] = [
            (line.packs, f"{said(line.pack)} {line.unit}", line.material, _money(line.price), _money(line.cost))
            for line in delivery.lines
        ]
        carriage = "not known" if delivery.carriage is None else _money(delivery.carriage)
        rows.append(("", "", "carriage", "", carriage))
        table(*narrowed(("packs", "of", "material", "a pack", "sum"), rows, {0, 3, 4}, {"a pack"}))


def _money(of: Decimal) -> str:
    pence = of.quantize(Decimal("0.01"))
    return f"{pence:,f}" if pence == of else said(of)


def _sums(made: PlacedOrder) -> None:
    own = made.order
    if not own.suppliers:
        return
    out()
    rows = [(one.supplier, one.net, one.vat, one.gross) for one in own.suppliers]
    rows.append(("in all", own.net, own.vat, own.gross))
    heads: tuple[str, ...] = (f"net, {made.currency}",)
    shown: list[tuple[object, ...]] = [(name, _money(net)) for name, net, _, _ in rows]
    if own.vat is not None:
        heads = (*heads, "VAT", "total")
        shown = [(name, *(_money(part or Decimal(0)) for part in parts)) for name, *parts in rows]
    table(("", *heads), shown, frozenset(range(1, len(heads) + 1)))
    without = [f"the carriage of {', '.join(own.carriage_not_known)}"] if own.carriage_not_known else []
    without += [f"what is not ordered ({counted(len(own.stopped), 'line')})"] if own.stopped else []
    if without:
        _sentence(f"Without {' and '.join(without)}.")


def _balances(made: PlacedOrder) -> None:
    asked = [one for one in made.order.balances if one.needed or one.bought]
    for place, some in grouped(asked, lambda one: one.drop).items():
        out()
        out(one_line(f"At {place}:"))
        rows = [
            (one.material, one.unit, *(_amount(part) for part in (
                one.needed, one.from_stock, one.from_on_order, one.bought,
                one.left_of_stock + one.left_on_order + one.left_of_bought,
            )))
            for one in some
        ]  # fmt: skip
        heads = ("material", "in", "needed", "in stock", "on its way", "bought", "left over")
        table(*narrowed(heads, rows, {2, 3, 4, 5, 6}, {"in stock", "on its way"}))


def _amount(of: Decimal) -> str:
    return said(of.quantize(Decimal("0.1"))) if of >= 1 else said(of)
