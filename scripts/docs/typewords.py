"""Types and limits of pydantic fields in words."""

from __future__ import annotations

import types
from decimal import Decimal
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from scripts.docs import markdown as md

_PLAIN = {str: "text", int: "whole number", float: "number", Decimal: "number", bool: "`true` or `false`"}
_LIMITS = (
    ("gt", "more than {}"),
    ("ge", "at least {}"),
    ("le", "at most {}"),
    ("min_length", "at least {} long"),
    ("max_length", "at most {} long"),
)


def type_words(annotation: Any) -> str:
    """What a value of this type is, in words."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if annotation in _PLAIN:
        return _PLAIN[annotation]
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is Literal:
        return "one of " + md.codes(f'"{one}"' if isinstance(one, str) else str(one) for one in inner)
    if origin in {Union, types.UnionType}:
        return " or ".join(type_words(one) for one in inner if one is not type(None))
    if origin is tuple:
        return f"list of {_many(inner[0])}"
    if origin is dict:
        return f"table of {_many(inner[1])}"
    return "table"


def _many(annotation: Any) -> str:
    """What several of this type are, in words."""
    said = type_words(annotation)
    if said.startswith("list of "):
        return f"lists of {said.removeprefix('list of ')}"
    return said if said.startswith("one of ") or " or " in said else f"{said}s"


def limits(field: FieldInfo) -> str:
    """The limits of a field in words, "" where it has none."""
    found = []
    for one in field.metadata:
        found += [
            text.format(f"{value:g}") for name, text in _LIMITS if (value := getattr(one, name, None)) is not None
        ]
        if pattern := getattr(one, "pattern", None):
            found.append(f"must fit {md.code(pattern)}")
    return ", ".join(found)
