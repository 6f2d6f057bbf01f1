"""Values written into SQL: what DuckDB reads there is what was meant, and a short command imports no pandas."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, datetime
from typing import Any

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.store.sql_text import FEW, among, with_named, with_values

VALUES = st.one_of(
    st.text(), st.integers(-(2**63), 2**63 - 1), st.booleans(), st.none(), st.dates(date(1, 1, 1)),
    st.floats(allow_nan=False), st.lists(st.text(), max_size=3), st.datetimes(), st.binary(),
)  # fmt: skip


@given(st.lists(VALUES, min_size=1, max_size=4))
def test_a_value_is_read_as_it_would_be_bound(values: list[Any]) -> None:
    """Outside: DuckDB's own binding of parameters."""
    sql = f"SELECT {', '.join('?' for _ in values)}, '?', \"it''s ?\" FROM (SELECT 1 AS \"it''s ?\")"
    con = duckdb.connect()
    try:
        bound = con.execute(sql, values).fetchall()
    except duckdb.Error:
        return
    assert con.execute(*with_values(sql, values)).fetchall() == bound


@given(VALUES, VALUES)
def test_a_named_value_is_read_as_it_would_be_bound(one: Any, other: Any) -> None:
    """Outside: DuckDB's own binding of parameters; a name within quotes is none."""
    sql = 'SELECT $a, typeof($a), $ab, \'$a\', "$a" FROM (SELECT $a AS "$a")'
    con = duckdb.connect()
    try:
        bound = con.execute(sql, {"a": one, "ab": other}).fetchall()
    except duckdb.Error:
        return
    told, left = with_named(sql, {"a": one, "ab": other})
    assert con.execute(told, left or None).fetchall() == bound


def test_a_long_list_is_bound() -> None:
    long = ["a"] * (FEW + 1)
    assert with_named("SELECT $a, $b", {"a": long, "b": "c"}) == ("SELECT $a, 'c'", {"a": long})


@pytest.mark.parametrize("value", ["'); DROP TABLE job; --", "a\\'", "a\nb", "?", "“”", "a\0b", ""])
def test_a_text_stays_a_text(value: str) -> None:
    con = duckdb.connect()
    assert con.execute(*with_values("SELECT ?, [?, 'b?']", [value, value])).fetchall() == [(value, [value, "b?"])]


def test_what_has_no_form_of_its_own_is_bound() -> None:
    for value in (1.5, datetime(2026, 1, 1), b"a", [], [None], "a\0b"):  # noqa: DTZ001 (the store's times have no zone)
        assert with_values("SELECT ?", [value]) == ("SELECT ?", [value])
    assert with_values("SELECT ?, ?", ["a"]) == ("SELECT ?, ?", ["a"])


def test_a_written_value_imports_nothing() -> None:
    code = (
        "import sys, duckdb; from datetime import date; from pipeline.store.sql_text import with_values; "
        "duckdb.connect().execute(*with_values('SELECT ?, ?, ?', ['a', date(2026, 1, 1), ['b']])).fetchall(); "
        "sys.exit('pandas' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize("many", [1, FEW, FEW + 1])
def test_a_column_is_among_values_and_not_only_between_them(many: int) -> None:
    """The first and the last of many values bound the scan: what lies between and is none of them is not among them."""
    values = [f"G{number:04}" for number in range(0, 2 * many, 2)][::-1]
    con = duckdb.connect()
    con.execute("CREATE TABLE green AS SELECT format('G{:04d}', n) AS code FROM range(-1, 500) AS t(n)")
    found = con.execute(f"SELECT code FROM green WHERE {among('code', values, 'asked')}", {"asked": values})
    assert sorted(code for (code,) in found.fetchall()) == sorted(values)
