"""What a workspace's store leaves open: lines to decide about, rejected rows, values in question, and what to type."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import polars as pl

from pipeline.common.file_names import last_part, without_ending
from pipeline.common.words import listed
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import QUESTION_NO_VALUE, Records
from pipeline.store.decisions import KEY_CHANGED, OF_TWO, OTHER_FILE, of_two, unfitting
from pipeline.store.doubles import LIKELY_DOUBLE, command, likely_doubles, told
from pipeline.store.resting import to_take_back, undo_command
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, rejects_name
from schemas import KINDS

REASON = '--why "..." --who "..."'
"""What every decision is asked for, beside the lines."""


@dataclass(frozen=True)
class OpenMatter:
    """One thing that waits for a person.

    Attributes:
        sort: "double", "rejected", "question" or "decision".
        file: file of the line.
        line: the line, None where it is of none.
        text: what is open.
        next: commands, any of which closes it, each with what it means.
    """

    sort: str
    file: str
    line: int | None
    text: str
    next: tuple[tuple[str, str], ...]

    def as_json(self) -> dict[str, Any]:
        """The form of ``status --json``."""
        return {**asdict(self), "next": [{"command": what, "means": means} for what, means in self.next]}


def open_matters(workspace: Workspace) -> tuple[OpenMatter, ...]:
    """Everything that is open, in order of sort, file and line."""
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
        return (
            *dict.fromkeys([*_doubles(store), *_of_two(store)]),
            *_rejected(records, workspace),
            *_questions(records),
            *_unfitting(store),
        )


def _decide(word: str, *places: tuple[str, int]) -> str:
    return f"{command(word, *places)} {REASON}"


def _doubles(store: Store) -> Iterator[OpenMatter]:
    pairs = likely_doubles(store).sort("file", "line", "other_file", "other_line", maintain_order=True)
    for row, message in zip(pairs.iter_rows(named=True), told(pairs)["message"], strict=True):
        later, earlier = (row["file"], row["line"]), (row["other_file"], row["other_line"])
        ways = (
            (_decide("one", earlier, later), "it is one job, and the first named counts"),
            (_decide("two", earlier, later), "both were done"),
        )
        yield OpenMatter("double", *later, message, ways)


def _of_two(store: Store) -> Iterator[OpenMatter]:
    for one in of_two(store):
        later, former = (one.file, one.line), (one.other_file, one.other_line)
        changed = one.code in {OTHER_FILE, KEY_CHANGED}
        ends = (later, former) if changed else (former, later)
        right = "it was corrected, and the later counts" if one.code == KEY_CHANGED else "what counts now is right"
        ways = [(_decide("one", *ends), right)]
        if KINDS[one.kind].repeats or one.code == KEY_CHANGED:
            both = "both hold, each from its day" if KINDS[one.kind].by_day else "both were done"
            ways.append((_decide("two", *ends), both))
        if changed:
            ways.append(_taking_back(store, one.load_id))
        yield OpenMatter("double", *later, one.message, tuple(ways))


def _taking_back(store: Store, load_id: int) -> tuple[str, str]:
    """What to type where the former was right, and what that does."""
    first = to_take_back(store, load_id)[:-1]
    also = (
        f", and first what rests on it (load{'s' if first[1:] else ''} {listed([str(one) for one in reversed(first)])})"
        if first
        else ""
    )
    return undo_command(store, load_id), f"the former was right: takes the whole later load back{also}"


def _rejected(records: Records, workspace: Workspace) -> Iterator[OpenMatter]:
    names = dict(records.rejects.select("file", "name").iter_rows())
    written = {without_ending(name) for name in names.values()}
    for row in records.rejected.iter_rows(named=True):
        file, line = row["file"], row["line"]
        own = last_part(file) if without_ending(file) in written else rejects_name(file)
        mended = (workspace.rejected / names.get(file, own)).as_posix()
        ways = (
            (shlex.join(["swardtally", "load", mended]), "once it is mended there"),
            (_decide("aside", (file, line)), "it came in another way, or is not wanted"),
        )
        yield OpenMatter("rejected", file, line, row["message"], ways)


def _questions(records: Records) -> Iterator[OpenMatter]:
    """Warnings that question a value, once each, where they stand: not where the record of an older load does too."""
    told_alone = {*OF_TWO, LIKELY_DOUBLE.code, *QUESTION_NO_VALUE}
    asked = records.faults.filter(
        (pl.col("severity") == "warning")
        & pl.col("settled_by").is_null()
        & pl.col("line").is_not_null()
        & ~pl.col("code").is_in(told_alone)
    )
    rows = asked.select("file", "line", "code", "message").unique()
    for file, line, _, message in rows.sort("file", "line", "code", "message", maintain_order=True).iter_rows():
        load = shlex.join(["swardtally", "load", file])
        means = "once it is mended there, or confirmed by a correction"
        yield OpenMatter("question", file, line, message, ((load, means),))


def _unfitting(store: Store) -> Iterator[OpenMatter]:
    for number, source, fault in unfitting(store):
        yield OpenMatter(
            "decision",
            f"decisions/{source}",
            None,
            fault["message"].item(),
            ((f"swardtally undo {number}", "takes it back"),),
        )
