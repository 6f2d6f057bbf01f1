"""Numbers as people write them. What can be read two ways is refused, and the fault says why."""

from __future__ import annotations

import math

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.profiles.style import Style, Understood
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.numbers import flag_column, number_column

PLAIN = Style()
COMMA = Style(decimal=",")
GERMAN = Style(decimal=",", thousands=".")
ENGLISH = Style(thousands=",")


def understand(cells: list[str | None], style: Style = PLAIN, unit: str = "", **how: object) -> Understood:
    lines = pl.Series(range(2, 2 + len(cells)), dtype=pl.Int64)
    source = Cells(lines, pl.Series(cells, dtype=pl.String), "Depth", unit)
    return number_column(source, style, **how)  # type: ignore[arg-type]


def one(cell: str, style: Style = PLAIN, unit: str = "", **how: object) -> tuple[float | None, bool | None, list[str]]:
    found = understand([cell], style, unit, **how)
    return *found.values.row(0), found.faults["code"].to_list()


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("1", 1.0),
        ("1.5", 1.5),
        ("-0.5", -0.5),
        ("+5", 5.0),
        ("−5", -5.0),
        (".5", 0.5),
        ("5.", 5.0),
        ("1e3", 1000.0),
        ("1E+05", 100000.0),
        ("007", 7.0),
        ("½", 0.5),
        ("1½", 1.5),
        ("1 ½", 1.5),
        ("⅜", 0.375),
        ("2 3/4", 2.75),
        ("1 5/32", 1.15625),
        ("1 1/2", 1.5),
        ("1-1/2", 1.5),
        ("3 passes", 3.0),
        ("2x", 2.0),
        ("\u00a05\u00a0", 5.0),
        ("5\u200b", 5.0),
    ],
)
def test_a_number(cell: str, value: float) -> None:
    assert one(cell) == (value, False, [])


@pytest.mark.parametrize(
    ("cell", "style", "value"),
    [
        ("1,5", COMMA, 1.5),
        ("-0,25", COMMA, -0.25),
        ("950", COMMA, 950.0),
        ("1,5", GERMAN, 1.5),
        ("1.369", GERMAN, 1369.0),
        ("1.369,5", GERMAN, 1369.5),
        ("1.234.567", GERMAN, 1234567.0),
        ("1,369", ENGLISH, 1369.0),
        ("12,345.6", ENGLISH, 12345.6),
        ("950", ENGLISH, 950.0),
        ("1369", ENGLISH, 1369.0),
        ("1 369", Style(thousands=" "), 1369.0),
        ("1\u202f369,5", Style(decimal=",", thousands=" "), 1369.5),
        ("1'369", Style(thousands="'"), 1369.0),
        ("<1,5", COMMA, 1.5),
        ("1,5 mm", COMMA, 1.5),
    ],
)
def test_declared_marks(cell: str, style: Style, value: float) -> None:
    assert one(cell, style, to="mm")[0] == value


@pytest.mark.parametrize(
    ("cell", "style", "grouped", "decimal"),
    [("1,369", PLAIN, "1369", "1.369"), ("12,345", PLAIN, "12345", "12.345"), ("1.369", COMMA, "1369", "1.369")],
)
def test_a_comma_that_parts_thousands_or_is_a_decimal_mark(cell: str, style: Style, grouped: str, decimal: str) -> None:
    """`1,369` beside `950`: a guess for each row would be wrong by a factor of 1000 for one of two people."""
    found = understand(["950", cell], style)
    assert found.values["value"].to_list() == [950.0, None]
    assert found.faults["code"].to_list() == ["number.two_readings"]
    assert f"{cell} is {grouped}" in found.faults["message"][0]
    assert f"{decimal} if it is the decimal mark" in found.faults["message"][0]


@pytest.mark.parametrize(
    ("cell", "style"),
    [
        ("1,36", PLAIN),
        ("1,36", ENGLISH),
        ("1,2345", ENGLISH),
        ("12,34,567", ENGLISH),
        ("1.36", GERMAN),
        ("1.36", COMMA),
        ("1,234,567.8", PLAIN),
        ("1.2.3", PLAIN),
        ("1,2,3", COMMA),
        ("0,369", PLAIN),
    ],
)
def test_marks_that_do_not_fit_the_declared_ones(cell: str, style: Style) -> None:
    """`1,36` is not 136."""
    assert one(cell, style) == (None, None, ["number.wrong_mark"])


def test_a_fraction_after_thirty_thousand_whole_numbers() -> None:
    """A reader that infers types from the first rows turns the rest into nothing."""
    found = understand([*map(str, range(30000)), "30000.5"])
    assert found.values["value"][30000] == 30000.5
    assert not found.faults.height


@pytest.mark.parametrize(
    ("cell", "mm"),
    [
        ('3/4"', 19.05),
        ('5/32"', 3.96875),
        ('1 1/2"', 38.1),
        ("9'6\"", 2895.6),
        ("9' 6\"", 2895.6),
        ("9′6″", 2895.6),
        ("9'6 1/2\"", 2908.3),
        ("9ft 6in", 2895.6),
        ("9 feet 6 inches", 2895.6),
        ("9'", 2743.2),
        ("9 ft", 2743.2),
        ("0.5 in", 12.7),
        ("½ inch", 12.7),
        ("2cm", 20.0),
        ("3 mm", 3.0),
        ("3 MM", 3.0),
        ("25", 25.0),
    ],
)
def test_lengths_with_their_unit_in_the_cell(cell: str, mm: float) -> None:
    """Inch: 25.4 mm, foot: 12 inches (international yard and pound agreement, 1959)."""
    assert one(cell, to="mm") == (pytest.approx(mm, rel=1e-12), False, [])


def test_a_unit_in_the_cell_beats_the_column_s(request: pytest.FixtureRequest) -> None:
    found = understand(["1", "1 mm", "1 cm"], unit="in", to="mm")
    assert found.values["value"].to_list() == [25.4, 1.0, 10.0]


@pytest.mark.parametrize(
    ("cell", "unit", "to", "value"),
    [
        ("5", "g/kg", "%", 0.5),
        ("5%", "g/kg", "%", 5.0),
        ("68", "°F", "°C", 20.0),
        ("68 °F", "", "°C", 20.0),
        ("2", "h", "s", 7200.0),
        ("1.5", "ft2", "m2", 0.13935456),
    ],
)
def test_conversion(cell: str, unit: str, to: str, value: float) -> None:
    assert one(cell, unit=unit, to=to)[0] == pytest.approx(value, rel=1e-11)


@pytest.mark.parametrize(
    ("cell", "low", "high", "middle"),
    [
        ("3-4", "3", "4", 3.5),
        ("3 - 4", "3", "4", 3.5),
        ("3–4", "3", "4", 3.5),
        ("3 to 4", "3", "4", 3.5),
        ("0-18", "0", "18", 9.0),
        ("1 1/2-1 3/4", "1.5", "1.75", 1.625),
        ("2.5..3.5", "2.5", "3.5", 3.0),
    ],
)
def test_a_range_gives_its_middle_and_names_both_ends(cell: str, low: str, high: str, middle: float) -> None:
    found = understand([cell])
    assert found.values["value"].to_list() == [middle]
    assert found.faults.select("code", "severity").rows() == [("number.range", "note")]
    assert f"from {low} to {high}" in found.faults["message"][0]


def test_a_range_of_inches() -> None:
    assert one("3-4 in", to="mm")[0] == 88.9


@pytest.mark.parametrize("cell", ["4-3", "10 to 5"])
def test_a_range_that_runs_backwards(cell: str) -> None:
    assert one(cell) == (None, None, ["number.backwards"])


def test_passes_and_depth_in_one_cell() -> None:
    assert one("3 passes @ 2-3mm", to="mm")[0] == 2.5
    assert one("3 passes @ 2-3mm")[0] == 3.0


@pytest.mark.parametrize("cell", ["NA", "na", "N/A", "n.a.", "-", "--", "---", "–", "—", "*", "NULL", "null", " "])
def test_missing_is_not_zero(cell: str) -> None:
    assert one(cell) == (None, None, [])


def test_declared_marks_for_missing() -> None:
    style = Style(missing=("-9", "x"))
    assert understand(["-9", "x", "-9.0", "5"], style).values["value"].to_list() == [None, None, -9.0, 5.0]


@pytest.mark.parametrize("cell", ["nil", "none", "?", "VH", "trace", "March", "see note", "Very Low"])
def test_words_in_a_number_column(cell: str) -> None:
    assert one(cell) == (None, None, ["number.not"])


@pytest.mark.parametrize("cell", ["<0.5", "< 0.5", "<=0.5", "≤0.5", "less than 0.5", "Below 0.5", "<½", "<\u00a00.5"])
def test_less_than_is_kept_as_such(cell: str) -> None:
    """It never becomes zero, nor half the limit."""
    assert one(cell) == (0.5, True, [])


@pytest.mark.parametrize("cell", ["ND", "nd", "n.d.", "BDL", "not detected", "<LOD", "< LOQ".replace(" ", "")])
def test_below_a_limit_that_is_not_told(cell: str) -> None:
    assert one(cell) == (None, True, [])


def test_a_limit_with_its_unit() -> None:
    assert one("<5 g/kg", to="%") == (0.5, True, [])


def test_declared_marks_for_below() -> None:
    assert one("tr", Style(below=("tr",))) == (None, True, [])


@pytest.mark.parametrize("cell", [">500", "> 500", "≥5", "more than 5"])
def test_more_than_is_no_number(cell: str) -> None:
    assert one(cell) == (None, None, ["number.above"])


@pytest.mark.parametrize("cell", ["#DIV/0!", "#N/A", "#REF!", "#VALUE!", "#NAME?", "#NUM!", "Err:502", "#####"])
def test_spreadsheet_errors(cell: str) -> None:
    assert one(cell) == (None, None, ["number.spreadsheet_error"])


@pytest.mark.parametrize("cell", ["NaN", "nan", "inf", "-inf", "Infinity", "∞", "1e400", "-1e400"])
def test_what_is_not_finite(cell: str) -> None:
    assert one(cell) == (None, None, ["number.not_finite"])


@pytest.mark.parametrize(("cell", "flag"), [("12+", "+"), ("25.3*", "*"), ("152#", "#"), ("12a", "a"), ("5 $", "$")])
def test_a_mark_glued_to_a_number(cell: str, flag: str) -> None:
    found = understand([cell])
    assert found.faults["code"].to_list() == ["number.flag"]
    assert f'"{flag}"' in found.faults["message"][0]
    declared = understand([cell], Style(flags=(flag,)))
    assert declared.values["value"].to_list() == [float(cell.rstrip(" +*#a$"))]
    assert declared.faults.select("code", "severity").rows() == [("number.flag_dropped", "note")]


@pytest.mark.parametrize(
    "cell", ["1-6-12", "80/20", "4/3", "1_000", "0x10", "5 5", "1/0", "12:30", "(5)", "5-", "1.2e"]
)
def test_what_only_looks_like_a_number(cell: str) -> None:
    value, below, found = one(cell)
    assert (value, below) == (None, None)
    assert found in (["number.not"], ["number.flag"])


@pytest.mark.parametrize("cell", ["3-Apr", "04-Mar", "Mar-04", "01/02/2024", "2024-03-15", "2024-03-15 00:00:00"])
def test_a_date_a_spreadsheet_made(cell: str) -> None:
    assert one(cell) == (None, None, ["number.date_instead"])


@pytest.mark.parametrize("cell", ["5%", "12 kg", "3mm"])
def test_a_unit_where_none_belongs(cell: str) -> None:
    assert one(cell) == (None, None, ["number.unit_unwanted"])


@pytest.mark.parametrize(
    ("cell", "code"),
    [("3 kg", "unit.misfit"), ("3 bananas", "unit.unknown"), ("3 oz", "unit.ounce"), ("1 ton", "unit.ton")],
)
def test_units_that_do_not_do(cell: str, code: str) -> None:
    assert one(cell, to="mm") == (None, None, [code])


@pytest.mark.parametrize("cell", ["~5", "about 5", "approx. 5", "approx 5", "c. 5", "circa 5"])
def test_about_is_noted(cell: str) -> None:
    assert one(cell) == (5.0, False, ["number.approximate"])


@pytest.mark.parametrize(("cell", "value"), [("4", 4.0), ("4.0", 4.0), ("4 people", 4.0)])
def test_whole_numbers(cell: str, value: float) -> None:
    assert one(cell, whole=True) == (value, False, [])


@pytest.mark.parametrize("cell", ["4.5", "4-5", "½"])
def test_what_is_not_whole(cell: str) -> None:
    value, _, found = one(cell, whole=True)
    assert value is None
    assert found == ["number.not_whole"]


def test_a_declared_unit_that_is_none_is_one_fault_of_the_column() -> None:
    """Not one a row."""
    found = understand(["1", "2", "3"], unit="furlongs", to="mm")
    assert found.faults.select("line", "code").rows() == [(None, "unit.unknown")]
    assert found.values["value"].to_list() == [None, None, None]


def test_every_row_of_the_same_text_gets_its_fault() -> None:
    found = understand(["VH", "1", "VH", None, "VH"])
    assert found.faults["line"].to_list() == [2, 4, 6]
    assert found.values["value"].to_list() == [None, 1.0, None, None, None]


@given(st.lists(st.none() | st.text(max_size=8) | st.text("0123456789.,-+/' <>%½eE", max_size=8), max_size=12))
def test_any_cell_is_a_finite_number_a_blank_or_a_fault(cells: list[str | None]) -> None:
    """Nothing vanishes: a cell without a value and without a fault says "missing" or "below"."""
    for style in (PLAIN, GERMAN, Style(thousands=" ")):
        found = understand(cells, style, to="mm")
        assert found.values.height == len(cells)
        faulty = set(found.faults.filter(severity="error")["line"])
        for line, (cell, value, below) in enumerate(zip(cells, *found.values.to_dict().values(), strict=True), 2):
            if value is None and line not in faulty and not below:
                text = "".join(char for char in cell or "" if char.isprintable()).strip()
                assert style.is_missing(text) or not text
            assert value is None or math.isfinite(value)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_written_by_python_comes_back(value: float) -> None:
    assert one(repr(value))[0] == value
    assert one(repr(value).replace(".", ","), COMMA)[0] == value


@pytest.mark.parametrize(
    ("cell", "value"),
    [("yes", True), ("Y", True), ("TRUE", True), ("1", True), ("x", True), ("no", False), ("f", False), ("0", False)],
)
def test_flags(cell: str, value: bool) -> None:
    found = flag_column(Cells(pl.Series([2]), pl.Series([cell]), "below"), PLAIN)
    assert (found.values["value"].to_list(), found.faults.height) == ([value], 0)


@pytest.mark.parametrize(("cell", "codes"), [("NA", []), ("maybe", ["flag.not"]), ("2", ["flag.not"])])
def test_flags_that_are_none(cell: str, codes: list[str]) -> None:
    found = flag_column(Cells(pl.Series([2]), pl.Series([cell]), "below"), PLAIN)
    assert (found.values["value"].to_list(), found.faults["code"].to_list()) == ([None], codes)
