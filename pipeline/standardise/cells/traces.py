"""Rain less than a gauge can measure, written as a word: counted as 0, and said."""

from __future__ import annotations

import re
from dataclasses import replace

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.common.words import counted
from pipeline.profiles.style import Refused, Style
from pipeline.standardise.cells import units
from pipeline.standardise.cells.distinct import Cells

TRACE = FaultKind(
    "rain.trace",
    "Trace of rain counted as 0",
    "Column {column} says “{value}” or the like in {count}: rain too little to measure. It counts as 0 mm there, "
    "and the word is kept beside it.",
    "Nothing need be done. A trace is less than 0.1 mm, in the United States less than 0.01 inch.",
    severity="note",
)
LESS = FaultKind(
    "rain.less",
    "Rain below what a gauge can measure counted as 0",
    "Column {column} says “{value}” or the like in {count}: rain too little to measure. It counts as 0 mm there, "
    "and what was written is kept beside it.",
    "Nothing need be done. From {most} mm on “less than” is no trace, and refused.",
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
_LESS = r"(?i)^\s*(?:<=?|≤|less than|below|under)\s*(\d*[.,]?\d+)\s*(\D*)$"
_MOST_MM = 0.3
"""Below it "less than" is a trace: gauges are read to 0.1 or 0.2 mm, and to 0.01 inch, 0.254 mm (WMO-No. 8, 6.1.2)."""


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
        told.append(TRACE.at(source.lines[first], cells[first], source.header, count=counted(int(traces.sum()), "row")))
        cells = pl.select(pl.when(traces).then(pl.lit("0")).otherwise(cells)).to_series()
    if len(less := _below_a_gauge(cells, source.unit, style)):
        little = cells.is_in(less).fill_null(value=False)
        first = little.arg_max() or 0
        facts = {"count": counted(int(little.sum()), "row"), "most": f"{_MOST_MM:g}"}
        told.append(LESS.at(source.lines[first], cells[first], source.header, **facts))
        cells = pl.select(pl.when(little).then(pl.lit("0")).otherwise(cells)).to_series()
    if len(odd):
        found = cells.is_in(odd.implode()).fill_null(value=False)
        told.append(MINUS_ONE.frame(source.lines.filter(found), cells.filter(found), source.header))
        cells = pl.select(pl.when(found).then(None).otherwise(cells)).to_series()
    return replace(source, cells=cells), concat(told)


def _below_a_gauge(cells: pl.Series, unit: str, style: Style) -> list[str]:
    """Cells that say "less than" what a gauge can be read to (``<0.1``)."""
    found = []
    few = cells.drop_nulls().unique()
    for text in few.filter(few.str.contains(_LESS)).sort():
        number, said = re.match(_LESS, text).groups()  # type: ignore[union-attr]
        if "," in number and style.decimal != ",":
            continue
        try:
            factor, _ = units.scale(said.strip() or unit or "mm", "mm", style)
        except Refused:
            continue
        if 0 < float(number.replace(",", ".")) * factor < _MOST_MM:
            found.append(text)
    return found
