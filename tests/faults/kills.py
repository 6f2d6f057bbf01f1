"""Commands killed at moments drawn at random: between any two instructions, not at calls on files alone."""

from __future__ import annotations

import random
import signal
from collections.abc import Iterator
from dataclasses import dataclass

from tests.faults.commands import Command
from tests.faults.going_through import expected_of
from tests.faults.holds import broken, not_cleared
from tests.faults.preload import Way
from tests.faults.trial import Place, now, ran_in_child


@dataclass(frozen=True)
class Killed:
    """One command that was to be killed.

    Attributes:
        command: the command.
        seed: what its moment was drawn by.
        after: seconds after it began.
        killed: whether it was still at work.
        broken: what did not hold; empty where all did.
    """

    command: str
    seed: int
    after: float
    killed: bool
    broken: tuple[str, ...]


def kills(place: Place, command: Command, seeds: range) -> Iterator[Killed]:
    """The command killed once for each seed, at a moment of the time that it takes."""
    expected, _ = expected_of(place, command)
    place.fresh(command.start)
    begun = now()
    place.run(command.line)
    takes = now() - begun
    for seed in seeds:
        after = random.Random(seed).uniform(0, takes)  # noqa: S311 (no secret is drawn)
        place.fresh(command.start)
        ran = ran_in_child(command.line, place.case, place.folder / "said", None, after)
        found = list(broken(expected, Way.KILL, ran, state := place.state(command.makes)))
        once_more = place.run(command.line)
        found += not_cleared(expected, state, once_more, place.state(command.makes))
        yield Killed(command.name, seed, after, ran.code == -signal.SIGKILL, tuple(found))
