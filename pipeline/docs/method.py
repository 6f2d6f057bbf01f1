"""The formulas of the trade, from the docstrings of pipeline/agronomy/."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType
from typing import Any

import pipeline.agronomy
from pipeline.docs import markdown as md
from pipeline.docs.docstring import Docstring, docstring_of

OPENING = """\
Every public formula of `pipeline/agronomy/`, with its inputs, where opinion differs, and its source. "From memory" and
"common practice, no source" mean what they say. A report says in words how each figure was made; these are the
formulas behind it, and some more that no report uses yet. A test holds each of them against something outside the
project (`tests/published/`)."""


TITLES = {"mlsn": "MLSN guideline"}
"""Headings that are not the module's name."""
PLUMBING = {"maths"}
"""Modules without a formula of the trade."""


def page() -> str:
    """docs/method.md."""
    found = [(module, list(public_functions(module))) for module in modules()]
    kept = [(module, functions) for module, functions in found if functions]
    links = "\n".join(f"- [{_title(module)}](#{md.anchor(_title(module))})" for module, _ in kept)
    return md.page("Method", OPENING, links, *(_module(module, functions) for module, functions in kept))


def modules() -> list[ModuleType]:
    """The modules of pipeline/agronomy/ that hold formulas, by name."""
    names = [one.name for one in iter_modules(pipeline.agronomy.__path__) if one.name not in PLUMBING]
    return [import_module(f"pipeline.agronomy.{name}") for name in names]


def public_functions(module: ModuleType) -> Iterator[Callable[..., Any]]:
    """The module's own public functions, in the order they are written."""
    members = inspect.getmembers(module, inspect.isfunction)
    own = [one for name, one in members if one.__module__ == module.__name__ and not name.startswith("_")]
    yield from sorted(own, key=lambda one: one.__code__.co_firstlineno)


def function(one: Callable[..., Any]) -> str:
    """The section of a function; one that names no source is our own fault."""
    said = docstring_of(one)
    assert said.parts.get("Source"), f"{one.__module__}.{one.__name__} has no Source line"
    name = f"{one.__module__.rpartition('.')[2]}.{one.__name__}"
    parts = [f"### {name}", md.escaped(said.summary), _formula(said), _inputs(one, said)]
    parts += [md.escaped(text) for text in said.rest]
    for word, text in said.parts.items():
        if word not in {"Formula", "Source"}:
            parts.append(f"**{word}**: {md.escaped(text)}")
    parts.append(f"**Source**: {md.escaped(said.parts['Source'])}")
    return "\n\n".join(part for part in parts if part)


def _title(module: ModuleType) -> str:
    word = module.__name__.rpartition(".")[2]
    name = TITLES.get(word, word.replace("_", " "))
    return name[0].upper() + name[1:]


def _module(module: ModuleType, functions: list[Callable[..., Any]]) -> str:
    said = docstring_of(module)
    opening = [md.escaped(text) for text in (said.summary, *said.rest)]
    return "\n\n".join([f"## {_title(module)}", *opening, *(function(one) for one in functions)])


def _formula(said: Docstring) -> str:
    text = said.parts.get("Formula", "")
    return f"**Formula**: {md.escaped(text)}" if text else ""


def _inputs(one: Callable[..., Any], said: Docstring) -> str:
    defaults = {name: p.default for name, p in inspect.signature(one).parameters.items()}
    lines = []
    for name, text in said.lists.get("Args", {}).items():
        default = defaults.get(name.lstrip("*"), inspect.Parameter.empty)
        given = "" if default is inspect.Parameter.empty or default is None else f" (left out: {default})"
        lines.append(f"- `{name}`: {md.escaped(text)}{given}")
    return "\n".join(lines)
