"""Numbers past all bounds: a fault of their row, whatever the kind and the field, and never a traceback."""

from __future__ import annotations

import csv
import io

import polars as pl
import pytest

from pipeline.profiles.style import Style
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.numbers import number_column
from schemas import KINDS, Kind
from tests.conftest import Load
from tests.thorough import beyond

PAST_64_BITS = "99999999999999999999"
WHOLE = [(kind, field.name) for kind in KINDS.values() for field in kind.asked if field.type == "whole"]
NUMBERED = [kind for kind in KINDS.values() if any(field.numeric for field in kind.asked)]


def rows_with(kind: Kind, cells: list[tuple[str, str]]) -> str:
    """A file of the kind: for each (field, cell) a row of examples with the cell in that field."""
    names = [field.name for field in kind.asked if field.type != "shorthand"]
    out = io.StringIO()
    writer = csv.DictWriter(out, names, lineterminator="\n")
    writer.writeheader()
    for field, cell in cells:
        writer.writerow({name: kind.by_name[name].example for name in names} | {field: cell})
    return out.getvalue()


@pytest.mark.parametrize(("kind", "field"), WHOLE, ids=lambda one: one if isinstance(one, str) else one.name)
def test_a_whole_number_past_64_bits_is_a_fault_of_its_row(county: Load, kind: Kind, field: str) -> None:
    """It ended in a traceback: a count does not fit the column of the frame."""
    cells = [PAST_64_BITS, f"-{PAST_64_BITS}", "9223372036854775808", "9007199254740993", "1e30", f"{PAST_64_BITS} no"]
    result = county("far.csv", rows_with(kind, [(field, cell) for cell in cells]), kind=kind.name)
    wrong = result.faults.filter(pl.col("code") == "number.whole_too_large").sort("line")
    assert wrong.select("line", "column", "value", "severity").rows() == [
        (line, field, cell, "error") for line, cell in enumerate(cells, 2)
    ]
    assert (result.counts.rows, result.counts.loaded, result.counts.rejected) == (len(cells), 0, len(cells))


@pytest.mark.parametrize("kind", NUMBERED, ids=lambda kind: kind.name)
@beyond(6)
def test_no_number_past_all_bounds_is_a_traceback(county: Load, kind: Kind) -> None:
    """Each number and whole number of each kind in rows of its own."""
    names = [field.name for field in kind.asked if field.numeric]
    far = [(name, cell) for name in names for cell in (PAST_64_BITS, f"-{PAST_64_BITS}", "1e308", "-1e308")]
    result = county("far.csv", rows_with(kind, far), kind=kind.name)
    assert (result.counts.rows, result.counts.loaded) == (len(far), 0), result.faults


def test_a_number_that_its_unit_makes_infinite_is_refused() -> None:
    """1e308 in tonnes is no finite number of kilograms."""
    found = number_column(Cells(pl.Series([2]), pl.Series(["1e308"]), "Mass", unit="t"), Style(), to="kg")
    assert (found.values["value"].to_list(), found.faults["code"].to_list()) == ([None], ["number.not_finite"])


@pytest.mark.parametrize("count", ["9007199254740991", "-9007199254740991"])
def test_the_largest_whole_number_kept_is_exact(count: str) -> None:
    """2**53 - 1: from there on a float passes over whole numbers."""
    found = number_column(Cells(pl.Series([2]), pl.Series([count]), "Cores"), Style(), whole=True)
    assert found.values["value"].cast(pl.Int64).to_list() == [int(count)]
