"""Going through a command: each of its calls failing in each way, or each place in the code that makes calls."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tests.faults.commands import Command
from tests.faults.holds import Expected, broken, not_cleared
from tests.faults.preload import WRITES, Call, Way
from tests.faults.states import State
from tests.faults.trial import Place, Ran

WAYS = (Way.ERROR, Way.FULL, Way.SHORT, Way.KILL)
DRAWN = re.compile(r"(?<=/tmp/).*|\d+")
"""What of a path is drawn anew each time: names of temporary files, numbers of processes."""


@dataclass(frozen=True)
class Tried:
    """One call of a command that was made to fail.

    Attributes:
        command: the command.
        at: number of the call.
        call: its name and path, as they were when nothing failed.
        way: how it failed.
        met: whether it was made at all.
        code: exit code of the command.
        broken: what did not hold; empty where all did.
    """

    command: str
    at: int
    call: str
    way: str
    met: bool
    code: int
    broken: tuple[str, ...]


def expected_of(place: Place, command: Command) -> tuple[Expected, list[Call]]:
    """What a command comes to where nothing fails, and its calls."""
    figures = command.figures
    place.fresh(command.start)
    before = place.state(command.makes)
    ran = place.run(command.line, counted=True, figures=figures)
    calls = place.calls.met()
    after = place.state(command.makes)
    again = place.run(command.line, figures=figures)
    twice = place.state(command.makes)
    between = []
    for line in command.between:
        place.fresh(command.start)
        place.run(line, figures=figures)
        between.append(place.state(command.makes))
    return Expected(before, after, twice, ran, again, tuple(between), command.parted), calls


def sites(calls: Sequence[Call]) -> list[int]:
    """Numbers of the calls that are the first or the last of their place in the code.

    A place is told by the name of the call, the folder and ending of its file, and where it was called from.
    """
    seen: dict[tuple[str, str, int], list[int]] = {}
    for number, call in enumerate(calls, 1):
        seen.setdefault((call.name, _sort(call), call.site), []).append(number)
    return sorted({at for numbers in seen.values() for at in (numbers[0], numbers[-1])})


def _sort(call: Call) -> str:
    """What sort of file a call is about: its folder and ending."""
    folder, _, name = DRAWN.sub("N", call.path).rpartition("/")
    return f"{folder}/{'.'.join(name.strip('.').split('.')[1:])}"


def _first_of_each(calls: Sequence[Call]) -> list[int]:
    """Numbers of the calls in the workspace that are the first of their name and sort of file."""
    seen: dict[tuple[str, str], int] = {}
    for number, call in enumerate(calls, 1):
        if not call.path.startswith("/tmp/"):  # noqa: S108 (of the case)
            seen.setdefault((call.name, _sort(call)), number)
    return list(seen.values())


def trials(command: Command, calls: Sequence[Call], *, small: bool = False) -> list[tuple[int, Way]]:
    """Calls by number, and the ways in which each is to fail.

    Of a command that is gone through wholly every call in every way; of the others each place in the code once, by
    turns in another way. In the small version so does the first call of each sort; ``load`` is killed at it.
    """
    if small:
        killed = command.line[0] == "load"
        turns = [(at, Way.KILL if killed else WAYS[turn % 3]) for turn, at in enumerate(_first_of_each(calls))]
    elif command.every:
        turns = [(at, way) for at in range(1, len(calls) + 1) for way in WAYS]
    else:
        turns = [(at, WAYS[turn % 4]) for turn, at in enumerate(sites(calls))]
    return [
        (at, _possible(calls[at - 1], way)) for at, way in dict.fromkeys(turns) if _fits(calls[at - 1], way, command)
    ]


def _fits(call: Call, way: Way, command: Command) -> bool:
    return way != Way.SHORT or call.name in WRITES or not command.every


def _possible(call: Call, way: Way) -> Way:
    return way if way != Way.SHORT or call.name in WRITES else Way.FULL


def try_one(place: Place, command: Command, expected: Expected, call: Call, at: int, way: Way) -> Tried:
    """One trial, and what did not hold after it."""
    place.fresh(command.start)
    ran = place.run(command.line, at, way, figures=command.figures)
    met = place.calls.hit
    now = place.state(command.makes)
    found = list(broken(expected, way, ran, now))
    if way == Way.KILL or found or not _clear(place, expected, now):
        once_more = place.run(command.line, figures=command.figures)
        found += not_cleared(expected, now, once_more, place.state(command.makes))
    return Tried(command.name, at, f"{call.name} {DRAWN.sub('N', call.path)}", way.name, met, ran.code, tuple(found))


def _clear(place: Place, expected: Expected, now: State) -> bool:
    """Whether the workspace is just as it was before or after, so that running the command again shows nothing new."""
    if now.left or now.fault or any(place.case.glob("*/store.duckdb?*")):
        return False
    return any(
        (now.records, now.figures, now.files) == (one.records, one.figures, one.files)
        for one in (expected.before, expected.after)
    )


def through(place: Place, command: Command, share: tuple[int, int] = (0, 1), *, small: bool = False) -> Iterator[Tried]:
    """Every trial of a command, or a share of them: of (1, 3) each third, from the second on."""
    expected, calls = expected_of(place, command)
    for at, way in trials(command, calls, small=small)[share[0] :: share[1]]:
        yield try_one(place, command, expected, calls[at - 1], at, way)


__all__ = ["Ran", "Tried", "expected_of", "sites", "through", "trials", "try_one"]
