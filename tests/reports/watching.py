"""What Python itself tells of files opened, addresses asked and programs started (audit events, PEP 578)."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ASKED = (
    "socket.connect",
    "socket.getaddrinfo",
    "socket.gethostbyname",
    "socket.sendto",
    "urllib.Request",
    "http.client.connect",
)
STARTED = ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "ctypes.dlopen")
ROOT = Path(__file__).parents[2]


class Seen:
    """What was met in a stretch: files opened, addresses asked for, programs started."""

    def __init__(self) -> None:
        self.opened: set[Path] = set()
        self.asked: list[str] = []
        self.started: list[str] = []

    def outside(self, *folders: Path) -> set[Path]:
        """Files opened that lie neither in these folders nor with Python, its libraries and this package."""
        own = (ROOT, Path(sys.prefix), Path(sys.base_prefix), Path("/proc/self"), *folders)
        known = {own[3], *(one.resolve() for one in own)}
        return {path for path in self.opened if not any(path.is_relative_to(one) for one in known)}


_STACK: list[Seen] = []


def _hook(event: str, details: tuple[Any, ...]) -> None:
    if not _STACK:
        return
    seen = _STACK[-1]
    if event == "open" and isinstance(details[0], str | bytes):
        path = Path(details[0].decode() if isinstance(details[0], bytes) else details[0])
        seen.opened.add(path if path.is_relative_to("/proc/self") else path.resolve())
    elif event in ASKED:
        seen.asked.append(f"{event} {details[1:]}")
    elif event in STARTED:
        seen.started.append(f"{event} {details[:1]}")


@contextmanager
def watched() -> Iterator[Seen]:
    """A stretch that is watched; a hook cannot be taken away again, so it looks whether anybody watches."""
    if not getattr(sys, "_swardtally_watched", False):
        sys.addaudithook(_hook)
        sys._swardtally_watched = True  # type: ignore[attr-defined]
    seen = Seen()
    _STACK.append(seen)
    try:
        yield seen
    finally:
        _STACK.pop()
