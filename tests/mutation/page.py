"""docs/mutation.md: how many changes of each module a test noticed, and why the others are let stand."""

from __future__ import annotations

import math
import tomllib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from scripts.docs import markdown as md

REASONS = Path(__file__).parent / "reasons.toml"
"""Why a change that no test notices is let stand, by module and change."""
PAGE = Path(__file__).parents[2] / "docs" / "mutation.md"

OPENING = """\
`make mutation` changes the code of `pipeline/agronomy/` and `pipeline/statistics/` in one small place at a time (a
number one up or down, `<` into `<=`, `+` into another operator, `and` into `or`, a `not`, a loop that never runs, a
decorator gone) by the operators of cosmic-ray, and runs the tests of the formulas that reach the changed line
(`tests/agronomy`, `tests/published`, `tests/statistics`; not those of figures and documents). A change that a test
notices is killed. Of each place and sort of change one is tried, chosen by a checksum of module, line and column; a
comparison is also turned into its neighbour, which only a test at the limit itself can tell. Bitwise operators are
tried on masks only: on numbers anything would notice them. Changes of annotations and documentation are none. With
`MODULES="--share 3"` every third of a module's changes is tried, in the order of its lines; "tried" below says how
many of how many.

A handful of changes that once went unnoticed is tried in every `make test` (`tests/mutation/test_mutation.py`)."""

Result = Mapping[str, Any]


def page(results: Iterable[Result], untried: Iterable[str] = ()) -> str:
    """The page, of results as ``python -m tests.mutation`` writes them, and of modules that have none."""
    by_module: dict[str, list[Result]] = defaultdict(list)
    for one in results:
        by_module[one["module"]].append(one)
    why = reasons()
    rows = [_row(module, some) for module, some in sorted(by_module.items())]
    every = [one for some in by_module.values() for one in some]
    left = [one for one in every if not killed(one)]
    told = [one for one in left if key(one) in why]
    open_ones = [one for one in left if key(one) not in why]
    left_out = ", ".join(f"`{one.removeprefix('pipeline.')}`" for one in untried)
    parts = [
        f"Tried: {len(every):,}; killed: {_share(every)}. Not killed, with a reason: {len(told)}; "
        f"without one yet: {len(open_ones)}." + (f" Not tried yet: {left_out}." if left_out else ""),
        " ".join(filter(None, (_in_part(by_module), runs()))),
        md.table(("module", "places and sorts", "tried", "killed", "killed, %", "left"), rows),
        "## Let stand, and why",
        md.table(("module", "line", "change", "reason"), [(*_place(one), why[key(one)]) for one in told]),
    ]
    if open_ones:
        parts += ["## Not noticed yet", md.table(("module", "line", "change"), [_place(one) for one in open_ones])]
    return f"# Mutation\n\n{OPENING}\n\n" + "\n\n".join(parts) + "\n"


def killed(one: Result) -> bool:
    """Whether a test noticed."""
    return str(one["verdict"]).startswith("killed")


def key(one: Result) -> tuple[str, str]:
    """What a reason is found by: the same change on two lines has one reason."""
    return one["module"].removeprefix("pipeline."), one["change"]


def reasons() -> dict[tuple[str, str], str]:
    """The reasons on file."""
    known = tomllib.loads(REASONS.read_text("utf-8"))
    return {(one["module"], change): one["reason"] for one in known["let_stand"] for change in one["changes"]}


def runs() -> str:
    """Which run the rows are of, as kept by hand beside the reasons: a result does not say when it was made."""
    return str(tomllib.loads(REASONS.read_text("utf-8")).get("runs", ""))


def _in_part(by_module: Mapping[str, list[Result]]) -> str:
    """How many modules of each package were not tried whole, and of those every third change; "" where all were."""
    found = []
    for package in dict.fromkeys(_package(module) for module in sorted(by_module)):
        of_package = [some for module, some in by_module.items() if _package(module) == package]
        part = [some for some in of_package if len(some) < some[0]["of"]]
        third = sum(len(some) == math.ceil(some[0]["of"] / 3) for some in part)
        if part:
            found.append(f"{len(part)} of the {len(of_package)} modules of {package} (every third change: {third})")
    if not found:
        return ""
    return f"Tried in part only: {', '.join(found)}; whether a test notices the other changes there is not known."


def _package(module: str) -> str:
    return module.removeprefix("pipeline.").partition(".")[0]


def _share(some: list[Result]) -> str:
    count = sum(map(killed, some))
    return f"{count:,} ({100 * count / len(some):.1f} %)"


def _row(module: str, some: list[Result]) -> tuple[object, ...]:
    count = sum(map(killed, some))
    name = module.removeprefix("pipeline.")
    return name, some[0]["of"], len(some), count, f"{100 * count / len(some):.0f}", len(some) - count


def _place(one: Result) -> tuple[object, ...]:
    return key(one)[0], one["line"], f"`{one['change']}`"
