"""Ctrl-C at the right moment: a step that must be whole is finished first."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_asked: list[int] = []


def watch() -> None:
    """Note every Ctrl-C before it is passed on: a library it meets may make another error of it."""
    _asked.clear()
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _note)


def _note(*_: object) -> None:
    _asked.append(1)
    raise KeyboardInterrupt


def came() -> bool:
    """Whether Ctrl-C came since the command began."""
    return bool(_asked)


class StoppedAfter(KeyboardInterrupt):
    """Ctrl-C came during a step that was finished first."""


@contextmanager
def held() -> Iterator[None]:
    """Ctrl-C waits for the end of the block.

    Raises:
        StoppedAfter: it came meanwhile; the block is done.
    """
    before = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or before in {None, signal.SIG_IGN}:
        yield
        return
    asked: list[int] = []
    signal.signal(signal.SIGINT, lambda *_: asked.append(1))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if asked:
        raise StoppedAfter
