"""The form of what an entry of the chain covers: whoever can write to the store can put anything there."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, StringConstraints, ValidationError

Number = Annotated[str, StringConstraints(pattern=r"^[0-9]{1,18}$")]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class State(_Part):
    """What decisions stood, and which records were out of force by them."""

    decisions: str
    counted_once: dict[str, str]


class Records(_Part):
    """How many records a load brought, and a hash of each column."""

    rows: int
    columns: dict[str, str]


class Personal(_Part):
    """What may name a person, covered anew."""

    file: str
    sources: dict[str, str]
    columns: dict[str, str]


class Decided(_Part):
    """What every entry covers."""

    state: State | None = None


class Loaded(Decided):
    """A load."""

    load: int
    file: str
    ledger: dict[str, str | int]
    records: Records
    ended: str
    sources: dict[str, str]


class Undone(Decided):
    """A load that was taken back."""

    undone: int


class Forgotten(Decided):
    """A person who was forgotten: by number of the load."""

    forgotten: dict[Number, Personal]


def read(form: type[Decided], covers: str, number: int | None) -> dict[str, Any]:
    """What an entry covers; empty where that has another form, or is about another load than the entry."""
    try:
        found = form.model_validate_json(covers)
    except ValidationError:
        return {}
    about = getattr(found, "load", getattr(found, "undone", None))
    return found.model_dump(exclude_unset=True) if about == number else {}
