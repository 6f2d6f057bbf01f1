"""The one guard against formulas: attached tables and rejected rows alike, and it can be taken back exactly."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.common.spreadsheet_cells import guarded, guarded_column, unguarded_columns

CELLS = st.text("=+-@'＝＋\t\r\n \u00a0a1.,%eE٣", max_size=8)


@given(st.lists(CELLS, min_size=1, max_size=20))
def test_what_is_guarded_comes_back_as_it_was(cells: list[str]) -> None:
    """An apostrophe too many or too few is another note, another code of a green, in silence."""
    frame = pl.DataFrame({"cell": cells}, schema={"cell": pl.String})
    written = frame.select(guarded_column(pl.col("cell"))).to_series().to_list()
    assert written == [guarded(cell) for cell in cells], "a column and a cell are guarded alike"
    back = pl.DataFrame({"cell": written}, schema={"cell": pl.String}).select(unguarded_columns(pl.col("cell")))
    assert back["cell"].to_list() == cells


@pytest.mark.parametrize("cell", ["=1", " =1", "\u00a0@x", "\t=1", "\r=1", "\n", "＝1", "'=1", "-2+3", "+a", "+1+1"])
def test_nothing_that_runs_stands_first(cell: str) -> None:
    assert guarded(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["-5", "+3.5 %", "-1,369.5", "1e5", "dry", "'x", "", "a=1"])
def test_numbers_and_plain_words_stay(cell: str) -> None:
    assert guarded(cell) == cell
