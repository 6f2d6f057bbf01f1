"""Google-style docstrings taken apart: what the pages say of a function or a class is what its docstring says."""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass, field

_LISTS = ("Args", "Attributes", "Raises")
_ENTRY = re.compile(r"^ {4}(\*{0,2}\w+): (.*)$")


@dataclass
class Docstring:
    """A docstring in parts.

    Attributes:
        summary: first paragraph.
        parts: paragraphs that begin with a word and a colon (``Formula``, ``Opinion differs``, ``Source``), by it.
        lists: ``Args``, ``Attributes``, ``Raises``: name to what it is.
        rest: every other paragraph.
    """

    summary: str
    parts: dict[str, str] = field(default_factory=dict)
    lists: dict[str, dict[str, str]] = field(default_factory=dict)
    rest: list[str] = field(default_factory=list)


def docstring_of(thing: object) -> Docstring:
    """The docstring of a function, class or module in parts; an empty one where it has none."""
    summary, *paragraphs = re.split(r"\n\s*\n", inspect.getdoc(thing) or "")
    found = Docstring(_joined(summary))
    for paragraph in paragraphs:
        head, _, tail = paragraph.partition(":")
        if head in _LISTS:
            found.lists[head] = _entries(paragraph)
        elif re.fullmatch(r"[A-Z]\w*( differs)?", head):
            found.parts[head] = _joined(tail)
        else:
            found.rest.append(_joined(paragraph))
    return found


def _entries(paragraph: str) -> dict[str, str]:
    entries: dict[str, str] = {}
    name = ""
    for line in paragraph.splitlines()[1:]:
        if match := _ENTRY.match(line):
            name = match[1]
            entries[name] = match[2]
        elif name:
            entries[name] += " " + line.strip()
    return entries


def _joined(text: str) -> str:
    return " ".join(text.split())
