"""Money in a user's cell: the decimal that is written, or a fault; never what a binary fraction makes of it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import polars as pl
import pytest

from pipeline.profiles.style import Style, Understood
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.fields import understand
from schemas import KINDS


def read(*cells: str | None, scaled: tuple[float, float] = (1.0, 0.0), **style: Any) -> Understood:
    """What a column of costs is understood as."""
    lines = pl.Series(range(2, 2 + len(cells)), dtype=pl.Int64)
    source = Cells(lines, pl.Series(cells, dtype=pl.String), "Cost", scaled=scaled)
    return understand(KINDS["job"].by_name["cost"], source, Style(**style), {})


@pytest.mark.parametrize(
    ("cell", "amount"),
    [
        ("240", "240"), ("31.50", "31.5"), ("0.1", "0.1"), (".5", "0.5"), ("5.", "5"), ("1000000.0001", "1000000.0001"),
        ("0.2850", "0.285"), ("12.34560000", "12.3456"), ("+4", "4"), ("9007199254.7409", "9007199254.7409"),
        ("31.499999999999996", "31.5"), ("0.30000000000000004", "0.3"), ("1e3", "1000"), ("~20", "20"),
    ],
)  # fmt: skip
def test_a_cell_is_the_decimal_that_is_written(cell: str, amount: str) -> None:
    """What a spreadsheet's sums left in the sixteenth digit is no fourth decimal."""
    done = read(cell)
    assert done.values["cost"].dtype == pl.Decimal(14, 4)
    assert done.values["cost"].to_list() == [Decimal(amount)]


@pytest.mark.parametrize(
    ("cell", "amount"), [("1.369,50", "1369.5"), ("31,5", "31.5"), ("1.000.000,0001", "1000000.0001")]
)
def test_the_declared_marks_are_followed(cell: str, amount: str) -> None:
    """A price of 1.369,50 read by the point is a thousandth of it."""
    assert read(cell, decimal=",", thousands=".").values["cost"].to_list() == [Decimal(amount)]


def test_more_decimals_than_are_kept_are_refused() -> None:
    """Rounded in silence, ten thousand small things cost another sum."""
    done = read("12.34567", "12.3456", "1.00005")
    assert done.values["cost"].to_list() == [None, Decimal("12.3456"), None]
    assert done.faults.select("line", "code", "severity", "message", "hint").rows() == [
        (
            line, "money.too_fine", "error",
            f"Cost: “{cell}” has more than 4 decimals; it is not rounded in silence.",
            "Write it with 4 decimals at most; of a price of one small thing, write that of the pack.",
        )
        for line, cell in ((2, "12.34567"), (4, "1.00005"))
    ]  # fmt: skip


@pytest.mark.parametrize("cell", ["10000000000", "99999999999999.99", "1e300"])
def test_more_money_than_can_be_kept_is_refused(cell: str) -> None:
    """A decimal column takes what it has no room for as a blank: the cost would be gone without a word."""
    done = read(cell)
    assert done.values["cost"].to_list() == [None]
    assert done.faults["code"].to_list() == ["money.too_large"]


def test_a_scaled_column_is_money_too() -> None:
    """Pence that a profile turns into pounds."""
    done = read("3150", "5", scaled=(0.01, 0.0))
    assert done.values["cost"].to_list() == [Decimal("31.5"), Decimal("0.05")]


@pytest.mark.parametrize("cell", ["£31.50", "£ 31.50", "31.50 £", "31.50£"])
def test_a_sign_that_is_declared_is_taken_off(cell: str) -> None:
    """A merchant's list writes it in every cell."""
    assert read(cell, flags=("£",)).values["cost"].to_list() == [Decimal("31.5")]
    assert read("GBP 31.50", flags=("GBP",)).faults.is_empty()


@pytest.mark.parametrize("cell", ["£31.50", "€31,50", "31.50 EUR", "USD 31.50"])
def test_a_sign_that_is_not_declared_is_refused(cell: str) -> None:
    """A bill in another currency would be read as one in the workspace's."""
    done = read(cell, "-", "20", flags=("kr",))
    assert done.values["cost"].to_list() == [None, None, Decimal(20)]
    assert done.faults.select("line", "code", "message").rows() == [
        (2, "money.currency",
         f"Cost: “{cell}” names a currency, and money is kept in the workspace's own: nothing says that it is that.")
    ]  # fmt: skip


def test_what_is_no_number_is_no_money() -> None:
    """The parser of numbers is the one parser: a mark for missing is no 0, two readings are none."""
    done = read("-", "1,369", "free", None)
    assert done.values["cost"].to_list() == [None] * 4
    assert done.faults.select("line", "code").rows() == [(3, "number.two_readings"), (4, "number.not")]
