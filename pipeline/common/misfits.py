"""Keys and values of a person's TOML that do not fit: each told with its line, its value, and what it must be."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, get_args

from pipeline.common.closest import offered

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError
    from pydantic_core import ErrorDetails

MOST_SHOWN = 60
"""Characters of a value that are told."""
_MUST = {
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "finite_number": "must be a number",
    "dict_type": "must be a table, such as {{ NAME = … }}",
    "model_type": "must be a table",
    "tuple_type": "must be a list, such as [ … ]",
    "list_type": "must be a list, such as [ … ]",
    "missing": "is missing",
    "string_too_short": "must not be empty",
    "string_too_long": "is longer than the {max_length} characters that it may have",
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "less_than": "must be less than {lt:g}",
    "less_than_equal": "must be at most {le:g}",
    "literal_error": "must be {expected}",
    "date_type": "must be a day such as 2026-03-31",
    "date_parsing": "must be a day such as 2026-03-31",
    "date_from_datetime_parsing": "must be a day such as 2026-03-31",
}
"""What a value must be, by the sort of misfit."""
_UNTOLD = ("missing", "extra_forbidden")
"""Misfits of which no value is told."""
_HEAD = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=""")
_PART = re.compile(r"""[\w-]+|"[^"]*"|'[^']*'""")


def misfits(error: ValidationError, whole: str = "", model: type[BaseModel] | None = None, source: str = "") -> str:
    """Every key that does not fit, and why; what is wrong with no single one is told of the ``whole``.

    Args:
        error: what pydantic says.
        whole: what the document is called.
        model: what was read, by which a key that there is not is told with the closest ones.
        source: the document as written, by which lines are told; "" where it is not at hand.
    """
    written = list(_places(source))
    return "; ".join(_told(one, whole, model, written) for one in error.errors())


def _told(one: ErrorDetails, whole: str, model: type[BaseModel] | None, written: Sequence[tuple[Place, int]]) -> str:
    loc = tuple(str(part) for part in one["loc"] if part != "[key]")
    line = _line(loc, written)
    place = ".".join(loc) or whole
    named = f"line {line}, {place}" if line else place
    why = _why(one, model)
    if loc and isinstance(one["input"], str | int | float) and _value_is_untold(one, why):
        named += f" = {_shown(one['input'])}"
    must = why.startswith(("must ", "is ", "has "))
    return (f"{named} {why}" if must else f"{named}: {why}") if named else why


def _value_is_untold(one: ErrorDetails, why: str) -> bool:
    """Whether it is a value that does not fit, and the reason does not tell it."""
    told = one["type"] == "value_error" and repr(one["input"]) in why
    return not told and one["type"] not in _UNTOLD and "[key]" not in one["loc"]


def _shown(value: str | float) -> str:
    """A value as the file has it, cut where it is long."""
    said = str(value).lower() if isinstance(value, bool) else repr(value)
    return said if len(said) <= MOST_SHOWN else f"{said[:MOST_SHOWN]}…"


def _why(one: ErrorDetails, model: type[BaseModel] | None) -> str:
    if one["type"] == "extra_forbidden":
        *place, key = map(str, one["loc"])
        return f"there is no such key{offered(key, _keys(model, place))}"
    given = one.get("ctx", {})
    if one["type"] == "string_too_short" and given.get("min_length") != 1:
        return one["msg"]
    must = _MUST.get(one["type"])
    said = must.format_map(given) if must else one["msg"].removeprefix("Value error, ")
    if one["type"] == "literal_error":
        return said + offered(str(one["input"]), re.findall(r"'([^']*)'", str(given.get("expected", ""))))
    return said


Place = tuple[str, ...]
"""Keys that lead to a value; a number for each of a list of tables."""


def _places(source: str) -> Iterator[tuple[Place, int]]:
    """The place of each table and each key of a document, with its line."""
    table: Place = ()
    seen: Counter[Place] = Counter()
    for number, line in enumerate(source.splitlines(), start=1):
        if head := _HEAD.match(line):
            table = _parts(head[2])
            if head[1] == "[[":
                seen[table] += 1
            for length in range(len(table), 0, -1):  # a table of the last one of a list of tables
                if count := seen[table[:length]]:
                    table = (*table[:length], str(count - 1), *table[length:])
            yield table, number
        elif key := _KEY.match(line):
            yield (*table, *_parts(key[1])), number


def _parts(dotted: str) -> Place:
    return tuple(part.strip("\"'") for part in _PART.findall(dotted))


def line_of(place: Place, source: str) -> int:
    """The line of a document that says what stands at a place, or at what it lies in; 0 where none is known."""
    return _line(place, list(_places(source)))


def _line(loc: Place, written: Sequence[tuple[Place, int]]) -> int:
    """The line of a place, or of what it lies in; 0 where none is known."""
    found = [(len(place), line) for place, line in written if place == loc[: len(place)]]
    return max(found, key=lambda one: one[0], default=(0, 0))[1]


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
