"""TOML that a person wrote: what cannot be read or does not fit is told with its line or key."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.common.refusal import CannotDo

if TYPE_CHECKING:
    from pydantic import ValidationError


def read_toml(path: Path) -> dict[str, Any]:
    """The document in a file.

    Raises:
        CannotDo: it is no TOML, or not in UTF-8; the message names the file and the line.
    """
    return toml_of(path.read_bytes(), path.name)


def toml_of(content: bytes, name: str) -> dict[str, Any]:
    """The document in a file's bytes, a mark of UTF-8 before it left out; a message calls the file by this name.

    Raises:
        CannotDo: as :func:`read_toml`.
    """
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except tomllib.TOMLDecodeError as error:
        raise CannotDo(f"{name} is not readable TOML: {error}", "Mend the line it names.") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise CannotDo(f"{name} is not readable TOML: line {line} is not in UTF-8", "Save it as UTF-8.") from None


def misfits(error: ValidationError, whole: str = "") -> str:
    """Every key that does not fit, and why; what is wrong with no single one is told of the ``whole``."""
    told = (
        (".".join(map(str, one["loc"])) or whole, one["msg"].removeprefix("Value error, ")) for one in error.errors()
    )
    return "; ".join(f"{place}: {why}" if place else why for place, why in told)
