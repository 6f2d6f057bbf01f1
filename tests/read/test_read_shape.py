"""Shapes exports come in: delimiters, titles, units rows, totals, comments, repeated and ragged lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.common.spreadsheet_cells import guarded
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet

KNOWN = frozenset({"date", "green", "note", "value", "analyte"})


@pytest.fixture
def read(tmp_path: Path):
    def _read(text: str, known: frozenset[str] = KNOWN, **how: object) -> Sheet:
        path = tmp_path / "export.csv"
        path.write_bytes(text.encode())
        return read_sheet(path, Reading(known_headers=known, **how))  # type: ignore[arg-type]

    return _read


def codes(sheet: Sheet) -> list[tuple[int | None, str]]:
    return list(sheet.faults.select("line", "code").iter_rows())


@pytest.mark.parametrize("known", [KNOWN, frozenset()])
@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_delimiters(read, mark: str, known: frozenset[str]) -> None:
    text = "date,green,note\n2024-03-15,ALD-1,dry\n2024-03-16,ALD-2,wet\n".replace(",", mark)
    sheet = read(text, known)
    assert sheet.delimiter == mark
    assert sheet.cells.rows() == [(2, "2024-03-15", "ALD-1", "dry"), (3, "2024-03-16", "ALD-2", "wet")]


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("Datum;Doc;Wert\n1.2.24;A;1,5\n2.2.24;B;2,5\n3.2.24;C;3,25\n", ";"),
        ("a;b\n1,5;2,5\n3,5;4,5\n", ";"),
        ("name\tremarks\nx\ta, b, c\ny\td, e, f\n", "\t"),
        ("date,green,note\n2024-03-15,ALD-1,a;b;c;d;e\n2024-03-16,ALD-2,f;g;h;i;j\n", ","),
        ("date|green|note\n2024-03-15|ALD-1|a,b,c\n2024-03-16|ALD-2|d\n", "|"),
    ],
)
def test_a_mark_inside_the_cells_does_not_win(read, text: str, mark: str) -> None:
    sheet = read(text)
    assert sheet.delimiter == mark
    assert not sheet.rejected.height


def test_ragged_rows_do_not_change_the_delimiter(read) -> None:
    """A sniffer that wants every line alike takes another delimiter for one long and one short row."""
    sheet = read("date,green,note\n2024-03-15,ALD-1,a\n2024-03-16,ALD-2,b,c\n2024-03-17,ALD-3\n")
    assert sheet.cells["line"].to_list() == [2]
    assert sheet.rejected.rows() == [(3, ["2024-03-16", "ALD-2", "b", "c"]), (4, ["2024-03-17", "ALD-3"])]
    assert codes(sheet) == [(3, "row.long"), (4, "row.short")]
    assert sheet.faults["value"].to_list() == ["2024-03-16 | ALD-2 | b | c", "2024-03-17 | ALD-3"]


def test_empty_cells_at_the_end_of_a_long_row_do_no_harm(read) -> None:
    sheet = read("date,green,note\n2024-03-15,ALD-1,a,,\n2024-03-16,ALD-2,b\n")
    assert sheet.cells["c2"].to_list() == ["a", "b"]
    assert codes(sheet) == []


@pytest.mark.parametrize("first", ["sep=;", "SEP=;", '"sep=;"'])
def test_a_line_that_names_the_delimiter(read, first: str) -> None:
    sheet = read(f"{first}\ndate;green;note\n2024-03-15;ALD-1;a,b\n")
    assert (sheet.delimiter, sheet.header_line) == (";", 2)
    assert sheet.cells.row(0) == (3, "2024-03-15", "ALD-1", "a,b")


def test_a_declared_delimiter_is_taken(read) -> None:
    assert read("date^green\n2024-03-15^ALD-1\n", delimiter="^").cells.row(0) == (2, "2024-03-15", "ALD-1")


@pytest.mark.parametrize("delimiter", ["", "ab", '"', "\n"])
def test_a_declared_delimiter_that_cannot_be_one(read, delimiter: str) -> None:
    assert codes(read("date,green\n", delimiter=delimiter)) == [(None, "read.delimiter")]


@pytest.mark.parametrize("known", [KNOWN, frozenset()])
@pytest.mark.parametrize(
    "title",
    [
        "Results of the spring tests\n",
        "Results,,\n\n",
        "Laboratory B\nPrinted 2024-04-01\n\n",
        "Customer,17,\n",
        "\n\n\n",
        '"Report, spring"\n',
        ",,\n",
    ],
)
def test_titles_above_the_header(read, title: str, known: frozenset[str]) -> None:
    rows = "".join(f"2024-03-{day},ALD-1,{day}\n" for day in range(10, 16))
    sheet = read(f"{title}date,green,value\n{rows}", known)
    above = title.count("\n")
    assert sheet.headers == ("date", "green", "value")
    assert sheet.header_line == above + 1
    assert sheet.cells["line"].to_list() == list(range(above + 2, above + 8))
    assert codes(sheet) == []


def test_a_declared_header_line_is_taken(read) -> None:
    sheet = read("date,green\nday,place\n2024-03-15,ALD-1\n", header_line=2)
    assert (sheet.headers, sheet.cells["line"].to_list()) == (("day", "place"), [3])


@pytest.mark.parametrize("line", [3, 99])
def test_a_declared_header_line_where_nothing_stands(read, line: int) -> None:
    assert codes(read("date,green\n2024-03-15,ALD-1\n\n", header_line=line)) == [(None, "header.beyond")]


@pytest.mark.parametrize("text", ["ALD-1,2024-03-15,4.2\nALD-2,2024-03-16,4.4\n", "1,2\n3,4\n", "A;1,5\nB;2,5\n"])
def test_no_header_at_all(read, text: str) -> None:
    sheet = read(text)
    assert codes(sheet) == [(None, "header.none")]
    assert "Line 1 already holds values" in sheet.faults["message"][0]


def test_years_may_be_column_names(read) -> None:
    sheet = read("green,2022,2023,2024\nALD-1,4.1,4.2,4.3\n")
    assert sheet.headers == ("green", "2022", "2023", "2024")


@pytest.mark.parametrize(
    "units",
    [
        ",%,mg/kg",
        "UNITS,gramsPerCentimeterCubed,Percent",
        ",(°C),(days month-1)",
        ",mm,hours",
        " , ºC, J/cm2",
        "-,%,mg kg-1",
        "Unit,-,ppm",
    ],
)
def test_a_units_row_is_kept_aside(read, units: str) -> None:
    sheet = read(f"sample,om,p\n{units}\nA,4.2,31\nB,4.4,29\n", frozenset())
    assert sheet.units == tuple(unit.strip() for unit in units.split(","))
    assert sheet.ignored.rows() == [(2, "units row")]
    assert sheet.cells["line"].to_list() == [3, 4]


@pytest.mark.parametrize("row", ["A,4.2,31", "ALD,Alder,flat", "A,,", "-,-,-", "mg,5,kg", "Monday,dry,windy"])
def test_a_row_of_data_is_no_units_row(read, row: str) -> None:
    sheet = read(f"sample,om,p\n{row}\nB,4.4,29\n", frozenset())
    assert sheet.units is None
    assert sheet.cells["line"].to_list() == [2, 3]


def test_a_units_row_may_be_declared_or_denied(read) -> None:
    text = "sample,om\nfoo,bar\nkg,mm\nA,1\n"
    assert read(text, frozenset(), units_row=True).units == ("foo", "bar")
    assert read("sample,om\nkg,mm\nA,1\n", frozenset(), units_row=False).cells["line"].to_list() == [2, 3]


@pytest.mark.parametrize("word", ["Total", "TOTAL:", "totals", "Sum", "Grand total", "Total."])
def test_totals_are_left_out_and_counted(read, word: str) -> None:
    sheet = read(f"date,green,value\n2024-03-15,ALD-1,5\n,,\n{word},,5\n2024-03-16,ALD-1,5\n,{word},10\n")
    assert sheet.ignored.rows() == [(4, "totals"), (6, "totals")]
    assert sheet.cells["line"].to_list() == [2, 5]


def test_a_total_in_a_ragged_row_is_a_total(read) -> None:
    sheet = read("date,green,value\n2024-03-15,ALD-1,5\nTotal,5\n")
    assert sheet.ignored.rows() == [(3, "totals")]
    assert not sheet.rejected.height


def test_other_words_for_totals_are_declared(read) -> None:
    text = "date,green,value\n2024-03-15,ALD-1,5\nYear (Total or Mean),,5\n"
    assert read(text).cells["line"].to_list() == [2, 3]
    assert read(text, totals=("Year (Total or Mean)",)).ignored.rows() == [(3, "totals")]


@pytest.mark.parametrize(
    "row", ["# made by hand", "# made, by, hand, yesterday", "#", "Quote #7,COMMENT,", ",COMMENT,", '"a, b",Comment,']
)
def test_comment_rows(read, row: str) -> None:
    sheet = read(f"date,green,value\n{row}\n2024-03-15,ALD-1,5\n{row}\n")
    assert sheet.ignored.rows() == [(2, "comment"), (4, "comment")]
    assert sheet.cells["line"].to_list() == [3]


def test_a_code_that_begins_with_a_hash_is_no_comment(read) -> None:
    sheet = read("date,green,value\n#1,ALD-1,5\n#2,ALD-2,6\n")
    assert sheet.cells["c0"].to_list() == ["#1", "#2"]


@pytest.mark.parametrize(
    ("mark", "row"), [("//", "// nothing,,"), ("REM", "REM,x,y"), ("NB", ",NB,5"), ("#", "#1,ALD-1,5")]
)
def test_declared_comments(read, mark: str, row: str) -> None:
    sheet = read(f"date,green,value\n2024-03-15,ALD-1,5\n{row}\n", comment=mark)
    assert sheet.ignored.rows() == [(3, "comment")]


def test_repeated_headers_of_appended_files(read) -> None:
    one = "date,green,value\n2024-03-15,ALD-1,5\n"
    sheet = read(one + one + one)
    assert sheet.ignored.rows() == [(3, "repeated header"), (5, "repeated header")]
    assert sheet.cells["line"].to_list() == [2, 4, 6]


def test_an_appended_file_with_other_columns_is_rejected_from_there_on(read) -> None:
    """Its values would stand under the wrong names without a word."""
    sheet = read("date,green,note\n2024-03-15,ALD-1,5\ngreen,date,note\nALD-1,2024-03-16,6\nALD-1,2024-03-17,7\n")
    assert sheet.cells["line"].to_list() == [2]
    assert codes(sheet) == [(3, "read.other_header"), (4, "read.other_header"), (5, "read.other_header")]
    assert sheet.rejected["line"].to_list() == [3, 4, 5]


def test_repeated_names_get_a_number(read) -> None:
    sheet = read("date,green,value,value,Value,value (2)\n2024-03-15,ALD-1,1,2,3,4\n")
    assert sheet.headers == ("date", "green", "value", "value (3)", "Value", "value (2)")
    assert [code for _, code in codes(sheet)] == ["header.repeated"]
    plain = read("date,value,value,value\n2024-03-15,1,2,3\n")
    assert plain.headers == ("date", "value", "value (2)", "value (3)")


def test_empty_columns_at_the_end_are_dropped(read) -> None:
    sheet = read("date,green,value,,,\n2024-03-15,ALD-1,5,,,\n2024-03-16,ALD-1,6, ,,\n")
    assert sheet.headers == ("date", "green", "value")
    assert sheet.cells.columns == ["line", "c0", "c1", "c2"]


def test_a_column_without_a_name_is_kept_and_noted(read) -> None:
    sheet = read("date,,value,\n2024-03-15,x,5,\n2024-03-16,,6,late\n")
    assert sheet.headers == ("date", "column 2", "value", "column 4")
    assert [code for _, code in codes(sheet)] == ["header.nameless", "header.nameless"]


STATION = """Station name
Location 1E 2N, Lat 52.4 Lon 1.7
Missing data is marked by  ---.
   yyyy  mm   tmax    rain     sun
              degC      mm   hours
   1914   1    5.2    ---     54.1
   1914   2    9.2*   60.1
   1914   3    ---    ---     ---   Provisional
   1914   4    9.9    61.1   152.0Moved next month
Site closed
"""


def test_a_table_laid_out_with_blanks_is_read_by_place(read) -> None:
    """A missing last cell must not pull a remark into its column."""
    sheet = read(STATION, frozenset())
    assert (sheet.delimiter, sheet.header_line) == (" ", 4)
    assert sheet.headers == ("yyyy", "mm", "tmax", "rain", "sun", "column 6")
    assert sheet.units == ("", "", "degC", "mm", "hours", "")
    assert sheet.cells.rows() == [
        (6, "1914", "1", "5.2", "---", "54.1", None),
        (7, "1914", "2", "9.2*", "60.1", None, None),
        (8, "1914", "3", "---", "---", "---", "Provisional"),
        (9, "1914", "4", "9.9", "61.1", "152.0Moved", "next month"),
    ]
    assert sheet.rejected["line"].to_list() == [10]


def test_our_own_rejected_file_loses_what_we_added(read) -> None:
    sheet = read(
        "date,green,note,line,code,message,hint\n2024-03-15,ALD-1,'=1+1,7,a.b,Bad,Mend it\n2024-03-16,'-x,'x,8,c,d,e\n"
    )
    assert sheet.headers == ("date", "green", "note")
    assert sheet.cells.rows() == [(2, "2024-03-15", "ALD-1", "=1+1"), (3, "2024-03-16", "-x", "'x")]


def test_another_ending_is_left_alone(read) -> None:
    sheet = read("date,green,code,line,message,hint\n2024-03-15,ALD-1,'=1+1,7,Bad,Mend it\n")
    assert sheet.headers[-4:] == ("code", "line", "message", "hint")
    assert sheet.cells["c2"].to_list() == ["'=1+1"]


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+44 1", "+44 1"),
        ("@here", "'@here"),
        ("-5.2", "-5.2"),
        ("-1,369.5", "-1,369.5"),
        ("-5 %", "-5 %"),
        ("-x", "'-x"),
        ("---", "'---"),
        ("'=1", "''=1"),
        ("'x", "'x"),
        ("dry", "dry"),
        ("-2+3", "'-2+3"),
    ],
)
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe(cell: str, written: str) -> None:
    """Source of the list of characters: OWASP, CSV Injection."""
    assert guarded(cell) == written
