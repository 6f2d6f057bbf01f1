"""TOML that a person wrote: what cannot be read or does not fit is told with its line or key."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

from pipeline.common.closest import offered
from pipeline.common.refusal import CannotDo

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError
    from pydantic_core import ErrorDetails


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


def misfits(error: ValidationError, whole: str = "", model: type[BaseModel] | None = None) -> str:
    """Every key that does not fit, and why; what is wrong with no single one is told of the ``whole``.

    Args:
        error: what pydantic says.
        whole: what the document is called.
        model: what was read, by which a key that there is not is told with the closest ones.
    """
    told = ((".".join(map(str, one["loc"])) or whole, _why(one, model)) for one in error.errors())
    return "; ".join(f"{place}: {why}" if place else why for place, why in told)


def _why(one: ErrorDetails, model: type[BaseModel] | None) -> str:
    if one["type"] == "extra_forbidden":
        *place, key = map(str, one["loc"])
        return f"there is no such key{offered(key, _keys(model, place))}"
    said = one["msg"].removeprefix("Value error, ")
    if one["type"] == "literal_error":
        return said + offered(str(one["input"]), re.findall(r"'([^']*)'", str(one.get("ctx", {}).get("expected", ""))))
    return said


def _keys(model: type[BaseModel] | None, place: list[str]) -> list[str]:
    """The keys that the table at a place of a document may hold; none where that is not known."""
    for name in place:
        if name.isdecimal():
            continue
        fields = model.model_fields if model else {}
        field = next((one for key, one in fields.items() if name in {key, one.alias}), None)
        found = None if field is None else _model_in(field.annotation)
        if found is not None:
            model = found
    return [field.alias or key for key, field in model.model_fields.items()] if model else []


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The table that a field holds, by itself, in a list or by names."""
    if hasattr(annotation, "model_fields"):
        return annotation  # type: ignore[no-any-return]
    return next((found for part in get_args(annotation) if (found := _model_in(part)) is not None), None)
