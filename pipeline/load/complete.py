"""What is said of a file declared complete for its days: what it closes, what it spares, and why it closes nothing."""

from __future__ import annotations

from datetime import date

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import counted
from pipeline.load.matched import Matched
from pipeline.load.source import named, source_in_words
from pipeline.store.store import Store
from schemas import Kind

CLOSED = FaultKind(
    "load.closed",
    "Records the complete file no longer holds",
    "No longer in force, for the file does not hold what its source ({source}) said between {first} and {last}: "
    "{value} ({named}).",
    "Take this load back (undo LOAD), if the file was not complete after all. All of them: history --file {file}.",
    severity="warning",
)
NOT_CLOSED = FaultKind(
    "load.not_closed",
    "Nothing was closed",
    "{value} rejected, so it cannot be taken as complete: no record was closed.",
    "Mend the rejected rows in the file itself and load it again as complete.",
    severity="warning",
)
SPARED = FaultKind(
    "load.spared",
    "Records that came after a complete file was first loaded",
    "Still in force, for it came after the file was first loaded, though the file does not hold it: {value} of its "
    "source ({source}) between {first} and {last} ({named}).",
    "If that should not be there, take the load back that brought it; history lists the loads.",
    severity="note",
)


NO_SOURCE = FaultKind(
    "load.no_source",
    "A complete file of a source that said nothing before",
    "Nothing was closed: {value} of other sources than this file's ({source}).",
    "If the file is a later issue of one of theirs, name it like that, or read both with one profile, and load "
    "it again.",
    severity="note",
)


def no_source(store: Store, kind: Kind, days: tuple[date, date], file: str, profile: str) -> pl.DataFrame:
    """That nothing could be closed, where records of these days are held: none is of the file's source."""
    sql = f"SELECT count(*) FROM history.{kind.name} WHERE ended_by IS NULL AND date BETWEEN ? AND ?"  # noqa: S608
    ((others,),) = store.rows(sql, list(days))
    facts = {"source": source_in_words(file, profile)}
    return (
        NO_SOURCE.at(
            None,
            counted(
                others, f"record between {days[0]} and {days[1]} is", f"records between {days[0]} and {days[1]} are"
            ),
            **facts,
        )
        if others
        else no_faults()
    )


def closed(matched: Matched, days: tuple[date, date], file: str, profile: str) -> pl.DataFrame:
    """What is said of records that a file complete for these days does not hold."""
    facts = {"first": str(days[0]), "last": str(days[1]), "file": file, "source": source_in_words(file, profile)}
    told = [(CLOSED, matched.closed_at), (SPARED, matched.spared)]
    return concat(
        fault.at(None, counted(len(places), "record"), named=named(places), **facts) for fault, places in told if places
    )
