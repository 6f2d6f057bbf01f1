"""Values, keys and differences of records in words, as SQL: what warnings say of rows that two loads brought."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pipeline.store.sql_text import number_as_told
from schemas import Kind
from schemas.field import Field

MOST_LETTERS = 60
"""Letters of a text that are shown."""


def shown(columns: Sequence[str]) -> str:
    """What these columns say between them, first to last; "blank" where they say nothing."""
    if not columns:
        return "'blank'"
    texts = ", ".join(f"left(regexp_replace(CAST({one} AS VARCHAR), '\\.0$', ''), {MOST_LETTERS})" for one in columns)
    return f"coalesce(nullif(concat_ws(' to ', {texts}), ''), 'blank')"


def record_in_words(kind: Kind, side: str, given: Collection[str]) -> str:
    """The key of a record of this side, without what is kept out of reports, and with no word for what is blank."""
    told = [f'{side}."{name}"' for name in kind.key if name in given and not kind.by_name[name].private]
    texts = ", ".join(f"CASE WHEN {one} IS NOT NULL THEN {shown([one])} END" for one in told)
    return f"concat_ws(', ', {texts})"


def differences(fields: Sequence[Field], former: str, now: str, given: Collection[str]) -> str:
    """What two records say otherwise of these fields; ``given`` are those that the new one has a column for.

    A result below a limit is written with its sign.
    """
    named = {field.name for field in fields}
    parts = []
    for field in fields:
        if field.name == "below_limit" and "value" in named:
            continue
        old, new = f'{former}."{field.name}"', _of(now, field.name, given)
        if field.name == "value" and "below_limit" in named:
            old, new = (_signed(one, sign) for one, sign in (
                (old, f'{former}."below_limit"'), (new, _of(now, "below_limit", given))))  # fmt: skip
        plain = field.private or field.type == "image"
        told, anew = (shown([number_as_told(one, field)]) for one in (old, new))
        said = "" if plain else f" || ': ' || {told} || ' there, ' || {anew} || ' here'"
        parts.append(f"CASE WHEN {old} IS DISTINCT FROM {new} THEN '{field.name}'{said} END")
    return f"concat_ws('; ', {', '.join(parts)})" if parts else "''"


def _of(side: str, name: str, given: Collection[str]) -> str:
    return f'{side}."{name}"' if name in given else "NULL"


def _signed(value: str, below: str) -> str:
    return f"concat(CASE WHEN {below} THEN '<' END, CAST({value} AS VARCHAR))"
