"""Fractions and "2 or 3": what may be either is refused with both readings."""

from __future__ import annotations

import polars as pl
import pytest

from pipeline.profiles.style import Style, Understood
from pipeline.standardise.cells import units
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.numbers import number_column
from pipeline.standardise.cells.quantity import amount_column
from pipeline.standardise.cells.times import special_of

STYLE = Style(barrow_l=80)


def cells(text: str, unit: str = "") -> Cells:
    return Cells(pl.Series([2]), pl.Series([text]), "Figure", unit=unit)


def hours(text: str, unit: str = "") -> Understood:
    return number_column(cells(text, unit), STYLE, to=units.WORKED, special=special_of(units.WORKED, unit, STYLE))


def faults(done: Understood) -> list[str]:
    return done.faults["message"].to_list()


@pytest.mark.parametrize(
    ("text", "packs", "kg"),
    [
        ("1/2 bag", 0.5, None),
        ("2/3 of a bag", 2 / 3, None),
        ("1/2 of a 25 kg bag", None, 12.5),
        ("1/2 bag of 25 kg", None, 12.5),
        ("1/2 kg", None, 0.5),  # half a kilogram: one or two would be "1 or 2"
        ("1/4 t", None, 250),
        ("1/2 x 25 kg", None, 12.5),
        ("25 kg x 1/2", None, 12.5),
        ("1 2/3 bags", 5 / 3, None),
        ("1/2 lb", None, 0.226796185),
    ],
)
def test_a_part_of_one_thing_is_a_fraction(text: str, packs: float | None, kg: float | None) -> None:
    done = amount_column(cells(text), STYLE)
    row = done.values.row(0, named=True)
    assert (row["packs"], row["mass_kg"], faults(done)) == (pytest.approx(packs), pytest.approx(kg), [])


@pytest.mark.parametrize(
    "text",
    [
        *("2/3 bags", "10/12 bags", "2/3 bags of 25 kg", "2/3 x 25 kg bags", "2/3 x 25 kg", "2/3 25 kg bags"),
        *("4/5 bag", "2/3 barrow loads", "25 kg x 2/3", "4/5 kg", "3/4 kg", "1/2 kgs", "1/2 tonnes", "3/4 x 25 kg"),
    ],
)
def test_an_amount_that_may_be_one_number_or_another_is_refused_with_both_readings(text: str) -> None:
    done = amount_column(cells(text), STYLE)
    part = next(word for word in text.split() if "/" in word)
    low, high = part.split("/")
    number = f"{int(low) / int(high):.3g}"
    said = f"{text} can be the fraction {part}, which is {number}, or {low} or {high} (or from {low} to {high}); "
    assert set(done.values.row(0)) == {None}
    assert faults(done) == [f"{said}nothing says which."]


@pytest.mark.parametrize(
    ("text", "to", "unit"),
    [
        *(("2/3", "", ""), ("1/2 passes", "", ""), ("4/5", "ppm", "ppm"), ("4/5 cm", "mm", ""), ("4/8mm", "mm", "")),
        *(("3/4", "mm", ""), ("2/4 in", "mm", ""), ("4/5 in", "mm", ""), ("<1/2", "ppm", "")),
    ],
)
def test_a_number_that_may_be_one_or_another_is_refused(text: str, to: str, unit: str) -> None:
    done = number_column(cells(text, unit), STYLE, to=to)
    assert (done.values["value"].to_list(), done.faults["code"].to_list()) == ([None], ["number.fraction_or_two"])


@pytest.mark.parametrize(
    ("text", "unit", "mm"), [("3/4", "in", 19.05), ("5/32 in", "", 3.96875), ("1/2 ft", "", 152.4)]
)
def test_inches_and_feet_have_fractions(text: str, unit: str, mm: float) -> None:
    done = number_column(cells(text, unit), STYLE, to="mm")
    assert (done.values["value"].to_list(), faults(done)) == ([mm], [])


@pytest.mark.parametrize("unit", ["", "h", "hours"])
@pytest.mark.parametrize(
    ("text", "value"),
    [("1/2", 0.5), ("3/4 hour", 0.75), ("1 1/2 hrs", 1.5), ("7/8", None), ("2/3", None), ("3/4 hours", None)],
)
def test_hours_have_halves_and_quarters(text: str, value: float | None, unit: str) -> None:
    done = hours(text, unit)
    assert done.values["value"].to_list() == [value]
    assert done.faults["code"].to_list() == ([] if value else ["number.fraction_or_two"])


@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("1 of 2 bags", "1 out of 2 bags or 1 times 2 bags"),
        ("2 of 3 bags", "2 out of 3 bags or 2 times 3 bags"),
        ("2 off 3 tubs", "2 out of 3 tubs or 2 times 3 tubs"),
        ("1 of 2 barrow loads", "1 out of 2 barrow loads or 1 times 2 barrow loads"),
    ],
)
def test_so_many_of_so_many_is_refused_with_both_readings(text: str, readings: str) -> None:
    """1 of 2 bags were two bags, 2 of 3 bags six."""
    done = amount_column(cells(text), STYLE)
    assert set(done.values.row(0)) == {None}
    assert faults(done) == [f"{text} can be read as {readings}; nothing says which."]


def test_so_many_of_a_size_is_still_a_product() -> None:
    assert amount_column(cells("2 of 25 kg"), STYLE).values["mass_kg"].to_list() == [50.0]
