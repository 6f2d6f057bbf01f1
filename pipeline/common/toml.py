"""TOML that a person wrote: what cannot be read is told with its line."""

from __future__ import annotations

import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from pipeline.common.refusal import CannotDo

DEEP = 50
"""Most lists and tables in each other, and parts of a dotted name: nothing that is read here has ten."""
_LONG_NUMBER = re.compile(rb"(?<![\w.])(?:[0-9_]{19,}|0[xob][0-9a-fA-F_]{16,})(?![\w.])")
"""A whole number that may have more than 64 bits."""
MOST_BYTES = 5_000_000
"""Of one file that a person writes: some ten thousand entries (common practice, no source)."""
_TWICE = ("Cannot overwrite a value", "Cannot mutate immutable")


def toml_files(folder: Path) -> list[Path]:
    """The TOML files of one of a workspace's folders, in order of their names.

    Raises:
        CannotDo: one is a link that leads out of the workspace, or the folder is.
    """
    return [inside(path) for path in sorted(folder.glob("*.toml"))]


def inside(path: Path) -> Path:
    """A file of one of a workspace's folders, as it is given.

    Raises:
        CannotDo: it is a link that leads out of the workspace, or its folder is: nothing beside it is read.
    """
    if not path.resolve().is_relative_to(path.parent.parent.resolve()):
        raise CannotDo(f"{path.parent.name}/{path.name} leads out of the workspace.", "Copy the file into it.")
    return path


def read_toml(path: Path) -> dict[str, Any]:
    """The document in a file.

    Raises:
        CannotDo: it is no file, cannot be read, is no TOML, or not in UTF-8; the message names the file and the line.
    """
    return toml_of(bytes_of(path), path.name)


def bytes_of(path: Path) -> bytes:
    """The bytes of a file that a person wrote.

    Raises:
        CannotDo: it is no file, is too large to be written by hand, or cannot be read.
    """
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            what = "a folder" if stat.S_ISDIR(found.st_mode) else "no file but a pipe or a device"
            raise CannotDo(f"{path.name} cannot be read: it is {what}.", f"Put a file in its place: {path}")
        if found.st_size > MOST_BYTES:
            size = f"{found.st_size / 1e6:,.0f} MB; {MOST_BYTES // 1_000_000} MB are the most"
            raise CannotDo(f"{path.name} is too large to be read: {size}.", "Part it into several files.")
        return path.read_bytes()
    except OSError as error:
        raise CannotDo(
            f"{path.name} cannot be read: {error.strerror or error}.", f"Check who may read it: {path}"
        ) from None


def text_of(path: Path) -> str:
    """The text of a file that was read as TOML before."""
    return bytes_of(path).decode("utf-8-sig")


def toml_of(content: bytes, name: str) -> dict[str, Any]:
    """The document in a file's bytes, a mark of UTF-8 before it left out; a message calls the file by this name.

    Raises:
        CannotDo: as :func:`read_toml`.
    """
    try:
        found = tomllib.loads(content.decode("utf-8-sig"))
        _refuse_beyond(found)
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        if said.startswith(_TWICE):
            said = f"a name is given twice{said[said.rfind(' (at') :]}"
        raise CannotDo(f"{name} is not readable TOML: {said}", "Mend the line it names.") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise CannotDo(f"{name} is not readable TOML: line {line} is not in UTF-8", "Save it as UTF-8.") from None
    except RecursionError:
        said = f"lists and tables lie too deep in each other{_at_line(_deep_line(content))}"
        raise CannotDo(f"{name} is not readable TOML: {said}", "Write it flatter.") from None
    except ValueError:  # also of one with so many digits that Python does not read it
        said = f"a whole number is too large{_at_line(_long_line(content))}"
        raise CannotDo(f"{name} is not readable TOML: {said}", "Mend the number.") from None
    return found


def _refuse_beyond(found: dict[str, Any]) -> None:
    """Refuse whole numbers beyond 64 bits, and what lies too deep for those who go through the document.

    Source: TOML 1.0.0, Integer: 64 bits, signed; one that cannot be kept without loss is an error.

    Raises:
        ValueError: there is such a number.
        RecursionError: there is such a place.
    """
    level: list[Any] = [found]
    for _ in range(DEEP):
        inner = [part for one in level for part in (one.values() if isinstance(one, dict) else one)]
        if any(type(part) is int and not -(2**63) <= part < 2**63 for part in inner):
            raise ValueError
        level = [part for part in inner if isinstance(part, dict | list)]
    if level:
        raise RecursionError


def _deep_line(content: bytes) -> int:
    """The line on which lists and tables get deep; 0 where none is found."""
    deep = 0
    for number, line in enumerate(content.split(b"\n"), start=1):
        deep += line.count(b"[") + line.count(b"{")
        if max(deep, line.count(b".")) > DEEP:
            return number
        deep = max(0, deep - line.count(b"]") - line.count(b"}"))
    return 0


def _long_line(content: bytes) -> int:
    """The line of the first number with too many digits; 0 where none is found."""
    lines = enumerate(content.split(b"\n"), start=1)
    return next((number for number, line in lines if _LONG_NUMBER.search(line)), 0)


def _at_line(line: int) -> str:
    """A line as the reader of TOML tells it; "" for none."""
    return f" (at line {line})" if line else ""
