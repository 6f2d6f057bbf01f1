"""TOML that a person wrote: what cannot be read is told with its line."""

from __future__ import annotations

import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from pipeline.common.refusal import CannotDo

MOST_BYTES = 5_000_000
"""Of one file that a person writes: some ten thousand entries (common practice, no source)."""
MOST_NESTED = 100
"""Tables and lists within one another (common practice, no source); Python's reader gives up at some hundreds."""
_TWICE = ("Cannot overwrite a value", "Cannot mutate immutable")
_TOO_DEEP = f"lists or tables lie more than {MOST_NESTED} deep in each other"
_MOST_BITS = 1024
"""Of a whole number: as many as a double of IEEE 754 reaches, some 308 digits."""
_LONG_NUMBER = re.compile(r"[0-9A-Fa-f_]{250,}")


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
        text = content.decode("utf-8-sig")
        found = tomllib.loads(text)
        _refuse_odd(found, text, name)
        return found
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        if said.startswith(_TWICE):
            said = f"a name is given twice{said[said.rfind(' (at') :]}"
        raise CannotDo(f"{name} is not readable TOML: {said}", "Mend the line it names.") from None
    except RecursionError:
        raise CannotDo(f"{name} is not readable TOML: {_TOO_DEEP}", "Write it flatter.") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise CannotDo(f"{name} is not readable TOML: line {line} is not in UTF-8", "Save it as UTF-8.") from None
    except ValueError:  # a number of more digits than Python takes
        raise _too_large(text, name) from None


def _too_large(text: str, name: str) -> CannotDo:
    at = _LONG_NUMBER.search(text)
    line = f" (at line {text.count(chr(10), 0, at.start()) + 1})" if at else ""
    return CannotDo(f"{name} is not readable TOML: a number is beyond all that is reckoned with{line}", "Mend it.")


def _refuse_odd(found: dict[str, Any], text: str, name: str) -> None:
    """Refuse values within values without end, and whole numbers without bounds.

    Raises:
        CannotDo: there are some.
    """
    layer: list[Any] = [found]
    for _ in range(MOST_NESTED):
        inside = [inner for one in layer for inner in (one.values() if isinstance(one, dict) else one)]
        if any(isinstance(one, int) and one.bit_length() > _MOST_BITS for one in inside):
            raise _too_large(text, name)
        layer = [one for one in inside if isinstance(one, dict | list)]
        if not layer:
            return
    raise CannotDo(f"{name} is not readable TOML: {_TOO_DEEP}", "Write it flatter.")
