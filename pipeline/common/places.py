"""Where a path leads once its links are followed."""

from __future__ import annotations

import errno
import os
from pathlib import Path


def resolved(path: Path) -> Path:
    """The whole path, without links.

    Raises:
        OSError: links lead round in a circle (``Path.resolve`` calls that no fault of the system's before Python 3.13).
    """
    try:
        return path.resolve()
    except RuntimeError:
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(path)) from None
