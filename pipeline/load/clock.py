"""What a load says of the clock it went by: one that was set back, and the day that dates were held against."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.load.call import Call
from pipeline.store.clock import latest, minute
from pipeline.store.decisions import now
from pipeline.validate.rules.places import IN_THE_FUTURE

CLOCK_BACK = FaultKind(
    "load.clock_back",
    "A load at a time before the last one's",
    "It is {value} UTC by this machine, and {before} lies ahead: a clock was set back.",
    "Look at date and time of this machine. Loads count in the order of their numbers, so that nothing is lost by it.",
    severity="note",
)
DAY_TAKEN = FaultKind(
    "load.day_taken",
    "The day that dates were held against",
    "Today was taken to be {value}, by this machine's clock (UTC): later dates have not come yet.",
    "Where that is not today, set the clock right and load the file again.",
    severity="note",
)


def of_times(call: Call, faults: pl.DataFrame) -> pl.DataFrame:
    """Notes of the clock: once a call where it was set back; of each file in which a date has not come yet."""
    told = [no_faults()]
    last, at = latest(call.store), now()
    if last and at < last.at and not call.loaded:
        told.append(CLOCK_BACK.at(None, minute(at), before=last.words))
    if (faults["code"] == IN_THE_FUTURE.code).any():
        told.append(DAY_TAKEN.at(None, call.today.isoformat()))
    return concat(told)
