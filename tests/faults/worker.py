"""A process that tries its share: the library is preloaded, everything imported, and each trial forked off it."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterator
from dataclasses import asdict, replace
from itertools import chain
from pathlib import Path
from typing import Any

from tests.faults.commands import COMMANDS
from tests.faults.going_through import expected_of, sites, trials, try_one
from tests.faults.kills import kills
from tests.faults.preload import Calls
from tests.faults.trial import Place, warm

SMALL = ("load, rejects", "undo")
"""Commands that the suite tries."""
KILLED = {"load": 2, "undo": 2, "report": 1}
"""Commands killed at random moments, and how many fifths of the kills are theirs."""


def main(folder: str, number: str, asked: str) -> None:
    """Write what became of each trial of this worker's share to standard output, a line of JSON each."""
    os.sched_setaffinity(0, {int(number) % (os.cpu_count() or 1)})  # as many threads are started as may run
    warm()
    place, told = Place(Path(folder), Calls()), argparse.Namespace(**json.loads(asked))
    for one in chain(_through(place, int(number), told), _killed(place, int(number), told)):
        sys.stdout.write(json.dumps(one) + "\n")
        sys.stdout.flush()


def _through(place: Place, number: int, asked: argparse.Namespace) -> Iterator[dict[str, Any]]:
    """Trials of the commands asked for, in turn among the workers; of a sample, whole commands in turn."""
    wanted = asked.only or (SMALL if asked.small else [one.name for one in COMMANDS])
    commands, first, step = [one for one in COMMANDS if one.name in wanted], number, asked.workers
    if asked.one_in > 1:  # what a command comes to takes longer than the few trials of it
        commands, first, step = commands[number :: asked.workers], 0, 1
    for command in commands:
        if asked.small:
            command = replace(command, figures=False)  # noqa: PLW2901
        expected, calls = expected_of(place, command)
        assert expected.ran.code in {0, 1}, f"{command.name} fails by itself: {expected.ran}"
        if first == 0:
            yield {"command": command.name, "calls": len(calls), "places": len(sites(calls))}
        for at, way in trials(command, calls, small=asked.small)[first::step][:: asked.one_in]:
            yield asdict(try_one(place, command, expected, calls[at - 1], at, way))


def _killed(place: Place, number: int, asked: argparse.Namespace) -> Iterator[dict[str, Any]]:
    """Kills at random moments, this worker's share of each command's."""
    if asked.small or asked.kills == 0:
        return
    first = asked.seed
    for name, share in KILLED.items():
        command, each = next(one for one in COMMANDS if one.name == name), asked.kills * share // 5 // asked.one_in
        seeds, first = range(first + number, first + each, asked.workers), first + each
        for one in kills(place, command, seeds):
            yield asdict(one)


if __name__ == "__main__":
    main(*sys.argv[1:])
