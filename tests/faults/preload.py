"""The small library that stands before the C library's calls on files (``calls.c``), and what it is told.

It is compiled where it is needed; without a C compiler there is none, and nothing here can be run.
"""

from __future__ import annotations

import ctypes
import mmap
import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path

MOST = 20_000
"""Calls of one command that are written down; as in ``calls.c``."""
SHARED = "FAULTS_SHARED"
"""Environment variable that names the file the library and the harness share."""


class Way(IntEnum):
    """How a call fails, as ``calls.c`` numbers them."""

    NONE = 0
    ERROR = 1
    FULL = 2
    SHORT = 3
    KILL = 4


SAID = {
    Way.ERROR: "error (EIO)",
    Way.FULL: "disk full from then on (ENOSPC)",
    Way.SHORT: "short write, then disk full",
    Way.KILL: "killed at the call",
}
WRITES = {"write", "pwrite", "pwrite64", "writev", "sendfile", "sendfile64", "copy_file_range"}
"""Calls that can be short."""


class _Met(ctypes.Structure):
    _fields_ = (("call", ctypes.c_char * 16), ("site", ctypes.c_uint64), ("path", ctypes.c_char * 232))


class _Shared(ctypes.Structure):
    _fields_ = (
        ("armed", ctypes.c_int32),
        ("count", ctypes.c_int32),
        ("at", ctypes.c_int32),
        ("way", ctypes.c_int32),
        ("hit", ctypes.c_int32),
        ("full", ctypes.c_int32),
        ("folder", ctypes.c_char * 1000),
        ("met", _Met * MOST),
    )


@dataclass(frozen=True)
class Call:
    """One call that a command made: its name, the path below the watched folder, and where in the code it came from."""

    name: str
    path: str
    site: int


class Calls:
    """What the preloaded library of this process and its children is told, and what it has met."""

    def __init__(self) -> None:
        with Path(os.environ[SHARED]).open("r+b") as file:
            self._map = mmap.mmap(file.fileno(), ctypes.sizeof(_Shared))
        self._told = _Shared.from_buffer(self._map)

    def set(self, folder: Path, at: int = 0, way: Way = Way.NONE) -> None:
        """Have the call of this number below the folder fail that way; 0 for none. ``arm`` begins the count."""
        told = self._told
        told.armed = told.count = told.hit = told.full = 0
        told.at, told.way, told.folder = at, way, os.fsencode(folder)

    def arm(self) -> None:
        """Begin to count."""
        self._told.armed = 1

    def disarm(self) -> None:
        """Let every call be."""
        self._told.armed = 0

    @property
    def hit(self) -> bool:
        """Whether the call that was to fail was made."""
        return bool(self._told.hit)

    def met(self) -> list[Call]:
        """The calls that were made, in order, where none was to fail."""
        number = self._told.count
        assert number <= MOST, f"{number} calls are more than are written down"
        return [Call(one.call.decode(), one.path.decode(errors="replace"), one.site) for one in self._told.met[:number]]


def compiler() -> str | None:
    """The C compiler of this machine; None where there is none, or no system that can preload."""
    return (shutil.which("cc") or shutil.which("gcc")) if os.uname().sysname == "Linux" else None


@contextmanager
def environment(folder: Path, number: int = 0) -> Iterator[dict[str, str]]:
    """The environment of a process whose calls are to fail, with a library compiled into this folder."""
    library, shared = folder / "calls.so", folder / f"shared-{number}"
    if not library.exists():
        made = folder / f"calls-{number}.so"
        source = Path(__file__).with_name("calls.c")
        subprocess.run([str(compiler()), "-shared", "-fPIC", "-O2", "-o", made, source, "-ldl"], check=True)
        made.replace(library)
    with shared.open("wb") as file:
        file.truncate(ctypes.sizeof(_Shared))
    yield {
        **os.environ,
        "LD_PRELOAD": str(library),
        SHARED: str(shared),
        **{f"{name}_THREADS": "1" for name in ("OPENBLAS_NUM", "POLARS_MAX")},
    }
