"""What must hold after a call has failed, and what did not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.store.store import BROUGHT_UP
from tests.faults.preload import Way
from tests.faults.states import State, apart
from tests.faults.trial import CRASH, HUNG, Ran

DONE, FAULTS, REFUSED, CANNOT = 0, 1, 2, 3


@dataclass(frozen=True)
class Expected:
    """What a command comes to where nothing fails.

    Attributes:
        before: the workspace as it starts.
        after: the workspace once the command was run.
        twice: the workspace once it was run again.
        ran: what the command said.
        again: what it said the second time.
        between: further states of the store that are whole.
        parted: tables that may be otherwise after it was killed and run again.
    """

    before: State
    after: State
    twice: State
    ran: Ran
    again: Ran
    between: tuple[State, ...] = ()
    parted: tuple[str, ...] = ()

    def whole(self) -> tuple[State, ...]:
        """States of the store that a failure may leave."""
        return (self.before, self.after, *self.between)


def broken(expected: Expected, way: Way, ran: Ran, now: State) -> Iterator[str]:
    """What does not hold after a command one of whose calls failed: each in a sentence."""
    if now.fault:
        yield f"the store does not open: {now.fault}"
        return
    if now.records not in [one.records for one in expected.whole()]:
        yield f"the records are neither as before nor as after: {_nearest(expected, now)}"
    if now.figures not in [one.figures for one in expected.whole()] and not _figures_wait(expected, now):
        yield f"the figures are neither as before nor as after: {apart(now.figures, expected.before.figures)}"
    for name in {*now.files, *expected.before.files}:
        if now.files.get(name) != expected.before.files.get(name) and now.files.get(name) not in {
            expected.after.files.get(name),
            *(o.files.get(name) for o in expected.between),
        }:
            yield f"{name} is neither as before nor as after"
    if way == Way.KILL and ran.code == -9:
        return
    yield from _untrue(expected, ran, now)


def _untrue(expected: Expected, ran: Ran, now: State) -> Iterator[str]:
    """What an exit code says that is not so, and a message that says too little."""
    if ran.code == HUNG:
        yield "the command hung"
    if CRASH in ran.err or ran.code < 0:
        yield f"it crashed ({ran.code}): {ran.err.strip().splitlines()[-1:]}"
        return
    changed = now.records != expected.before.records or now.files != expected.before.files
    told = now.records in [one.records for one in expected.between] and BROUGHT_UP.strip() in ran.err
    if ran.code == CANNOT and changed and expected.ran.code != CANNOT and not told:
        what = apart(now.records, expected.before.records) + apart(now.files, expected.before.files)
        yield f"exit code 3, though {', '.join(what)} changed"
    if ran.code == expected.ran.code and not _as_after(expected, now) and ran.err == expected.ran.err:
        what = apart(now.records, expected.after.records) + apart(now.files, expected.after.files)
        yield f"exit code {ran.code} and not a word, though {', '.join(what) or 'the figures'} are not as after it"
    if ran.code not in {expected.ran.code, FAULTS, CANNOT}:
        yield f"exit code {ran.code}"
    if ran.code == CANNOT != expected.ran.code and len(ran.err.strip().splitlines()) < 2:
        yield f"the message says what failed or what to do, not both: {ran.err!r}"
    if ran.code == FAULTS != expected.ran.code and not (ran.err.strip() or "could not" in ran.out):
        yield "exit code 1 without a word"


def _as_after(expected: Expected, now: State) -> bool:
    after = expected.after
    return (now.records, now.figures, now.files) == (after.records, after.figures, after.files)


def _figures_wait(expected: Expected, now: State) -> bool:
    """Whether there are none, of records that are as after it: the next command that makes figures makes them."""
    logs = [
        {name: mark for name, mark in one.figures.items() if not name.startswith("derived.")}
        for one in (expected.before, expected.after)
    ]
    return now.records == expected.after.records and now.figures in logs


def not_cleared(expected: Expected, now: State, ran: Ran, then: State) -> Iterator[str]:
    """What does not hold after the command was run once more, without a fault."""
    if then.fault:
        yield f"once more: the store does not open: {then.fault}"
    if ran.code not in {expected.ran.code, expected.again.code} or CRASH in ran.err:
        yield f"once more: exit code {ran.code}: {ran.err.strip()[-300:]}"
    ends = [expected.after, expected.twice]
    otherwise = {*apart(then.records, expected.after.records)} - {*expected.parted}
    if then.records not in [one.records for one in ends] and otherwise:
        yield f"once more: the records are not as after it: {apart(then.records, expected.after.records)}"
    if expected.again.code in {
        REFUSED,
        CANNOT,
    }:  # what is done is refused; figures that wait stay hidden, and a load makes them
        ends.append(now)
    if then.figures not in [one.figures for one in ends]:
        yield f"once more: the figures are not as after it: {apart(then.figures, expected.after.figures)}"
    if then.files not in [one.files for one in (expected.after, expected.twice)]:
        yield f"once more: files are not as after it: {apart(then.files, expected.after.files)}"
    if then.left and expected.again.code not in {REFUSED, CANNOT}:  # else a load takes it away
        yield f"once more: {', '.join(then.left)} is left"


def _nearest(expected: Expected, now: State) -> list[str]:
    return min((apart(now.records, one.records) for one in expected.whole()), key=len)
