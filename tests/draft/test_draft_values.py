"""Dates and marks: written where the cells prove them, asked where they do not, never guessed."""

from __future__ import annotations

import pytest

from tests.draft.conftest import Drafted, data_of

HEAD = "Date;Green;Operation;Hours;Note\n"


def _dates(drafted: Drafted, *dates: str) -> tuple[dict[str, object], str]:
    made = drafted(HEAD + "".join(f"{one};ALD-1;mowing;1;\n" for one in dates))
    return data_of(made).get("values", {}), made.text


@pytest.mark.parametrize(
    ("dates", "order"),
    [
        (("03/04/2026", "13/04/2026"), "dmy"),
        (("03.04.2026", "31.12.2025"), "dmy"),
        (("03/04/2026", "04/13/2026"), "mdy"),
        (("3/4/26", "2/28/26"), "mdy"),
        (("85/04/03", "85/12/01"), "ymd"),
    ],
)
def test_one_date_that_fits_only_one_order_proves_it(drafted: Drafted, dates: tuple[str, ...], order: str) -> None:
    values, _ = _dates(drafted, *dates)
    assert values["date_order"] == order


def test_the_line_of_the_proof_is_named(drafted: Drafted) -> None:
    """Line 3 of the file, not row 2 of the table."""
    _, text = _dates(drafted, "03/04/2026", "13/04/2026")
    assert "line 3: 13/04/2026 can only be day-month-year" in text


@pytest.mark.parametrize("date", ["2026-04-03", "3 April 2026", "2026-04-03 00:00:00", "Apr 3, 2026"])
def test_iso_dates_and_names_of_months_need_no_order(drafted: Drafted, date: str) -> None:
    values, _ = _dates(drafted, date)
    assert values == {}


def test_dates_without_proof_are_asked(drafted: Drafted) -> None:
    values, text = _dates(drafted, "03/04/2026", "05/06/2026")
    assert values["date_order"] == "?"
    assert "line 2: 03/04/2026" in text


def test_proof_both_ways_is_asked_and_names_both_lines(drafted: Drafted) -> None:
    values, text = _dates(drafted, "13/04/2026", "04/14/2026")
    assert values["date_order"] == "?"
    assert "line 2: 13/04/2026" in text
    assert "line 3: 04/14/2026" in text


def test_years_of_two_digits_are_said(drafted: Drafted) -> None:
    values, text = _dates(drafted, "13/04/26")
    assert values["two_digit_years"] == 1950
    assert "1950 to 2049" in text


def test_day_numbers_of_a_spreadsheet_are_asked_with_both_readings(drafted: Drafted) -> None:
    """45000 is 2023-03-15 in the 1900 system and 2027-03-16 in the 1904 system (ECMA-376, 18.17.4.1)."""
    values, text = _dates(drafted, "45000", "45001")
    assert values["spreadsheet_dates"] == "?"
    assert "2023-03-15" in text
    assert "2027-03-16" in text


def _figures(drafted: Drafted, *figures: str) -> dict[str, object]:
    made = drafted(HEAD + "".join(f"2026-04-03;ALD-1;mowing;{one};\n" for one in figures))
    found: dict[str, object] = data_of(made).get("values", {})
    return found


@pytest.mark.parametrize(
    ("figures", "expected"),
    [
        (("1.5", "2"), {}),
        (("1,5", "2"), {"decimal": ","}),
        (("0,125",), {"decimal": ","}),
        (("1,2345",), {"decimal": ","}),
        (("1.369,5",), {"decimal": ",", "thousands": "."}),
        (("1,369.5",), {"thousands": ","}),
        (("1,369", "2.5"), {"thousands": ","}),
        (("1.369", "2,5"), {"decimal": ",", "thousands": "."}),
        (("1,234,567",), {"thousands": ","}),
        (("1 369", "20"), {"thousands": " "}),
        (("1'369", "20"), {"thousands": "'"}),
        (("1,369", "2"), {"decimal": "?", "thousands": "?"}),
        (("1,5", "2.5"), {"decimal": "?"}),
    ],
)
def test_decimal_and_thousands_marks(drafted: Drafted, figures: tuple[str, ...], expected: dict[str, object]) -> None:
    """A group of a thousand has three digits and does not begin with 0 (SI Brochure, 5.4.4; DIN 1333)."""
    assert _figures(drafted, *figures) == expected


def test_words_among_figures_and_minus_ninety_nine_are_asked(drafted: Drafted) -> None:
    """Whether "lost" is no value, or -99, only the sender knows; the built-in marks are not asked for."""
    values = _figures(drafted, "2", "3", "4", "5", "6", "lost", "-99", "NA", "*", "<0.5", "ND", "7", "8")
    assert values == {"missing": ["?"]}


def test_marks_glued_to_figures_are_asked(drafted: Drafted) -> None:
    assert _figures(drafted, "2", "3", "4+") == {"flags": ["?"]}


@pytest.mark.parametrize(("cell", "key"), [("2 ton", "ton"), ("3 cwt", "ton"), ("9 barrow loads", "barrow_l")])
def test_tons_and_barrows_are_asked(drafted: Drafted, cell: str, key: str) -> None:
    made = drafted(f"Date,Green,Operation,Quantity\n2026-04-03,ALD-1,top dressing,{cell}\n")
    assert data_of(made)["values"] == {key: "?"}
    assert f"line 2: {cell}" in made.text


def test_tonnes_are_not_asked(drafted: Drafted) -> None:
    made = drafted("Date,Green,Operation,Quantity\n2026-04-03,ALD-1,top dressing,2 tonnes\n")
    assert "values" not in data_of(made)


def test_a_bare_ounce_is_a_remark(drafted: Drafted) -> None:
    """No key of the profile can settle it: the cell must be mended."""
    made = drafted("Date,Green,Operation,Quantity\n2026-04-03,ALD-1,fertilising,8 oz\n2026-04-04,ALD-1,mowing,2 ton\n")
    assert "# Line 2, Quantity" in made.text
    assert "fl oz" in made.text
