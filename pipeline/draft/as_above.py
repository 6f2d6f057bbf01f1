"""Cells of a draft that say "as above": a ditto mark is plain, a blank one of a needed field may be."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.common.words import counted
from pipeline.draft.columns import Column
from pipeline.draft.document import Entry
from pipeline.standardise.cells.ditto import is_ditto


def without_marks(words: Mapping[str, int]) -> dict[str, int]:
    """The words of a column but ditto marks: those are nothing that could be taught."""
    return {word: count for word, count in words.items() if not is_ditto(word)}


def with_marks(origin: object, column: Column) -> tuple[object, str]:
    """Where a field comes from, its ditto marks declared, and the comment on that; as it is where there are none."""
    marks = [word for word in column.words if is_ditto(word)]
    if not marks:
        return origin, ""
    line = column.filled.filter(pl.col("text").is_in(marks))["line"][0]
    return _saying(origin, "marks"), f"line {line}: {marks[0]}: filled from the row above: check"


def blanks_above(name: str, origin: object, column: Column) -> tuple[Entry, ...]:
    """The same for blank cells of a field that no record can do without, to be taken up; () where none is blank."""
    blank = column.lines.filter(column.cells.is_null())
    if not len(blank) or not column.words:
        return ()
    are = "is" if len(blank) == 1 else "are"
    where = f"{counted(len(blank), 'cell')} {are} blank (first on line {blank[0]})"
    return (
        Entry(
            name, _saying(origin, "blank"), f"{where}: instead of the line above, if blank means “as above”", off=True
        ),
    )


def _saying(origin: object, how: str) -> dict[str, object]:
    known = dict(origin) if isinstance(origin, Mapping) else {"from": origin}
    return {**known, "as_above": how}
