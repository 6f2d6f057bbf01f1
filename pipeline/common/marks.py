"""Marks: short texts that change with what they are made of, so that what would come out the same is not made again."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]


def mark(*parts: Any) -> str:
    """64 characters that change with any part; parts are told apart by their ``repr``."""
    found = sha256()
    for part in parts:
        told = repr(part).encode("utf-8", "surrogatepass")
        found.update(str(len(told)).encode() + b":" + told)
    return found.hexdigest()


def mark_of_part(sha256_of_file: str, part: str) -> str:
    """SHA-256 that a sheet, or another part of a file, is told by: of that of the file and of its name."""
    return sha256(f"{sha256_of_file} {part}".encode()).hexdigest()


@cache
def code_mark(folders: tuple[str, ...], distributions: tuple[str, ...]) -> str:
    """64 characters that change with a file of these folders, or the version of one of these distributions."""
    found = sha256(repr([(name, version(name)) for name in distributions]).encode())
    for path in sorted(path for folder in folders for path in _files(ROOT / folder)):
        found.update(path.relative_to(ROOT).as_posix().encode() + path.read_bytes())
    return found.hexdigest()


def _files(folder: Path) -> Iterable[Path]:
    return (path for path in folder.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
