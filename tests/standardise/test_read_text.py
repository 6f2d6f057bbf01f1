"""Words and codes: what cannot be seen is taken out, what a spreadsheet ruined is pointed out, the rest stays."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.profiles.style import MISSING, Style
from pipeline.standardise.cells.distinct import Cells, missing_out, plain
from pipeline.standardise.cells.text import code_column, text_column


def lines(cells: list[str | None]) -> pl.Series:
    return pl.Series(range(2, 2 + len(cells)), dtype=pl.Int64)


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("Lab A", "Lab A"),
        ("Lab\u00a0A", "Lab A"),
        ("Lab  A", "Lab A"),
        ("Lab\nA", "Lab A"),
        ("Lab\tA", "Lab A"),
        ("Cafe\u0301", "Café"),
        ("\u202eabc\u202c", "abc"),
        ("a\x00b", "ab"),
        ("a\u200bb", "ab"),
        ("a\u00adb", "ab"),
        ("\u200b", None),
        ("01", "01"),
        ("½ pass", "½ pass"),
    ],
)
def test_text(cell: str, text: str | None) -> None:
    found = text_column(Cells(lines([cell]), pl.Series([cell]), "Lab"))
    assert (found.values["value"].to_list(), found.faults.height) == ([text], 0)


def test_a_text_of_a_page_is_kept_whole() -> None:
    """A note's end is as much a record as its beginning: it is said to be long, and nothing is cut."""
    text = "é" * 5000
    found = text_column(Cells(lines(["x"]), pl.Series([text]), "Note"))
    assert found.values["value"].to_list() == [text]
    assert found.faults.select("line", "code", "severity").rows() == [(2, "text.too_long", "note")]
    assert "5000 characters" in found.faults["message"][0]


@pytest.mark.parametrize("code", ["01", "1", "t", "f", "1-6-12", "1E+05", "0012-1", "TRUE", "1.0", "1,5"])
def test_codes_stay_as_written(code: str) -> None:
    """`01` and `1` are two codes until somebody declares otherwise; `1E+05` alone is a code like another."""
    found = code_column(Cells(lines([code]), pl.Series([code]), "Reference"))
    assert (found.values["value"].to_list(), found.faults.height) == ([code], 0)


@pytest.mark.parametrize("ruined", ["1-Nov", "9-Jun", "11-Jan", "Nov-01", "1-Nov-12", "7/6/95"])
def test_a_code_made_into_a_date_is_refused(ruined: str) -> None:
    found = code_column(Cells(lines(["0012-1", ruined, "0954-1"]), pl.Series(["0012-1", ruined, "0954-1"]), "LabNo"))
    assert found.faults.select("line", "code", "severity").rows() == [(3, "code.date", "error")]
    assert "0012-1" in found.faults["message"][0]
    assert found.values["value"].to_list() == ["0012-1", ruined, "0954-1"]


@pytest.mark.parametrize("others", [["A", "B"], ["3-Nov", "4-Nov"], ["Rink 1"]])
def test_a_day_and_month_where_the_other_codes_show_nothing_is_asked_about(others: list[str]) -> None:
    """`1-Nov` may be a code like another, or 11-1: it never becomes a key without a word."""
    cells = ["1-Nov", *others]
    found = code_column(Cells(lines(cells), pl.Series(cells), "Reference"), field="reference")
    asked = [(line, "code.date_like", "warning") for line, cell in enumerate(cells, start=2) if "Nov" in cell]
    assert found.faults.select("line", "code", "severity").rows() == asked
    assert "[aliases.reference]" in found.faults["hint"][0]


@pytest.mark.parametrize("others", [["Nov-25"], ["7/6/95", "A"], ["2024-11-01", "12"]])
def test_other_dates_are_codes_where_nothing_shows_a_ruin(others: list[str]) -> None:
    assert not code_column(Cells(lines(others), pl.Series(others), "Survey")).faults.height


def test_a_code_that_the_profile_declares_is_one() -> None:
    cells = ["0012-1", "1-Nov", "2-Nov"]
    found = code_column(Cells(lines(cells), pl.Series(cells), "LabNo"), {"1-Nov": "0011-1"})
    assert found.faults["line"].to_list() == [4]


def test_a_shortened_number_among_long_ones_is_flagged() -> None:
    cells = ["400123456789", "4.00123E+11", "400123456791"]
    found = code_column(Cells(lines(cells), pl.Series(cells), "Reference"))
    assert found.faults.select("line", "code").rows() == [(3, "code.scientific")]
    assert not code_column(Cells(lines(["12", "1E+05"]), pl.Series(["12", "1E+05"]), "Reference")).faults.height


def test_missing_marks() -> None:
    cells = pl.Series(["NA", "x", None, "*", "-", "VH", "n/a"])
    assert missing_out(cells, Style(missing=("VH",))).is_null().to_list() == [True, False, True, True, True, True, True]


@given(st.text(max_size=30))
def test_plain_text_is_plain(text: str) -> None:
    """Cleaning twice changes nothing, and nothing that cannot be printed is left."""
    once = plain(text)
    assert plain(once) == once
    assert once.isprintable()
    found = text_column(Cells(lines([text]), pl.Series([text]), "Note"))
    assert found.values["value"].to_list() == [once or None]


_MARKS = st.sampled_from([*MISSING, *map(str.upper, MISSING), "not told", "Not told", "nan", "n/a ", "\u212a", "İ"])


@given(
    cells=st.lists(st.one_of(st.none(), _MARKS, st.text(max_size=9)), max_size=20), own=st.lists(st.text(max_size=9))
)
def test_marks_for_missing_are_taken_out_and_nothing_else(cells: list[str | None], own: list[str]) -> None:
    """Only short cells are looked at, each once: a mark that is longer than it looks must not slip through."""
    style = Style(missing=("not told", *own))
    column = pl.Series(cells, dtype=pl.String)
    marked = [cell is None or cell.lower() in MISSING or cell in style.missing for cell in cells]
    expected = [None if gone else cell for cell, gone in zip(cells, marked, strict=True)]
    assert missing_out(column, style).to_list() == expected
