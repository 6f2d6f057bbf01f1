"""Ctrl-C at the right moment: a step that must be whole is finished first."""

from __future__ import annotations

import _thread
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

_asked: list[int] = []
_otherwise: list[Callable[[sys.UnraisableHookArgs], object]] = []
AGAIN_S = 0.05
"""Seconds after which Ctrl-C comes again where it met what cannot end by it, as a generator that is taken away."""


def watch() -> None:
    """Note every Ctrl-C before it is passed on: a library it meets may make another error of it."""
    _asked.clear()
    if sys.unraisablehook is not _lost:
        _otherwise.append(sys.unraisablehook)
        sys.unraisablehook = _lost
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _note)


def _note(*_: object) -> None:
    _asked.append(1)
    raise KeyboardInterrupt


def _lost(what: sys.UnraisableHookArgs) -> None:
    """Have a Ctrl-C that Python would print and pass over come once more, a moment later."""
    if issubclass(what.exc_type, KeyboardInterrupt):
        again = threading.Timer(AGAIN_S, _press)
        again.daemon = True
        again.start()
    else:
        _otherwise[-1](what)


def _press() -> None:
    """Press Ctrl-C, as the terminal does: what the process waits for ends."""
    if sys.platform == "win32":
        _thread.interrupt_main()
    else:
        signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGINT)


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
