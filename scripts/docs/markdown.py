"""Markdown from words and rows; what stands in backticks is left as it is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

MADE = "<!-- Made from the code by `make docs`: edit the code, not this page. -->"


def page(title: str, *parts: str) -> str:
    """A whole page: title, mark that it is made, parts a blank line apart."""
    return "\n\n".join([f"# {title}", MADE, *(part.rstrip() for part in parts if part)]) + "\n"


def table(headers: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table; columns that are blank in every row are left out."""
    cells = [[cell(str(one)) for one in row] for row in rows]
    kept = [i for i in range(len(headers)) if any(row[i] for row in cells)]
    lines = [[headers[i] for i in kept], ["---"] * len(kept), *([row[i] for i in kept] for row in cells)]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def cell(text: str) -> str:
    """A text on one line, with what Markdown would take for its own made harmless."""
    return " ".join(escaped(text).replace("|", r"\|").split())


def escaped(text: str) -> str:
    """A text whose ``<`` and ``*`` outside backticks mean themselves."""
    parts = text.replace("``", "`").split("`")
    parts[::2] = [part.replace("<", "&lt;").replace("*", r"\*") for part in parts[::2]]
    return "`".join(parts)


def code(text: str) -> str:
    """A text in backticks, "" for none."""
    return f"`{text}`" if text else ""


def codes(words: Iterable[str]) -> str:
    """Words in backticks, commas between."""
    return ", ".join(code(word) for word in words)


def block(text: str, language: str = "") -> str:
    """A fenced block."""
    return f"```{language}\n{text.rstrip()}\n```"


def anchor(heading: str) -> str:
    """The link target that a heading of plain words gets."""
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")
