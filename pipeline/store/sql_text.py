"""Values written into SQL."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from schemas.field import Field

_TEXT_OR_PLACE = re.compile(r"'(?:[^']|'')*'|\"(?:[^\"]|\"\")*\"|\?")
"""A text or a name in quotes, which may hold a question mark of its own, or the place of a value."""
_TEXT_OR_NAMED = re.compile(r"'(?:[^']|'')*'|\"(?:[^\"]|\"\")*\"|\$(\w+)")
"""The same, where values have names."""


def quoted(text: str) -> str:
    """A text as SQL writes it."""
    return "'" + text.replace("'", "''") + "'"


def number_as_told(column: str, field: Field) -> str:
    """A field's column as it is put into words: money as any number, without the zeros that it is kept with.

    Its digits come out unchanged: a binary fraction tells decimals of 15 digits apart (IEEE 754).
    """
    return f"CAST({column} AS DOUBLE)" if field.type == "money" else column


FEW = 100
"""Up to so many values a scan of a table looks for each in less time than a join with them is made in."""


def among(column: str, values: Sequence[str], name: str) -> str:
    """SQL of whether a column is one of some values, which are the parameter of that name."""
    if len(values) <= FEW:
        return f"list_contains(${name}, {column})"
    return f"{between(column, name)} AND {column} IN (SELECT unnest(${name}))"


def between(column: str, name: str) -> str:
    """SQL of whether a column lies between the first and the last of some values, which are the parameter of that name.

    A scan passes over what does not, also under a view that joins, where it would read all for a join with the values.
    """
    return f"{column} BETWEEN list_min(${name}) AND list_max(${name})"


def with_values(sql: str, values: Sequence[Any]) -> tuple[str, Sequence[Any]]:
    """A query with its values in the places of its question marks, and the values that are still to be bound.

    DuckDB imports pandas where it is installed to bind one value, which is half of what a short command takes. All are
    bound where one of them is neither text, a whole number, a day nor a list of these.
    """
    written = [_written(value) for value in values]
    if not values or None in written or sum(found[0] == "?" for found in _TEXT_OR_PLACE.finditer(sql)) != len(values):
        return sql, values
    left = iter(written)
    return _TEXT_OR_PLACE.sub(lambda found: str(next(left)) if found[0] == "?" else found[0], sql), ()


def with_named(sql: str, values: Mapping[str, object]) -> tuple[str, Mapping[str, object]]:
    """A query with its named values in their places, and those that are still to be bound; see ``with_values``.

    A list of more than ``FEW`` values is bound: it is read faster so than as text.
    """
    short = {name: value for name, value in values.items() if not isinstance(value, list) or len(value) <= FEW}
    written = {name: told for name, value in short.items() if (told := _written(value)) is not None}
    if not written:
        return sql, values
    filled = _TEXT_OR_NAMED.sub(lambda found: written.get(found[1] or "", found[0]), sql)
    return filled, {name: value for name, value in values.items() if name not in written}


def _written(value: object) -> str | None:
    """A value as SQL writes it, None where it is to be bound."""
    if value is None:
        return "NULL"
    if isinstance(value, str):
        return None if "\0" in value else quoted(value)
    if isinstance(value, bool | int):
        return str(value).upper()
    if isinstance(value, date) and not isinstance(value, datetime):
        return f"DATE '{value.isoformat()}'"
    if isinstance(value, list) and value and all(isinstance(one, str | int) for one in value):
        parts = [_written(one) for one in value]
        return None if None in parts else f"[{', '.join(map(str, parts))}]"
    return None
