"""Things put together that have something in common."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

Key = TypeVar("Key")
Thing = TypeVar("Thing")


def grouped(things: Iterable[Thing], key: Callable[[Thing], Key]) -> dict[Key, list[Thing]]:
    """The things by their key; keys in the order first met, things in the order given."""
    found: dict[Key, list[Thing]] = {}
    for thing in things:
        found.setdefault(key(thing), []).append(thing)
    return found
