"""Drafting from a text, deciding the marks as a person would, and loading with the result."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from pipeline.draft import Draft, draft_profile
from pipeline.draft.document import Entry, Table, text_of
from pipeline.workspace.settings import Workspace

Drafted = Callable[..., Draft]


@pytest.fixture
def drafted(workspace: Workspace, tmp_path: Path) -> Drafted:
    """Drafts a profile from a text (or bytes) that lies in a file of that name."""

    def _drafted(content: str | bytes, name: str = "export.csv", **options: Any) -> Draft:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return draft_profile(workspace, path, force=True, **options)

    return _drafted


def data_of(draft: Draft) -> dict[str, Any]:
    """What a drafted profile says, as a reader of TOML sees it."""
    return tomllib.loads(draft.text)


def open_places(data: object, place: str = "") -> list[str]:
    """Where "?" stands in a profile, places parted by a bar; an entry of a list is named by its header or number."""
    if isinstance(data, dict):
        return [one for key, value in data.items() for one in open_places(value, f"{place}|{key}" if place else key)]
    if isinstance(data, list):
        return [one for i, value in enumerate(data) for one in open_places(value, f"{place}|{_name(value, i)}")]
    return [place] if data == "?" else []


def _name(value: object, number: int) -> str:
    return str(value["from"]) if isinstance(value, dict) and value.get("from", "?") != "?" else str(number)


def decide(draft: Draft, decisions: Mapping[str, object], *, strict: bool = True) -> dict[str, Any]:
    """The profile with its marks decided, written back; a decision that fits no mark is an error of the test.

    Args:
        draft: the draft.
        decisions: pattern of places (regular expression) → value; None deletes the line. The first that fits counts.
        strict: whether every decision must be asked for.
    """
    assert draft.path is not None
    data = data_of(draft)
    unused = set(decisions)
    for place in open_places(data):
        pattern = next((one for one in decisions if re.fullmatch(one, place, re.DOTALL)), None)
        assert pattern is not None, f"nothing decides {place}"
        unused.discard(pattern)
        _put(data, place.split("|"), decisions[pattern])
    assert not (strict and unused), f"nothing asks for {unused}"
    draft.path.write_text(_written(data), "utf-8", newline="\n")
    return data


def _put(data: Any, place: list[str], value: object) -> None:
    for i, key in enumerate(place[:-1]):
        if isinstance(data, list):
            data = next(one for number, one in enumerate(data) if _name(one, number) == key)
        elif isinstance(data[key], list) and i == len(place) - 2:  # a list that holds the mark alone
            data[key] = value
            return
        else:
            data = data[key]
    if value is None:
        del data[place[-1]]
    else:
        data[place[-1]] = value


def _written(data: Mapping[str, Any]) -> str:
    top = [Entry(key, value) for key, value in data.items() if not isinstance(value, dict) and key != "long"]
    tables = [Table("", top)]
    for key, value in data.items():
        if key == "aliases":
            tables += [Table(f"aliases.{name}", [Entry(*pair) for pair in one.items()]) for name, one in value.items()]
        elif isinstance(value, dict):
            tables.append(Table(key, [Entry(*pair) for pair in value.items()]))
        elif key == "long":
            tables += [Table("long", [Entry(*pair) for pair in one.items()], many=True) for one in value]
    return text_of(tables)
