"""Numbers before a pack: a mixed number is one number, two numbers are how many and what one holds, or refused.

What is meant is made here from whole, fraction and size; each cell must be read as that or be refused, never otherwise.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import product

import polars as pl
import pytest

from pipeline.profiles.style import Style
from pipeline.standardise.cells import quantity
from pipeline.standardise.cells.distinct import Cells
from tests.thorough import FUZZ, beyond

FRACTIONS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/3": "⅓", "2/3": "⅔", "5/8": "⅝", "7/8": "⅞", "2/5": "⅖"}
CONTAINERS = ("bags", "bag", "Sacks", "tubs", "drums", "cans", "bottles", "packs", "boxes", "cartons", "containers")
SIZES = {
    "25 kg": ("mass_kg", 25),
    "25kg": ("mass_kg", 25),
    "500 g": ("mass_kg", Fraction(1, 2)),
    "10 l": ("volume_l", 10),
}
SIZES |= {
    "2 1/2 kg": ("mass_kg", Fraction(5, 2)),
    "1/2 kg": ("mass_kg", Fraction(1, 2)),
    "2½ l": ("volume_l", Fraction(5, 2)),
}
DECIMAL_COMMA = Style(decimal=",")


def mixed() -> Iterator[tuple[str, Fraction]]:
    """Every way a mixed number is written, and what it is."""
    for whole, (plain, sign) in product(range(1, 13), FRACTIONS.items()):
        value = whole + Fraction(plain)
        for written in (f"{whole} {plain}", f"{whole}-{plain}", f"{whole}{sign}", f"{whole} {sign}", f"{whole}-{sign}"):
            yield written, value
        yield f"{whole} {plain.replace('/', '⁄')}", value
    for plain, sign in FRACTIONS.items():
        yield plain, Fraction(plain)
        yield sign, Fraction(plain)


def read(cells: list[str], style: Style, unit: str = "") -> pl.DataFrame:
    """One row a cell: the five columns, and the fault's code where the cell was refused."""
    lines = pl.int_range(1, len(cells) + 1, eager=True)
    done = quantity.amount_column(Cells(lines, pl.Series(cells), "Quantity", unit=unit), style)
    wrong = done.faults.filter(pl.col("severity") == "error").select("line", "code").unique("line")
    return done.values.with_columns(lines.alias("line")).join(wrong, on="line", how="left", maintain_order="left")


def otherwise(meant: dict[str, tuple[str, Fraction]], style: Style) -> list[object]:
    """Cells that were read as something else than what is meant."""
    found = []
    for (cell, (sort, size)), row in zip(meant.items(), read(list(meant), style).iter_rows(named=True), strict=True):
        told = {name: row[name] for name in quantity.AMOUNT if row[name] is not None}
        right = set(told) == {sort} and math.isclose(told[sort], size, rel_tol=1e-6)
        if not right and not (row["code"] and not told):
            found.append((cell, told, row["code"]))
    return found


@pytest.mark.parametrize("style", [Style(), DECIMAL_COMMA])
def test_a_mixed_number_of_packs_is_read(style: Style) -> None:
    """1 1/2 bags were half a bag: the 1 was taken for how many, and 1/2 for what one holds."""
    meant = {f"{written} {packs}": ("packs", value) for (written, value), packs in product(mixed(), CONTAINERS)}
    assert otherwise(meant, style) == []
    refused = read(list(meant), style)["code"].is_not_null()
    bare = [re.match(r"\d/\d ", cell) is not None for cell in meant]
    several = [not cell.endswith(" bag") or cell.split()[0] in {"5/8", "7/8", "2/5"} for cell in meant]
    assert refused.to_list() == [alone and other for alone, other in zip(bare, several, strict=True)]


@pytest.mark.parametrize("style", [Style(), DECIMAL_COMMA, Style(thousands=" ")])
@pytest.mark.hypothesis  # so that ``make fuzz`` runs it: with every cell then
@beyond(1)
def test_how_many_before_what_one_holds_is_read_as_meant_or_refused(style: Style) -> None:
    """Every fifth cell: each number still meets each size and each form, each size each form and pack."""
    counts = [*mixed(), *((str(whole), Fraction(whole)) for whole in (1, 2, 3, 10, 25))]
    meant = {
        form.format(written, size, packs): (sort, value * Fraction(holds))
        for (written, value), (size, (sort, holds)), packs in product(counts, SIZES.items(), ("bags", "drums"))
        for form in ("{} {} {}", "{} x {} {}", "{} x {}", "{} {} ({})")
    }
    assert otherwise(dict([*meant.items()][:: 1 if FUZZ else 5]), style) == []


@pytest.mark.parametrize(
    ("cell", "kg"),
    [
        ("2 25 kg bags", 50),
        ("2 x 25kg bags", 50),
        ("1 1/2 25 kg bags", 37.5),
        ("1½ 25 kg bags", 37.5),
        ("1.5 25 kg bags", 37.5),
        ("1 1/2 x 25 kg", 37.5),
        ("1 1/2 bags of 25 kg", 37.5),
        ("4 2 1/2 kg bags", 10),
        ("2 1/2 t", 2500),
    ],
)
def test_how_many_of_a_size_are_read(cell: str, kg: float) -> None:
    row = read([cell], Style()).row(0, named=True)
    assert (row["mass_kg"], row["packs"], row["code"]) == (pytest.approx(kg), None, None)


@pytest.mark.parametrize(
    ("cell", "readings"),
    [
        ("2 5 bags", "2 times 5 bags or 2 bags that hold 5 each"),
        ("10 25 bags", "10 times 25 bags or 10 bags that hold 25 each"),
        ("1 1/2 5 tubs", "1 1/2 times 5 tubs or 1 1/2 tubs that hold 5 each"),
        ("2 1/2 kg bags", "2 times 1/2 kg bags or 2.5 kg bags"),
        ("2 ½ kg sacks", "2 times ½ kg sacks or 2.5 kg sacks"),
    ],
)
def test_two_numbers_that_can_be_read_two_ways_are_refused(cell: str, readings: str) -> None:
    done = quantity.amount_column(Cells(pl.Series([2]), pl.Series([cell]), "Quantity"), Style())
    assert done.values.row(0) == (None,) * len(quantity.AMOUNT)
    fault = done.faults.row(0, named=True)
    assert (fault["line"], fault["code"], fault["severity"]) == (2, "amount.two_readings", "error")
    assert fault["message"] == f"{cell} can be read as {readings}; nothing says which."


def test_a_thousands_space_makes_two_readings() -> None:
    """2 500 g bags are two of 500 g, or bags of 2,500 g where a blank parts thousands."""
    assert read(["2 500 g bags"], Style())["mass_kg"].to_list() == [1.0]
    assert read(["2 500 g bags"], Style(thousands=" "))["code"].to_list() == ["amount.two_readings"]


def test_one_and_a_half_tonnes_in_a_column_of_kilograms() -> None:
    """1 kg and half a tonne were added: 501 kg."""
    row = read(["1 and 1/2 t"], Style(), "kg").row(0, named=True)
    assert (row["mass_kg"], row["code"]) == (None, "amount.no_unit")
