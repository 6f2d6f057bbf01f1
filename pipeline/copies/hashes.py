"""Files with their hashes: read in pieces, written under a name beside, and settled on the disk."""

from __future__ import annotations

import os
from contextlib import suppress
from hashlib import file_digest, sha256
from pathlib import Path

PIECE = 1 << 20
"""Bytes read at once."""


def hash_of(path: Path) -> str:
    """SHA-256 of a file's bytes."""
    with path.open("rb") as source:
        return file_digest(source, "sha256").hexdigest()


def copy_hashed(source: Path, target: Path) -> str:
    """Copy a file to a place where none is, settled on the disk; SHA-256 of the bytes that were copied.

    Raises:
        FileExistsError: a file is there, or the file system takes its name for that of one that is.
    """
    found = sha256()
    with source.open("rb") as read, target.open("xb") as written:
        while piece := read.read(PIECE):
            found.update(piece)
            written.write(piece)
        written.flush()
        os.fsync(written.fileno())
    return found.hexdigest()


def settle(path: Path) -> None:
    """Have a file, or the names in a folder, stand on the disk and not only in memory; Windows does that of folders."""
    if path.is_dir():
        with suppress(OSError):
            _sync(path, os.O_RDONLY)
    else:
        _sync(path, os.O_RDWR)


def _sync(path: Path, flags: int) -> None:
    opened = os.open(path, flags)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
