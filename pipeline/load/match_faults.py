"""What is said of records that take another's place, go back to a former value, or were changed since."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.file_names import last_part
from pipeline.common.words import counted, listed
from pipeline.load.matched import Matched
from pipeline.load.source import OF_A_WHOLE, issue, same_source
from schemas import Kind

REPLACES = FaultKind(
    "load.replaces",
    "Takes the place of an earlier record",
    "Takes the place of what {value} said ({changed}); the former values are kept.",
    "If it is a second job of the same kind on that day, give each its own reference and load both.",
    severity="note",
)
OTHER_FILE = FaultKind(
    "record.other_file",
    "Takes the place of what another file said",
    "{value} said something else of the same record, {about} ({changed}); what {file} says took its place, the former "
    "values are kept.",
    "If what {file} says is right: decide one; if the former was right, take this load back (undo LOAD); {both}. "
    "status has the commands. What was changed: history --file {file}.",
    severity="warning",
)

CHANGED = FaultKind(
    "load.changed",
    "Value that a later issue changed",
    "{about}: {changed}. What {value} said is kept as its former value.",
    "Nothing need be done if the later issue is right; else take this load back (undo LOAD).",
    severity="note",
)
CHANGED_MORE = FaultKind(
    "load.changed_more",
    "More values that a later issue changed",
    "So were {value} more; {all} in all took the place of what an earlier issue said.",
    "All of them: history --file {file}.",
    severity="note",
)
TAKEN_BACK = FaultKind(
    "load.withdrawn",
    "Results taken back",
    "Left blank here, and so no longer in force: {value} ({named}).",
    "Nothing need be done if they were withdrawn; else take this load back (undo LOAD). All of them: history --file "
    "{file}.",
    severity="note",
)
OTHER_DAYS = FaultKind(
    "load.other_days",
    "Takes the place of a record of other days",
    "{value} was of {former}, this is of {days}: both begin on one day, and this took its place.",
    "If they are one, nothing need be done. If they are two, take this load back (undo LOAD), give each a number of "
    "its own ({number}), and load both.",
    severity="warning",
)
MOST_NAMED = 10
"""Changed values of one file that are named one by one; how many more there are is said."""

SAID_TWICE = FaultKind(
    "record.said_twice",
    "Two files say the very same",
    "{value} say the very same, and it counts once.",
    "If both are true (two crews did half each): decide two; if it is one job that two files hold: decide one. "
    "status has the commands.",
    severity="warning",
)
ONE_CALL = FaultKind(
    "load.one_call",
    "Two files of one call say different things",
    "{value} of {other}, loaded just before, took other values from this file; files of one call are read by kind and "
    "name, and the last one stands.",
    "If {other} is the newer: take this load back (undo LOAD), and this file out of the folder.",
    severity="warning",
)
SUPERSEDED = FaultKind(
    "load.superseded",
    "Says what a later file changed since",
    "This file was loaded before. Since then {later} changed {value} of it; the later values stand.",
    "To go back to what this file says, take the later load back (undo {load}). What it changed: history --file "
    "{file}.",
    severity="note",
)
SUPERSEDED_COPY = FaultKind(
    "load.superseded_copy",
    "Another file's very bytes, which a later file changed since",
    "These very bytes were loaded before, as {former}. Since then {later} changed {value} of them; the later values "
    "stand.",
    "Nothing need be done about a copy. If it is a new issue that goes back to the former values, take the later load "
    "back (undo {load}). What it changed: history --file {file}.",
    severity="warning",
)
GOES_BACK = FaultKind(
    "load.goes_back",
    "Goes back to a former value",
    "Says again what {value} said before {other} changed it or took it back; this file came last, so it stands.",
    "If {other} was right, take this load back (undo LOAD). What was changed: history --file {file}.",
    severity="warning",
)


def replaces(
    kind: Kind, lines: pl.DataFrame, file: str, profile: str, just_before: frozenset[str] = frozenset()
) -> pl.DataFrame:
    """What is said of records that take another's place.

    A warning where the former is of another source; else, in a kind that repeats, a note: it may be a second one. One
    warning for all where the former came in the same call: its name alone says which of two issues is read last.

    ``lines`` are ``superseded_lines`` of :class:`Matched`, ``just_before`` the files that the same call loaded before.
    """
    where = pl.concat_str(pl.lit("line "), pl.col("old_line"), pl.lit(" of "), pl.col("file")).alias("where")
    faults = []
    for (old_file, old_profile), part in lines.group_by("file", "profile", maintain_order=True):
        at = (part["line"], part.select(where).to_series(), "")
        if not same_source(file, profile, str(old_file), str(old_profile)):
            about, changed = part["about"], part["changed"]
            faults.append(OTHER_FILE.frame(*at, file=file, both=_both(kind), about=about, changed=changed))
            continue
        if kind.repeats:
            faults.append(REPLACES.frame(*at, changed=part["changed"]))
        faults.append(_of_other_days(kind, part.with_columns(where)))
        if str(old_file) in just_before:
            faults.append(ONE_CALL.at(None, counted(part.height, "record"), other=str(old_file)))
    return concat(faults)


def changed(kind: Kind, lines: pl.DataFrame, said: pl.DataFrame, file: str) -> pl.DataFrame:
    """Notes of the first values that another issue of the source changed, and how many there are in all.

    Of kinds that do not repeat and are no register: jobs are told one by one, registers by what hangs on them. Lines
    that have a warning of their own, among what was ``said``, are not told twice.
    """
    if kind.repeats or kind.register:
        return no_faults()
    told = said.filter(pl.col("code").is_in([OTHER_FILE.code, OTHER_DAYS.code]))["line"]
    lines = lines.filter(~pl.col("line").is_in(told.implode()))
    where = pl.format("line {} of {}", "old_line", "file").alias("where")
    first = lines.head(MOST_NAMED).with_columns(where)
    more = lines.height - first.height
    return concat(
        [
            CHANGED.frame(first["line"], first["where"], "", about=first["about"], changed=first["changed"]),
            CHANGED_MORE.at(None, f"{more:,}", all=f"{lines.height:,}", file=file) if more else no_faults(),
        ]
    )


def taken_back(matched: Matched, file: str) -> pl.DataFrame:
    """A note of the results that blank cells take back: the first ones by what they were, and how many there are."""
    places = matched.withdrawn_at
    if not places:
        return no_faults()
    told = [f"{about}: {value}, line {line} of {by}" for by, line, about, value in places[:MOST_NAMED]]
    more = f" and {len(places) - MOST_NAMED:,} more" if len(places) > MOST_NAMED else ""
    return TAKEN_BACK.at(None, counted(len(places), "result"), named="; ".join(told) + more, file=file)


def _of_other_days(kind: Kind, lines: pl.DataFrame) -> pl.DataFrame:
    """Warnings of records whose place one of other days took: a month and its first day share a key."""
    lines = lines.filter(pl.col("days").is_not_null())
    number = "sample" if "sample" in kind.by_name else "reference"
    former, days = lines["former_days"], lines["days"]
    return OTHER_DAYS.frame(lines["line"], lines["where"], "", number=number, former=former, days=days)


def _both(kind: Kind) -> str:
    """What to do where both lines are true: two records of one key are in force only of a kind that repeats."""
    if kind.repeats:
        return "if both are true (a second job on that day): decide two"
    if kind.by_day:
        return "if it changed on a day, take this load back, give the new row its day in valid_from, and load it again"
    return "both cannot count, for they are one record"


def said_twice(lines: pl.DataFrame, file: str) -> pl.DataFrame:
    """A warning for each line whose very record a file of another name holds: it is counted once, and may be two.

    Files whose names differ in dates and numbers alone are issues of one export, which repeat each other.

    ``lines`` are those of `held_by_others` (match.py), of a kind that repeats.
    """
    where = pl.format("line {} of {} and line {} of {}", "line", pl.lit(file), "old_line", "file").alias("where")
    return concat(
        SAID_TWICE.frame(part["line"], part.select(where).to_series())
        for (other,), part in lines.group_by("file", maintain_order=True)
        if issue(file) - OF_A_WHOLE != issue(str(other)) - OF_A_WHOLE
    )


def goes_back(lines: pl.DataFrame, said: pl.DataFrame, file: str) -> pl.DataFrame:
    """A warning for each of the ``back_lines`` of a file: it says again what another had changed or taken back.

    A line that has a warning of another file already, among what was ``said``, is not warned of twice.
    """
    told = said.filter(pl.col("code") == OTHER_FILE.code)["line"]
    lines = lines.filter(~pl.col("line").is_in(told.implode()))
    return concat(
        GOES_BACK.frame(part["line"], part["said"], "", other=other, file=file)
        for (other,), part in lines.group_by("ended", maintain_order=True)
    )


def superseded(matched: Matched, file: str, former: Sequence[str]) -> pl.DataFrame:
    """One sentence on how many rows of a file loaded before a later one has changed, which, and the way back.

    A note; a warning where the bytes came under another name: a new issue may say the very same as an old one.

    ``former`` are the names that the file's bytes were loaded by.
    """
    count = matched.former + matched.blank_former
    if not count:
        return no_faults()
    later = listed([f"{name} (load {load_id})" for load_id, name in matched.later])
    load_id, changed_by = matched.later[-1]
    kind = SUPERSEDED if last_part(file) in map(last_part, former) else SUPERSEDED_COPY
    return kind.at(None, counted(count, "row"), later=later, load=load_id, file=changed_by, former=former[-1])
