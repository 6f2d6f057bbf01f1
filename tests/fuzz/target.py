"""What is fuzzed: a function that takes bytes and raises where something promised does not hold."""

from __future__ import annotations

import atexit
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

SEEDS = Path(__file__).with_name("seeds")
"""A file a target, a JSON text a line; bytes that are no UTF-8 stand in it as lone surrogates (PEP 383)."""
MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of our own is made in it


@dataclass(frozen=True)
class Target:
    """One thing that is fuzzed.

    Attributes:
        name: as the sum and the file of its seeds have it.
        about: what is promised, for the sum.
        run: takes an input; returns where all that is promised holds, raises where it does not.
        words: what inputs are made of beside letters.
        seconds: how long one input may take.
        share: how much of the time it gets, beside the others.
        most: longest input, bytes.
    """

    name: str
    about: str
    run: Callable[[bytes], None]
    words: tuple[str, ...] = ()
    seconds: float = 2.0
    share: float = 1.0
    most: int = 400

    def seeds(self) -> list[bytes]:
        """The inputs that are kept in the repository."""
        path = SEEDS / f"{self.name}.txt"
        return [bytes_of(line) for line in path.read_text("utf-8").splitlines()] if path.exists() else []


def line_of(data: bytes) -> str:
    """An input as a line of a file of seeds."""
    return json.dumps(data.decode("utf-8", "surrogateescape"))


def bytes_of(line: str) -> bytes:
    """An input of a line of a file of seeds."""
    text: str = json.loads(line)
    return text.encode("utf-8", "surrogateescape")


def text_of(data: bytes) -> str:
    """The text of an input, as a file that is read has it: what is no UTF-8 left out."""
    return data.decode("utf-8", "ignore")


@cache
def folder() -> Path:
    """A folder for the files of this process, in memory where there is such a place."""
    place = MEMORY if MEMORY.is_dir() and os.access(MEMORY, os.W_OK) else None
    made = tempfile.mkdtemp(prefix="swardtally-fuzz-", dir=place)
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    return Path(made)


@contextmanager
def file_of(data: bytes, name: str) -> Iterator[Path]:
    """A file that holds an input."""
    path = folder() / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    try:
        yield path
    finally:
        path.unlink()
