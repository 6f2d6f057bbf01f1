"""Bounds of time and memory within which a document is made: a page of somebody's own may ask for all there is."""

from __future__ import annotations

import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

MOST_MB = 1_500
"""Memory that one document may add; the longest of the shipped ones takes less than half of it."""
FILLING_MB = 400
"""Memory that filling a template of a house's own may add; its text has 20 million characters at most."""
_EVERY_S, _AGAIN_S = 0.2, 2.0
_MEMORY = Path("/proc/self/statm")
"""Pages of memory of this process, mapped and held, where the system tells them (Linux)."""


class TooMuchMemory(Exception):
    """More memory than is allowed; no ``MemoryError``, which others take for a fault of the machine."""


@contextmanager
def bounded(seconds: float, megabytes: int | None = None) -> Iterator[None]:
    """A stretch that ends with a fault after so many seconds, or once it holds so much more memory.

    Where the system has interval timers; memory, where it also tells of it. Signals reach the main thread alone.

    Args:
        seconds: time limit.
        megabytes: memory that may be added; None for no limit.

    Raises:
        TimeoutError: the time is up.
        TooMuchMemory: the memory is.
    """
    if not hasattr(signal, "setitimer"):
        yield
        return
    until, most = time.monotonic() + seconds, None if megabytes is None else _held_mb() + megabytes

    def look(*_: object) -> None:
        late, full = time.monotonic() >= until, most is not None and _held_mb() > most
        if late or full:  # then a while is left to say so; who swallows it is told again
            signal.setitimer(signal.ITIMER_REAL, _AGAIN_S, _AGAIN_S)
        if late:
            raise TimeoutError(f"not done after {seconds:g} s")
        if full:
            raise TooMuchMemory(f"it takes more than {megabytes:,} MB of memory")

    before = signal.signal(signal.SIGALRM, look)
    signal.setitimer(signal.ITIMER_REAL, min(seconds, _EVERY_S), _EVERY_S)
    try:
        with refused_beyond(None if megabytes is None else 2 * megabytes):
            yield
    except MemoryError:
        raise TooMuchMemory(f"it takes more than {megabytes:,} MB of memory") from None
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


@contextmanager
def refused_beyond(megabytes: int | None) -> Iterator[None]:
    """A stretch in which the system refuses more memory than this (``MemoryError``), where it can."""
    mapped = None if megabytes is None else _mapped_mb()
    if megabytes is None or mapped is None:
        yield
        return
    import resource  # not every system has it

    with _limited(resource.RLIMIT_AS, int((mapped + megabytes) * 1_000_000)):
        yield


@contextmanager
def ended_beyond(seconds: float) -> Iterator[None]:
    """A stretch whose process the system ends once it has worked so long in it, where it can.

    A signal's handler waits until a call into a library returns, and one that sets a text of a hundred million
    characters does not.
    """
    try:
        import resource  # not every system has it
    except ImportError:
        yield
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    with _limited(resource.RLIMIT_CPU, int(used.ru_utime + used.ru_stime + seconds) + 1):
        yield


@contextmanager
def _limited(what: int, wanted: int) -> Iterator[None]:
    """A stretch under a limit of the system's, or the one that holds already where that is narrower."""
    import resource

    before = resource.getrlimit(what)
    if before[0] != resource.RLIM_INFINITY:
        wanted = min(wanted, before[0])
    resource.setrlimit(what, (wanted, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(what, before)


def _held_mb() -> float:
    """Memory that this process holds; 0 where the system does not tell."""
    return _pages(1) or 0.0


def _mapped_mb() -> float | None:
    """Memory that this process has reserved; None where the system does not tell."""
    return _pages(0)


def _pages(place: int) -> float | None:
    try:
        told = _MEMORY.read_bytes().split()
    except OSError:
        return None
    import resource

    return int(told[place]) * resource.getpagesize() / 1_000_000
