"""Drawings (SVG) of a workspace: one that a page would show otherwise than it is meant is refused."""

from __future__ import annotations

import re
from xml.parsers import expat

from pipeline.common.refusal import CannotDo
from reports.page import text

MOST_NESTED = 100
"""Elements within each other; the renderer gives up at some hundreds."""
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
        for key, value in given.items():
            if _local(key).lower().startswith("on"):
                self.refuse(f"{_local(key)}: it runs a script")
            if _local(key) == "href" and not value.strip().startswith("#"):
                self.outside(value)
            self.addresses(value)

    def end(self, _: str) -> None:
        """The end of an element."""
        self.open.pop()

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
            self.outside(found[1] or found[2])

    def outside(self, address: str) -> None:
        """Refuse an address."""
        self.refuse(f"it asks for {address.strip()[:80]!r}, which is not part of it")

    def refuse(self, said: str) -> None:
        """End the reading here."""
        raise _Unfit(f"line {self.parser.CurrentLineNumber}: {said}")


def _local(name: str) -> str:
    """A name without its namespace."""
    return name.rsplit(" ", 1)[-1]
