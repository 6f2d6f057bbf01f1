"""Drawings (SVG) of a workspace: one that a page would show otherwise than it is meant is refused."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf
from xml.parsers import expat

from pipeline.common.refusal import CannotDo
from reports.page import text

MOST_NESTED = 100
"""Elements within each other; the renderer gives up at some hundreds."""
MOST_DRAWN = 50_000
"""Elements that a drawing comes to, those drawn again through ``<use>``, patterns and the like counted each time."""
LEFT_OUT = {
    "script": "runs a script",
    "foreignObject": "holds another document",
    "image": "shows a picture of its own",
    "feImage": "shows a picture of its own",
    "animate": "moves",
    "animateMotion": "moves",
    "animateTransform": "moves",
    "set": "moves",
}
"""What no page can show of a drawing, by the element that asks for it."""
WHOLE = "Save it with its text as outlines and nothing beside shapes in it, or as a PNG picture."
_WORDS = frozenset({"text", "tspan", "textPath"})
_WITHIN = re.compile(r"""url\(\s*['"]?\s*#([^)'"\s]*)""")
_ADDRESS = re.compile(r"""url\(\s*['"]?\s*(?!['"#\s])([^)'"]*)|@import\s*([^;]*)""")


def refuse_drawing(content: bytes, what: str) -> None:
    """Refuse a drawing that cannot be read, runs or fetches something, or has letters that the typeface lacks.

    Args:
        content: the file.
        what: what it is called in a refusal.

    Raises:
        CannotDo: it is one of these; the line is named.
    """
    reader, said = _Reader(), ""
    try:
        reader.parser.Parse(content, True)
        said = reader.parts.unfit()
    except _Unfit as unfit:
        said = str(unfit)
    except (expat.ExpatError, ValueError, LookupError) as fault:
        said = f"line {reader.parser.CurrentLineNumber}: it is no drawing that can be read ({fault})"
    if said:
        raise CannotDo(f"The {what}, {said}.", WHOLE)


class _Unfit(Exception):
    """Ends the reading: what stands at a line."""


class _Reader:
    """Reads a drawing element by element; nothing it names is opened."""

    def __init__(self) -> None:
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.words
        self.parser.EntityDeclHandler = self.entity
        self.parser.ProcessingInstructionHandler = self.instruction
        self.open: list[str] = []
        self.parts = _Parts()

    def start(self, name: str, given: dict[str, str]) -> None:
        """An element and its attributes."""
        local = _local(name)
        if not self.open and local != "svg":
            self.refuse(f"it begins with <{local}>, and a drawing with <svg>")
        self.open.append(local)
        if len(self.open) > MOST_NESTED:
            self.refuse(f"its elements lie more than {MOST_NESTED} deep in each other")
        if local in LEFT_OUT:
            self.refuse(f"<{local}>: it {LEFT_OUT[local]}")
        refers = [one for value in given.values() for one in _WITHIN.findall(value)]
        if local != "a":  # a link leads there and draws nothing
            refers += [value.strip()[1:] for key, value in given.items() if _local(key) == "href"]
        self.parts.start(given.get("id", ""), refers, self.parser.CurrentLineNumber)
        for key, value in given.items():
            if _local(key).lower().startswith("on"):
                self.refuse(f"{_local(key)}: it runs a script")
            if key == "viewBox" and not _is_room(value):
                self.refuse(f"viewBox is {value[:40]!r}, and no four numbers of which the last two are more than 0")
            if _local(key) == "href" and not value.strip().startswith("#"):
                self.outside(value)
            self.addresses(value)

    def end(self, _: str) -> None:
        """The end of an element."""
        self.open.pop()
        self.parts.end()

    def words(self, said: str) -> None:
        """Text of an element: a stylesheet's, or one that is drawn."""
        within = self.open[-1] if self.open else ""
        if within == "style":
            self.addresses(said)
        elif within in _WORDS and (missing := text.not_drawn(said)):
            self.refuse(f"the typeface of the documents has no {missing}")

    def entity(self, *_: object) -> None:
        """A word that stands for others, perhaps for many."""
        self.refuse("it declares entities")

    def instruction(self, target: str, _: str) -> None:
        """A stylesheet beside it."""
        if target == "xml-stylesheet":
            self.refuse("it asks for a stylesheet beside it")

    def addresses(self, said: str) -> None:
        """Refuse an address in a style that leads out of the drawing."""
        if found := _ADDRESS.search(said):
            self.outside(found[1] or found[2] or "")

    def outside(self, address: str) -> None:
        """Refuse an address."""
        self.refuse(f"it asks for {address.strip()[:80]!r}, which is not part of it")

    def refuse(self, said: str) -> None:
        """End the reading here."""
        raise _Unfit(f"line {self.parser.CurrentLineNumber}: {said}")


@dataclass
class _Part:
    """An element that has a name, with all that lies in it: how many elements, and what they refer to how often."""

    elements: int = 0
    refers: Counter[str] = field(default_factory=Counter)
    lines: dict[str, int] = field(default_factory=dict)


class _Parts:
    """What the named elements of a drawing hold and refer to; "" is the whole of it."""

    def __init__(self) -> None:
        self.named: dict[str, _Part] = {"": _Part()}
        self.open: list[str] = []

    def start(self, name: str, refers: list[str], line: int) -> None:
        """An element begins: its name ("" for none), names that it refers to, its line."""
        self.open.append(name)
        for one in {"", *self.open}:
            part = self.named.setdefault(one, _Part())
            part.elements += 1
            part.refers.update(refers)
            part.lines.update({other: line for other in refers if other not in part.lines})

    def end(self) -> None:
        """An element ends."""
        self.open.pop()

    def unfit(self) -> str:
        """Why it cannot be drawn: it refers to itself, or comes to too much; "" where it can."""
        comes_to: dict[str, int] = {}
        for name in self._innermost_first():
            part = self.named[name]
            again = (times * comes_to[one] for one, times in part.refers.items() if one in self.named and one)
            if not all(one in comes_to for one in part.refers if one in self.named):
                line = next(line for one, line in part.lines.items() if one in self.named and one not in comes_to)
                return f"line {line}: it is drawn within itself"
            comes_to[name] = part.elements + sum(again)
        if comes_to[""] > MOST_DRAWN:
            line = min(self.named[""].lines.values())
            return f"line {line}: it comes to more than {MOST_DRAWN:,} elements, what it draws again counted each time"
        return ""

    def _innermost_first(self) -> Iterator[str]:
        """Names, each after those that it refers to, as far as that can be; the whole last."""
        met: set[str] = set()
        for first in (*(name for name in self.named if name), ""):
            waiting = [] if first in met else [(first, iter(self.named[first].refers))]
            met.add(first)
            while waiting:
                name, inner = waiting[-1]
                within = next((one for one in inner if one in self.named and one not in met), None)
                if within is None:
                    waiting.pop()
                    yield name
                else:
                    met.add(within)
                    waiting.append((within, iter(self.named[within].refers)))


def _is_room(said: str) -> bool:
    """Whether a viewBox says where a drawing lies, and how large it is (SVG 2, 8.6)."""
    try:
        _, _, wide, high = map(float, re.split(r"\s*,\s*|\s+", said.strip()))
    except ValueError:
        return False
    return 0 < wide < inf and 0 < high < inf


def _local(name: str) -> str:
    """A name without its namespace."""
    return name.rsplit(" ", 1)[-1]
