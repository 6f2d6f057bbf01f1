"""What is said of a file declared complete for its days: what it closes, what it spares, and why it closes nothing."""

from __future__ import annotations

from datetime import date

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.common.words import counted
from pipeline.load.matched import Matched

CLOSED = FaultKind(
    "load.closed",
    "Records the complete file no longer holds",
    "{value} of this source between {first} and {last} are not in the file any more and are no longer in force.",
    "Take this load back (undo LOAD), if the file was not complete after all.",
    severity="warning",
)
NOT_CLOSED = FaultKind(
    "load.not_closed",
    "Nothing was closed",
    "{value} of the file were rejected, so it cannot be taken as complete: no record was closed.",
    "Mend the rejected rows in the file itself and load it again as complete.",
    severity="warning",
)
SPARED = FaultKind(
    "load.spared",
    "Records that came after a complete file was first loaded",
    "{value} of this source between {first} and {last} are not in the file, but came after it was first loaded: "
    "they stay in force.",
    "If they should not be there, take the load that brought them back (undo LOAD).",
    severity="note",
)


def closed(matched: Matched, days: tuple[date, date]) -> pl.DataFrame:
    """What is said of records that a file complete for these days does not hold."""
    told = [(CLOSED, f"{matched.closed} records")] if matched.closed else []
    told += [(SPARED, counted(matched.spared, "record"))] if matched.spared else []
    return concat(fault.at(None, what, first=days[0], last=days[1]) for fault, what in told)
