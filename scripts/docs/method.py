"""The formulas of the trade and the statistics, from the docstrings of the code and the tests that hold them."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from importlib import import_module
from pkgutil import walk_packages
from types import ModuleType
from typing import Any

import pipeline.agronomy
import pipeline.statistics
from scripts.docs import markdown as md
from scripts.docs.checks import Check, checks_of_member
from scripts.docs.docstring import Docstring, docstring_of
from scripts.docs.reached import reached

OPENING = """\
Every formula of `pipeline/agronomy/` and `pipeline/statistics/` that a figure, a check of records or a document rests
on, with its inputs, where opinion differs, its source and what it is checked against. "From memory" and "common
practice, no source" mean what they say. A report says in words how each figure was made; these are the formulas behind
it.

**Checked** gives a call, the figure it must give and how near, and who printed that figure; the calls are those of
`tests/published/`, with helpers there that only change units. Other tests say in words what they hold; those that
rest on nothing outside the project (by hand, by simulation) are marked as our own.

**A single reading of a laboratory** carries no interval of its own, and is not free of doubt for that: another
laboratory would give another figure for the same soil. Such a reading that lies nearer to a limit than laboratories
differ (a standard deviation between laboratories, from proficiency programmes; [each with its
source](indicators.md#what-a-single-reading-is-known-to)) is "close" to it, on either side, and its note says so. It
counts where there is no interval, or one of no width; a figure with an interval of its own keeps that, and the two are
never added. A sum of the log has none of it. How a green varies under the corer is not in it: only replicates, or a
number of cores, tell that.

**What a laboratory does to all its results** is looked for in organic matter alone, by laboratory and method over all
greens of the store: a step between two samplings ([common_shift](#common-shift)), also over a gap of years, and a
steady change that most greens share ([common_trend](#common-trend)), where no step is found. What is not seen: a drift
of which fewer than six greens tell, or that lasts fewer than five years; one that greens with changes of their own hide
(three quarters must go along); one beside a step; whether the greens or the laboratory changed. No verdict on a green
rests on it.

How often verdicts and intervals are right on a simulated county of known truth is measured by `make calibrate`; the
table of results is in [calibration.md](calibration.md)."""

PACKAGES = {"Formulas of the trade": pipeline.agronomy, "Statistics": pipeline.statistics}
TITLES = {"mlsn": "MLSN guideline"}
"""Headings that are not the module's name."""
PLUMBING = {"maths", "series"}
"""Modules without a formula."""
NO_FORMULA = {"finite", "pair"}
"""Functions that look at their input only."""
MOST_FIGURES, MOST_TESTS = 6, 3
"""Checks printed of one function; the others are counted."""

Formula = Callable[..., Any]


def page() -> str:
    """docs/method.md."""
    parts = []
    for heading, package in PACKAGES.items():
        found = [(module, list(formulas_in_use(module))) for module in modules(package)]
        kept = [(module, formulas) for module, formulas in found if formulas]
        links = "\n".join(f"- [{_title(module)}](#{md.anchor(_title(module))})" for module, _ in kept)
        parts.append((f"**{heading}**\n\n{links}", [_module(module, formulas) for module, formulas in kept]))
    return md.page("Method", OPENING, *(links for links, _ in parts), *(one for _, ones in parts for one in ones))


def modules(*packages: ModuleType) -> list[ModuleType]:
    """The modules that hold formulas, of these packages or of both, by name."""
    names = [
        one.name
        for package in packages or PACKAGES.values()
        for one in walk_packages(package.__path__, f"{package.__name__}.")
        if not one.ispkg and one.name.rpartition(".")[2] not in PLUMBING
    ]
    return [
        import_module(name) for name in sorted(names, key=lambda name: (name.split(".")[1], name.rpartition(".")[2]))
    ]


def public_formulas(module: ModuleType) -> Iterator[Formula]:
    """The module's own public functions, and its classes that compute something, in the order they are written."""
    members = [one for _, one in inspect.getmembers(module, lambda one: inspect.isroutine(one) or inspect.isclass(one))]
    own = [one for one in members if one.__module__ == module.__name__ and not one.__name__.startswith("_")]
    kept = [one for one in own if one.__name__ not in NO_FORMULA and (not inspect.isclass(one) or public_methods(one))]
    yield from sorted(kept, key=_line)


def formulas_in_use(module: ModuleType) -> Iterator[Formula]:
    """Those of the module's public formulas that the product reaches, in the order they are written."""
    yield from (one for one in public_formulas(module) if f"{one.__module__}.{one.__name__}" in reached())


def public_methods(one: type) -> dict[str, Formula]:
    """Public methods and properties that a class writes itself."""
    found: dict[str, Formula] = {}
    for name, member in vars(one).items():
        function = getattr(member, "fget", None) or getattr(member, "__func__", None) or member
        if inspect.isfunction(function) and not name.startswith("_"):
            found[name] = function
    return found


def _line(one: Formula) -> int:
    unwrapped = inspect.unwrap(one)
    return inspect.getsourcelines(unwrapped)[1]


def function(one: Formula) -> str:
    """The section of a function or class; one that names no source is our own fault."""
    said = docstring_of(one)
    assert said.parts.get("Source"), f"{one.__module__}.{one.__name__} has no Source line"
    name = f"{one.__module__.rpartition('.')[2]}.{one.__name__}"
    parts = [f"### {name}", md.escaped(said.summary), _formula(said), _inputs(one, said)]
    parts += [md.escaped(text) for text in said.rest]
    for word, text in said.parts.items():
        if word not in {"Formula", "Source"}:
            parts.append(f"**{word}**: {md.escaped(text)}")
    if isinstance(one, type):
        parts.append("\n".join(f"- `{of}`: {docstring_of(how).summary}" for of, how in public_methods(one).items()))
    parts.append(f"**Source**: {md.escaped(said.parts['Source'])}")
    parts.append(_checked(checks(one)))
    return "\n\n".join(part for part in parts if part)


def checks(one: Formula) -> tuple[Check, ...]:
    """What holds a function or a class."""
    methods = frozenset(public_methods(one)) if isinstance(one, type) else frozenset[str]()
    return checks_of_member(f"{one.__module__}.{one.__name__}", methods)


def _checked(found: tuple[Check, ...]) -> str:
    """What holds a formula: printed figures first, then tests in words, published before our own."""
    if not found:
        return ""
    figures = [one.said for one in found if one.figure]
    tests = [one for one in found if not one.figure]
    words = [one.said for one in tests if one.outside] + [f"our own: {one.said}" for one in tests if not one.outside]
    shown = figures[:MOST_FIGURES] + words[: MOST_TESTS if figures else MOST_FIGURES]
    more = len(figures) + len(words) - len(shown)
    lines = [f"- {md.escaped(one)}" for one in shown] + ([f"- and {more} more"] if more else [])
    return "**Checked**:\n\n" + "\n".join(lines)


def _title(module: ModuleType) -> str:
    word = module.__name__.rpartition(".")[2]
    name = TITLES.get(word, word.replace("_", " "))
    return name[0].upper() + name[1:]


def _module(module: ModuleType, formulas: list[Formula]) -> str:
    said = docstring_of(module)
    opening = [md.escaped(text) for text in (said.summary, *said.rest)]
    return "\n\n".join([f"## {_title(module)}", *opening, *(function(one) for one in formulas)])


def _formula(said: Docstring) -> str:
    text = said.parts.get("Formula", "")
    return f"**Formula**: {md.escaped(text)}" if text else ""


def _inputs(one: Formula, said: Docstring) -> str:
    if isinstance(one, type):
        return "\n".join(f"- `{name}`: {md.escaped(text)}" for name, text in said.lists.get("Attributes", {}).items())
    defaults = {name: p.default for name, p in inspect.signature(one).parameters.items()}
    lines = []
    for name, text in said.lists.get("Args", {}).items():
        default = defaults.get(name.lstrip("*"), inspect.Parameter.empty)
        given = "" if default is inspect.Parameter.empty or default is None else f" (left out: {default})"
        lines.append(f"- `{name}`: {md.escaped(text)}{given}")
    return "\n".join(lines)
