"""Money: decimal from the file to the page, summed exactly and rounded once, where it is shown.

A half is rounded away from zero (ROUND_HALF_UP of Python's decimal, "Rounding modes"), as a person rounds a bill; the
same module's default, and ``round``, take a half to the even digit. Only :func:`rounded` rounds: what a rate or a
price makes is rounded when it is made, in each part, so that whatever adds it up adds up the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

NOTHING = Decimal(0)
"""What no money adds up to."""
_LEAST_SHOWN = 1
"""Decimals that a whole amount is written with in data, as other numbers are (240.0)."""


def total(amounts: Iterable[Decimal | None]) -> Decimal | None:
    """The exact sum of the amounts that are known; None where none is: nothing logged is not nothing spent."""
    known = [amount for amount in amounts if amount is not None]
    return sum(known, NOTHING) if known else None


def rounded(amount: Decimal | float, decimals: int = 2) -> Decimal:
    """The amount with so many decimals, a half away from zero; fewer than none round to tens or hundreds.

    A float is taken at the shortest decimal that is it, which is what was written: 2.675 is that, and no 2.67499.
    """
    exact = amount if isinstance(amount, Decimal) else Decimal(repr(float(amount)))
    return exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)


def plain(amount: Decimal) -> str:
    """The amount as a person writes it, without zeros at its end: ``240``, ``31.5``."""
    return f"{amount.normalize():f}"


def cell(amount: Decimal) -> str:
    """The amount in data, as other numbers stand there: without zeros at its end but one (``240.0``)."""
    text = plain(amount)
    return text if "." in text else f"{text}.{'0' * _LEAST_SHOWN}"
