"""A drafted profile as a document: tables of entries with comments, what is to be decided, and its TOML text."""

from __future__ import annotations

import json
import re
import textwrap
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pipeline.common.grouped import grouped

WIDTH = 118
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class Entry:
    """One line of a table.

    Attributes:
        key: key as a person reads it; quoted where TOML needs it.
        value: text, number, yes or no, list or table of these.
        comment: why it stands so, or how to decide it.
        off: written as a comment, to be taken up if wanted.
    """

    key: str
    value: object
    comment: str = ""
    off: bool = False


@dataclass(frozen=True)
class Table:
    """One table of the document; ``many`` for one of a list (``[[long]]``)."""

    name: str
    entries: Sequence[Entry]
    note: str = ""
    many: bool = False


@dataclass(frozen=True)
class Ask:
    """Something a person must decide: the key it stands under, why, and what it concerns."""

    key: str
    why: str
    about: str = ""


@dataclass(frozen=True)
class Part:
    """Entries for one table, and what is to be decided in them."""

    entries: tuple[Entry, ...] = ()
    asks: tuple[Ask, ...] = ()

    def __add__(self, other: Part) -> Part:
        return Part(self.entries + other.entries, self.asks + other.asks)


def asked_once(asks: Iterable[Ask]) -> list[Ask]:
    """What is to be decided, the same question about several columns asked once."""
    same = grouped(asks, lambda ask: (ask.key, ask.why))
    return [
        Ask(key, why, ", ".join(dict.fromkeys(ask.about for ask in members if ask.about)))
        for (key, why), members in same.items()
    ]


def shortened(cell: str) -> str:
    """A cell as a comment shows it."""
    return cell if len(cell) <= 30 else cell[:29] + "…"


def text_of(tables: Iterable[Table]) -> str:
    """The document as TOML; the table without a name comes first."""
    blocks = []
    for table in tables:
        lines = [f"# {line}" for line in _wrapped(table.note)] if table.note else []
        if table.name:
            name = ".".join(key(part) for part in table.name.split("."))
            lines.append(f"[[{name}]]" if table.many else f"[{name}]")
        for entry in table.entries:
            lines += _lines(entry)
        if table.entries or table.note:
            blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


def _lines(entry: Entry) -> list[str]:
    line = f"{'# ' if entry.off else ''}{key(entry.key)} = {value(entry.value)}"
    comment = _harmless(entry.comment)
    if isinstance(entry.value, list) and len(line) > WIDTH:
        items = [f"    {value(one)}," for one in entry.value]
        return [*(f"# {part}" for part in _wrapped(comment)), f"{key(entry.key)} = [", *items, "]"]
    if not comment:
        return [line]
    if len(line) + len(comment) + 4 <= WIDTH:
        return [f"{line}  # {comment}"]
    return [*(f"# {part}" for part in _wrapped(comment)), line]


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(_harmless(text), WIDTH - 2, break_long_words=False, break_on_hyphens=False)


def _harmless(text: str) -> str:
    """Text fit for a comment: on one line, without control characters."""
    kept = "".join(" " if unicodedata.category(char) in {"Cc", "Zl", "Zp"} else char for char in text)
    return " ".join(kept.split())


def key(text: str) -> str:
    """A key as TOML writes it."""
    return text if _BARE_KEY.fullmatch(text) else quoted(text)


def quoted(text: str) -> str:
    """A basic string of TOML; its escapes are those of JSON, and the delete character is escaped too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def value(what: object) -> str:
    """A value as TOML writes it; tables stand in one line."""
    if isinstance(what, bool):
        return "true" if what else "false"
    if isinstance(what, str):
        return quoted(what)
    if isinstance(what, Mapping):
        return "{ " + ", ".join(f"{key(str(name))} = {value(one)}" for name, one in what.items()) + " }"
    if isinstance(what, (list, tuple)):
        return "[" + ", ".join(value(one) for one in what) + "]"
    assert isinstance(what, (int, float)), f"no TOML for {what!r}"
    return repr(what)
