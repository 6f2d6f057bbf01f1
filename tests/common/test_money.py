"""Money: exact sums, one rounding, and the text that stands on pages and in data."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Context, Decimal

import pytest

from pipeline.common import money
from pipeline.indicators.base.description import MONEY
from pipeline.indicators.base.judgement import SUMS_OF_MONEY
from pipeline.indicators.families import DESCRIBED
from reports.page import text
from tests.outside_checks import outside


@outside("library", "decimal of Python: Context.quantize with ROUND_HALF_UP")
@pytest.mark.parametrize("decimals", [0, 1, 2, 3])
def test_every_amount_of_a_bill_is_rounded_as_decimal_rounds_it(decimals: int) -> None:
    """A half taken to the even digit, or a binary fraction just under it, prints a penny too few."""
    context, step = Context(rounding=ROUND_HALF_UP), Decimal(1).scaleb(-decimals)
    for units in range(-20_050, 20_050, 5):
        amount = Decimal(units).scaleb(-4)
        asked = amount.quantize(step, context=context)
        assert money.rounded(amount, decimals) == asked
        assert money.rounded(float(amount), decimals) == asked, "a figure of the store is the decimal that it was"


@pytest.mark.parametrize(
    ("amount", "decimals", "shown"),
    [
        ("2.5", 0, "3"), ("3.5", 0, "4"), ("-2.5", 0, "\u22123"), ("0.125", 2, "0.13"), ("2.675", 2, "2.68"),
        ("1.005", 2, "1.01"), ("1234567.885", 2, "1,234,567.89"), ("245", -1, "250"), ("-0.004", 2, "0.00"),
    ],
)  # fmt: skip
def test_a_page_shows_a_half_as_a_bill_does(amount: str, decimals: int, shown: str) -> None:
    """``round`` gives 2 of 2.5 and 2.67 of 2.675."""
    assert text.number(Decimal(amount), decimals) == shown


def test_a_sum_is_exact_and_of_nothing_is_not_nought() -> None:
    """Of ten times 0.1 binary fractions make 0.9999999999999999; a job without a cost is no job of 0."""
    assert money.total([Decimal("0.1")] * 10) == Decimal(1)
    assert money.total([Decimal("0.1"), None]) == Decimal("0.1")
    assert money.total([None, None]) is None
    assert money.total([]) is None


def test_amounts_in_data_stand_as_other_numbers_do() -> None:
    """The zeros that an amount is kept with would make every cell of a report's data another one."""
    for amount, plain, cell in (("240.0000", "240", "240.0"), ("31.5", "31.5", "31.5"), ("1E+2", "100", "100.0")):
        assert money.plain(Decimal(amount)) == plain
        assert money.cell(Decimal(amount)) == cell == repr(float(amount))
    assert money.plain(Decimal("0.0000")) == "0"


def test_the_figures_rounded_so_are_those_in_money() -> None:
    """A new sum of money that is not named there would be rounded to the even digit."""
    assert {name for name, what in DESCRIBED.items() if what.unit == MONEY} == SUMS_OF_MONEY
