"""Cells and headers that fuzzing found: each ended in a traceback, or was read as what it does not say."""

from __future__ import annotations

from contextlib import suppress
from datetime import date

import polars as pl
import pytest

from pipeline.profiles.style import Refused, Style
from pipeline.standardise.cells import header_units, quantity, units
from pipeline.standardise.cells.dates import period_column, period_of
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.numbers import number_column
from schemas import KINDS
from schemas.field import Field


def of(cell: str) -> Cells:
    return Cells(pl.Series([2]), pl.Series([cell]), "Their column", "")


@pytest.mark.parametrize("cell", ["1E400 kg", "1e308 t", "2 x 1e308 kg", "1e400 bags", "1E400 kg/ha", "1e400 g/m2"])
def test_an_amount_without_end_is_refused(cell: str) -> None:
    """It was kept as an infinite mass, and nothing was said."""
    done = quantity.amount_column(of(cell), Style())
    assert done.faults["code"].to_list() == ["number.not_finite"]
    assert done.values.row(0) == (None,) * done.values.width


@pytest.mark.parametrize("column", [quantity.pack_column, quantity.rate_column])
def test_so_is_a_pack_and_a_rate(column: object) -> None:
    done = column(of("1e400 kg/ha" if column is quantity.rate_column else "1e400 kg"), Style())  # type: ignore[operator]
    assert done.faults["code"].to_list() == ["number.not_finite"]


@pytest.mark.parametrize(
    "cell", ["1" * 400 + " 1/2", "9" * 5000 + " 1/2", "9" * 5000 + "-1/2", "9" * 5000 + "½", "1 " + "9" * 5000 + "/2"]
)
def test_a_fraction_behind_hundreds_of_digits_is_refused(cell: str) -> None:
    """Python turns 308 digits into no float and 4,300 into no whole number; both ended in a traceback."""
    done = number_column(of(cell), Style())
    assert done.values["value"].to_list() == [None]
    assert done.faults["severity"].to_list() == ["error"]


@pytest.mark.parametrize("unit", ["g/0\nm", "m/0 s", "kg/0,000 m2", "g/" + "9" * 400 + " m2"])
def test_a_unit_per_nothing_is_none(unit: str) -> None:
    """It was divided by."""
    assert not units.is_known(unit)
    with pytest.raises(Refused):
        units.scale(unit, "g/m2")


def test_a_thousand_square_metres_stay_a_unit() -> None:
    """Definition: 1,000 m² are 1,000 times 1 m²."""
    for unit in ("g/1000 m2", "g/1,000 m2", "g/1 000 m2"):
        assert units.scale(unit, "g/m2") == (0.001, 0.0)


@pytest.mark.parametrize("header", ["Heat C/W", "c/w", "Sensor (°C/W)", "degrees C per watt"])
def test_degrees_a_watt_are_no_power(header: str) -> None:
    """Whether a column holds a mean power was asked of a unit that cannot be multiplied, and that ended the load."""
    assert not units.is_mean_power(header)
    assert not units.is_mean_power(header_units.parted(header)[1])


@pytest.mark.parametrize(("cell", "day"), [("45000.05", date(2023, 3, 15)), ("9131.10", date(1924, 12, 30))])
def test_a_day_number_with_a_time_is_no_month(cell: str, day: date) -> None:
    """Where day numbers are declared: 9131.10 is a tenth of a day past day 9131 (ECMA-376, part 1, 18.17.4.1)."""
    assert period_of(cell, Style(spreadsheet_dates=1900)) == (day, None)


def test_a_year_and_a_month_where_day_numbers_are_declared_is_asked_about() -> None:
    """2026.05 was May 2026 in silence, and as a day number it is a morning of July 1905."""
    cells = Cells(pl.Series([2, 3]), pl.Series(["2026.05", "46096"]), "Date")
    done = period_column(cells, Style(spreadsheet_dates=1900))
    assert done.faults["code"].to_list() == ["date.year_or_number"]
    assert done.values["value"].to_list() == [None, date(2026, 3, 15)]
    assert period_of("2026.05", Style()) == (date(2026, 5, 1), date(2026, 5, 31))


def test_no_field_keeps_what_is_not_finite() -> None:
    """Whatever the field of whatever kind: a figure without end is refused, and the fault says which cell."""
    from tests.fuzz.values import understood

    for kind in KINDS.values():
        for field in kind.fields:
            for cell in ("1e400", "1e308 t"):
                _finite(field, understood(field, [cell], Style(), "").values, cell)


def _finite(field: Field, values: pl.DataFrame, cell: str) -> None:
    floats = values.select(pl.selectors.float())
    assert all(one.drop_nulls().is_finite().all() for one in floats), (field.name, cell)


def test_every_unit_that_is_known_is_a_unit() -> None:
    """Parts in a thousand million were known by name, and no number of them could be reckoned with."""
    for spellings in units._SPELLINGS.values():
        for spelling in spellings.split():
            for target in ("kg", "mg/kg", "m2", "hour"):
                with suppress(Refused):
                    units.scale(spelling.replace("_", " "), target)
    assert units.scale("ppb", "mg/kg") == (0.001, 0.0)
