"""TOML that a person wrote: what cannot be read is told with its line."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from pipeline.common.refusal import CannotDo

_TWICE = ("Cannot overwrite a value", "Cannot mutate immutable")


def read_toml(path: Path) -> dict[str, Any]:
    """The document in a file.

    Raises:
        CannotDo: it is no TOML, or not in UTF-8; the message names the file and the line.
    """
    return toml_of(path.read_bytes(), path.name)


def text_of(path: Path) -> str:
    """The text of a file that was read as TOML before."""
    return path.read_bytes().decode("utf-8-sig")


def toml_of(content: bytes, name: str) -> dict[str, Any]:
    """The document in a file's bytes, a mark of UTF-8 before it left out; a message calls the file by this name.

    Raises:
        CannotDo: as :func:`read_toml`.
    """
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        if said.startswith(_TWICE):
            said = f"a name is given twice{said[said.rfind(' (at') :]}"
        raise CannotDo(f"{name} is not readable TOML: {said}", "Mend the line it names.") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise CannotDo(f"{name} is not readable TOML: line {line} is not in UTF-8", "Save it as UTF-8.") from None
