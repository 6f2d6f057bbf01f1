"""Records without a result: which they are, and what is said of them."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, no_faults
from pipeline.common.words import counted, on_lines
from pipeline.standardise.frame import BLANK_CELL, MOST_RANGES, Standard
from schemas import Kind

NO_RESULT = FaultKind(
    "load.no_result",
    "Results without a value",
    "{value} {have} no value and no record was made of {them} ({where}).",
    "Nothing need be done where nothing was measured.",
    severity="note",
)


def without_result(standard: Standard, blank: pl.DataFrame, told: int) -> pl.DataFrame:
    """A note of where results are blank that take nothing back; none where all of them are ``told`` of elsewhere."""
    cells = standard.ignored.filter(pl.col("reason").str.ends_with(BLANK_CELL)) if standard.kind.repeats else None
    lines = [*blank["line"], *(cells["line"] if cells is not None else [])]
    count = len(lines) - told
    if count <= 0:
        return no_faults()
    where = on_lines(lines, MOST_RANGES)
    where = f"among {where}" if told else where
    have, them = ("has", "it") if count == 1 else ("have", "them")
    return NO_RESULT.at(None, counted(count, "result"), have=have, them=them, where=where)


def split_blank(kind: Kind, records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Records with a result, and those whose result is blank."""
    if not kind.value_field:
        return records, records.clear()
    blank = pl.col(kind.value_field).is_null()
    if "below_limit" in kind.by_name:  # "not detected" without a limit is a result all the same
        blank &= ~pl.col("below_limit").fill_null(value=False)
    return records.filter(~blank), records.filter(blank)
