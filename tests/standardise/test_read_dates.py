"""Dates as people write them. One that can be read two ways is refused with its readings, and none is ever flipped."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.profiles.style import Style, Understood
from pipeline.standardise.cells.dates import date_column, from_day_number
from pipeline.standardise.cells.distinct import Cells

DAY = date(2024, 3, 15)
DMY, MDY, YMD = Style(date_order="dmy"), Style(date_order="mdy"), Style(date_order="ymd")


def understand(cells: list[str | None], style: Style) -> Understood:
    lines = pl.Series(range(2, 2 + len(cells)), dtype=pl.Int64)
    return date_column(Cells(lines, pl.Series(cells, dtype=pl.String), "Date"), style)


def one(cell: str, style: Style) -> tuple[date | None, list[str]]:
    found = understand([cell], style)
    return found.values["value"][0], found.faults["code"].to_list()


@pytest.mark.parametrize("style", [Style(), DMY, MDY, YMD])
@pytest.mark.parametrize(
    "cell",
    [
        "2024-03-15",
        "2024-3-15",
        "2024-03-15 00:00:00",
        "2024-03-15T00:00:00",
        "2024-03-15T09:30:00Z",
        "2024-03-15 09:30",
        "2024/03/15",
        "2024.03.15",
        "20240315",
        "15 Mar 24",
        "15 Mar 2024",
        "15-Mar-2024",
        "15-mar-24",
        "15 March 2024",
        "15th March 2024",
        "15 Mar. 2024",
        "15Mar2024",
        "Mar 15, 2024",
        "March 15 2024",
        "2024-Mar-15",
        "Fri 15 Mar 2024",
        "Friday, 15 March 2024",
        " 15\u00a0Mar 2024",
    ],
)
def test_dates_that_need_no_order(cell: str, style: Style) -> None:
    assert one(cell, style) == (DAY, [])


@pytest.mark.parametrize(
    ("cell", "style"),
    [
        ("15/03/2024", DMY),
        ("15.03.2024", DMY),
        ("15-03-2024", DMY),
        ("15.3.24", DMY),
        ("15/03/24", DMY),
        ("15/03/2024 14:30", DMY),
        ("15/03/2024 2:30 PM", DMY),
        ("3/15/2024", MDY),
        ("03/15/24", MDY),
        ("3-15-2024", MDY),
        ("24/03/15", YMD),
        ("24-3-15", YMD),
    ],
)
def test_dates_in_the_declared_order(cell: str, style: Style) -> None:
    assert one(cell, style) == (DAY, [])


def test_the_declared_order_decides() -> None:
    assert one("03/04/2024", DMY)[0] == date(2024, 4, 3)
    assert one("03/04/2024", MDY)[0] == date(2024, 3, 4)


@pytest.mark.parametrize(
    ("cell", "readings"),
    [
        ("03/04/2024", ["2024-04-03", "2024-03-04"]),
        ("3.4.24", ["2024-04-03", "2024-03-04"]),
        ("03.04.05", ["2005-04-03", "2005-03-04", "2003-04-05"]),
        ("24/03/15", ["2015-03-24", "2024-03-15"]),
        ("09-03-2002", ["2002-03-09", "2002-09-03"]),
    ],
)
def test_nothing_declared_and_two_readings(cell: str, readings: list[str]) -> None:
    found = understand([cell], Style())
    assert found.faults["code"].to_list() == ["date.two_readings"]
    assert all(reading in found.faults["message"][0] for reading in readings)


@pytest.mark.parametrize("cell", ["13/02/2024", "02/13/2024", "4/24/2003", "05/05/2024"])
def test_nothing_declared_and_one_reading(cell: str) -> None:
    """One row that fits one order only proves nothing about the rows beside it."""
    assert one(cell, Style()) == (None, ["date.order_undeclared"])


@pytest.mark.parametrize(
    ("cell", "style", "fits"),
    [
        ("4/24/2003", DMY, "month-day-year"),
        ("24/4/2003", MDY, "day-month-year"),
        ("24/04/2003", YMD, "day-month-year"),
    ],
)
def test_a_date_in_another_order_is_never_flipped(cell: str, style: Style, fits: str) -> None:
    found = understand([cell], style)
    assert found.values["value"].to_list() == [None]
    assert found.faults["code"].to_list() == ["date.other_order"]
    assert fits in found.faults["message"][0]


def test_two_orders_in_one_column_fault_the_odd_rows() -> None:
    found = understand(["15/03/2024", "3/16/2024", "17/03/2024", "3/18/2024"], DMY)
    assert found.faults["line"].to_list() == [3, 5]


@pytest.mark.parametrize("cell", ["31/02/2024", "2023-02-29", "31/04/2024", "32/01/2024", "00/01/2024", "2024-13-01"])
def test_days_that_do_not_exist(cell: str) -> None:
    assert one(cell, DMY) == (None, ["date.no_such_day"])


@pytest.mark.parametrize("cell", ["1-Nov", "Nov-24", "March 2024", "2024-03", "3/4", "03/2024"])
def test_half_a_date(cell: str) -> None:
    assert one(cell, DMY) == (None, ["date.no_year"])


@pytest.mark.parametrize(
    "cell", ["nonsense", "tomorrow", "15 Foo 2024", "Q1 2024", "15/03/2024 or later", "2024-W11", "1"]
)
def test_no_date_at_all(cell: str) -> None:
    assert one(cell, DMY)[0] is None


@pytest.mark.parametrize("cell", ["0024-03-15", "15/03/0024", "2999-01-01", "15/03/1066"])
def test_years_that_cannot_be(cell: str) -> None:
    """A four-digit format reads `15/03/0024` as the year 24 without a word."""
    assert one(cell, DMY) == (None, ["date.year"])


@pytest.mark.parametrize(
    ("cell", "start", "year"),
    [
        ("1/2/50", 1950, 1950),
        ("1/2/49", 1950, 2049),
        ("1/2/14", 1950, 2014),
        ("1/2/91", 1950, 1991),
        ("1/2/24", 1925, 2024),
    ],
)
def test_two_digit_years(cell: str, start: int, year: int) -> None:
    found = one(cell, Style(date_order="dmy", two_digit_years=start))
    assert found == (date(year, 2, 1), [])


@pytest.mark.parametrize(
    ("number", "system", "day"),
    [
        (1, 1900, date(1900, 1, 1)),
        (59, 1900, date(1900, 2, 28)),
        (61, 1900, date(1900, 3, 1)),
        (45000, 1900, date(2023, 3, 15)),
        (0, 1904, date(1904, 1, 1)),
        (45000, 1904, date(2027, 3, 16)),
        (43538, 1904, date(2023, 3, 15)),
    ],
)
def test_day_numbers(number: int, system: int, day: date) -> None:
    """Source: ECMA-376 part 1, 18.17.4.1; the two systems lie 1462 days apart."""
    assert from_day_number(number, system) == day


def test_day_numbers_as_another_library_reads_them() -> None:
    """Reference: openpyxl's own conversion."""
    from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

    for number in (61, 100, 25569, 36526, 45000, 50000):
        assert from_excel(number, CALENDAR_WINDOWS_1900).date() == from_day_number(number, 1900)
        assert from_excel(number, CALENDAR_MAC_1904).date() == from_day_number(number, 1904)


def test_a_day_number_is_a_date_only_where_declared() -> None:
    found = understand(["45000"], Style())
    assert found.faults["code"].to_list() == ["date.day_number"]
    assert "2023-03-15 or 2027-03-16" in found.faults["message"][0]
    assert one("45000", Style(spreadsheet_dates=1900)) == (date(2023, 3, 15), [])
    assert one("45000.5", Style(spreadsheet_dates=1900)) == (date(2023, 3, 15), [])
    assert one("60", Style(spreadsheet_dates=1900)) == (None, ["date.no_such_day"])


@pytest.mark.parametrize("cell", ["NA", "-", "*", "", " "])
def test_missing(cell: str) -> None:
    assert one(cell, DMY) == (None, [])


@given(st.dates(date(1850, 1, 1), date(2100, 1, 1)), st.sampled_from(["dmy", "mdy", "ymd"]), st.sampled_from("/.-"))
def test_a_date_written_in_an_order_comes_back(day: date, order: str, mark: str) -> None:
    parts = {"d": f"{day.day}", "m": f"{day.month:02d}", "y": f"{day.year}"}
    style = Style(date_order=order)  # type: ignore[arg-type]
    assert one(mark.join(parts[part] for part in order), style) == (day, [])
    assert one(day.strftime("%d %b %Y"), style) == (day, [])


@given(st.integers(61, 80000))
def test_day_numbers_run_on(number: int) -> None:
    assert from_day_number(number + 1, 1900) - from_day_number(number, 1900) == timedelta(1)


@given(st.lists(st.text(max_size=12) | st.text("0123456789/-. :", max_size=12), max_size=8))
def test_any_cell_is_a_date_a_blank_or_a_fault(cells: list[str]) -> None:
    for style in (Style(), DMY, Style(date_order="ymd", spreadsheet_dates=1904)):
        found = understand(list(cells), style)
        faulty = set(found.faults["line"])
        for line, (cell, value) in enumerate(zip(cells, found.values["value"], strict=True), 2):
            text = "".join(char for char in cell if char.isprintable()).strip()
            assert (value is None) == (line in faulty) or style.is_missing(text)


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("Fri 3 March 2026", "says Friday, and 2026-03-03 is a Tuesday."),
        ("Wednesday, 03/03/2026", "says Wednesday, and 2026-03-03 is a Tuesday."),
        ("Sun 2026-03-03", "says Sunday, and 2026-03-03 is a Tuesday."),
    ],
)
def test_a_weekday_that_is_not_the_dates_is_refused_with_both(cell: str, said: str) -> None:
    """Either may be the slip; the weekday was left out in silence."""
    found = understand([cell], DMY)
    assert found.values["value"].to_list() == [None]
    assert found.faults["message"].to_list() == [f"{cell} {said}"]


@pytest.mark.parametrize("cell", ["Tue 3 March 2026", "Tues. 03/03/2026", "tuesday 2026-03-03"])
def test_a_weekday_that_is_the_dates_is_left_out(cell: str) -> None:
    assert one(cell, DMY) == (date(2026, 3, 3), [])
