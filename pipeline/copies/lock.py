"""A file that one process holds, so that two do not write into one place; let go when the process ends, however."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from pipeline.common.refusal import CannotDo


@contextmanager
def held(path: Path, message: str) -> Iterator[None]:
    """Hold a file, which is made where it is not there and left as it is.

    Raises:
        CannotDo: another process holds it.
        OSError: it cannot be held, as on a drive without locks.
    """
    with path.open("ab") as opened:
        try:
            _hold(opened)
        except (BlockingIOError, PermissionError):
            raise CannotDo(message, "Wait until it has finished, and try again. Nothing was changed.") from None
        yield


if sys.platform == "win32":

    def _hold(opened: BinaryIO) -> None:
        import msvcrt

        opened.seek(0)
        msvcrt.locking(opened.fileno(), msvcrt.LK_NBLCK, 1)

else:

    def _hold(opened: BinaryIO) -> None:
        import fcntl

        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
