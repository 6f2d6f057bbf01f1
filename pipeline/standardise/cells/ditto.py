"""Ditto marks: cells that say "as above"."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.standardise.cells.distinct import Cells

DITTO = frozenset(
    {'"', "''", "”", "“", "„", "〃", '-"-', "-”-", ",,", "do", "do.", "ditto", "-do-", '""', "as above", "same"}
)
"""Marks for "as above", in small letters: common practice, no source."""
LONGEST = max(len(mark) for mark in DITTO)
NOT_DECLARED = FaultKind(
    "cell.ditto",
    "Ditto mark where none was declared",
    "{column}: “{value}” seems to mean “as above”, which is not declared of this column.",
    'Write the value, or say so in the source profile: as_above = "marks" for this column under [fields].',
)


def is_ditto(text: str) -> bool:
    """Whether a cell is a mark for "as above" and nothing else."""
    return text.strip().casefold() in DITTO


def without_dittos(source: Cells, short: pl.Series) -> tuple[Cells, pl.DataFrame]:
    """The cells without ditto marks, which nobody has declared, and the fault of each; ``short``: its short texts."""
    figureless = short.filter(~short.str.contains(r"\d"))  # of a column of job numbers that is next to nothing
    marks = sorted(text for text in figureless.drop_nulls() if is_ditto(text))
    if not marks:
        return source, concat([])
    found = source.cells.is_in(marks).fill_null(value=False)
    told = NOT_DECLARED.frame(source.lines.filter(found), source.cells.filter(found), source.header)
    cells = pl.select(pl.when(found).then(None).otherwise(source.cells)).to_series()
    return replace(source, cells=cells), told
