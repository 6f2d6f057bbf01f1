"""Amounts and money of an order as they are printed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from pipeline.common.amounts import Amount, AmountText
from pipeline.common.money import plain, rounded
from pipeline.plan.purchase.parts import Line, Unit, said
from reports.page import text, units
from reports.page.house_style import Units

ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
LOOSE = Decimal(500)
"""From this size on, kg, a pack is a load or a big bag: amounts are told in tonnes and not in packs."""
KG_OF_T = Decimal(1000)


ROUNDED = "Amounts are rounded, each by itself: a sum may differ from its parts in the last figure."


def amount(of: Decimal, unit: Unit, units_: Units = "metric") -> str:
    """A mass or volume: to 100 g or ml, tonnes from 1,000 kg on, small ones exact; or the same in US units."""
    shown = _shown(of)
    heavy = unit == "kg" and shown >= KG_OF_T
    told, called, places = (rounded(of / KG_OF_T, 3), "t", 3) if heavy else (shown, unit, 1 if of >= 1 else 3)
    if units_ == "US":
        return units.said(Amount(float(told), called, "g", carries=places)).replace(text.HARD, " ")
    return text.with_unit(said(told), called)


def rounded_note(amounts: Iterable[Decimal], units_: Units) -> str:
    """That printed amounts need not add up, where one of them is rounded; "" where none is."""
    exact = units_ == "metric" and all(one == (_shown(one) if one < KG_OF_T else rounded(one, 0)) for one in amounts)
    return "" if exact else ROUNDED


def _shown(of: Decimal) -> Decimal:
    """What is weighed out: to 100 g or ml, less than 1 kg or l to a gram."""
    return rounded(of, 1 if of >= 1 else 3)


def pack(line: Line, units_: Units = "metric") -> str:
    """The size of a pack: 25 kg, 10 l, 1 t."""
    return amount(line.pack, line.unit, units_)


def in_packs(of: Decimal, unit: Unit, size: Decimal | None, units_: Units = "metric") -> str:
    """An amount in whole packs and what is weighed out beside them: “2 × 25 kg + 3.1 kg”; "" where it is loose."""
    if size is None or (unit == "kg" and size >= LOOSE) or not of:
        return ""
    whole = int(of // size)
    rest = of - whole * size
    if _shown(rest) == size:
        whole, rest = whole + 1, Decimal(0)
    parts = [f"{whole:,} × {amount(size, unit, units_)}"] if whole else []
    if rest or not whole:
        parts.append(amount(rest, unit, units_))
    return " + ".join(parts)


def worded(said_: str, currency: str, units_: Units) -> str:
    """A text of an order with its amounts in these units, and its sums of money with the sign of their currency."""
    if not isinstance(said_, AmountText):
        return said_

    def told(one: Amount) -> str:
        if one.unit == currency:
            return text.with_unit(one.number, text.clean(currency, 12))
        return units.amount_in(one, units_)

    return said_.said(told)


def heading_of(name: str) -> str:
    """The name of an order as it heads a page: its days in words."""
    shown = ISO_DAY.sub(lambda day: text.day(date.fromisoformat(day[0])), text.clean(name, 120))
    return text.sentence(shown).removesuffix(".")


def exact_money(of: Decimal) -> str:
    """Money with its two decimals, and more only where it has them: nothing is rounded that is added up later."""
    pence = rounded(of)
    return f"{pence:.2f}" if pence == of else plain(of)


def money(of: Decimal, currency: str) -> str:
    """Money on a page, with the sign of its currency, thousands parted."""
    places = max(2, -int(of.normalize().as_tuple().exponent))
    return text.with_unit(text.number(of, places), text.clean(currency, 12))
