"""Rain less than a gauge can measure, written as a word: counted as 0, and said."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.profiles.style import Style
from pipeline.standardise.cells.distinct import Cells

TRACE = FaultKind(
    "rain.trace",
    "Trace of rain counted as 0",
    "Column {column} says “{value}” or the like in {count} rows: rain too little to measure. It counts as 0 mm there, "
    "and the word is kept beside it.",
    "Nothing need be done. A trace is less than 0.1 mm, in the United States less than 0.01 inch.",
    severity="note",
)
MINUS_ONE = FaultKind(
    "rain.minus_one",
    "-1 in a column of rain",
    "{value} is no amount of rain: some stations write it for a trace, others where nothing was measured.",
    'Ask the source. If it is a trace, say so in the profile ([aliases.rain_mm] "{value}" = "trace"); if nothing was '
    'measured, missing = ["{value}"] on that field.',
)
WORDS = ("t", "tr", "tr.", "trace", "traces")
"""How stations write it (common practice, no source)."""
_MINUS_ONE = ("-1", "-1.0", "-0.1")
"""Minus one, and minus one of tenths."""


def as_zero(source: Cells, style: Style) -> tuple[Cells, pl.DataFrame]:
    """The cells with words for a trace as 0, and what is said of it; minus one is refused with both its readings.

    WMO-No. 8, Guide to Instruments and Methods of Observation, vol. I, 6.1.2: rain is read to 0.1 or 0.2 mm, and what
    is less is called a trace (from memory). To those tenths it is 0.
    """
    cells = source.cells
    few = cells.filter(cells.str.len_chars() <= max(map(len, WORDS))).unique()
    few = few.filter(~few.is_in(style.missing))
    marks = few.filter(few.str.to_lowercase().is_in(WORDS))
    odd = few.filter(few.is_in(_MINUS_ONE))
    told = []
    if len(marks):
        traces = cells.is_in(marks.implode()).fill_null(value=False)
        first = traces.arg_max() or 0
        told.append(TRACE.at(source.lines[first], cells[first], source.header, count=int(traces.sum())))
        cells = pl.select(pl.when(traces).then(pl.lit("0")).otherwise(cells)).to_series()
    if len(odd):
        found = cells.is_in(odd.implode()).fill_null(value=False)
        told.append(MINUS_ONE.frame(source.lines.filter(found), cells.filter(found), source.header))
        cells = pl.select(pl.when(found).then(None).otherwise(cells)).to_series()
    return replace(source, cells=cells), concat(told)
