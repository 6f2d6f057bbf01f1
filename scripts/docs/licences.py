"""docs/licences.md: under which licence each library stands that the product or its tests rest on.

The metadata of what is installed says it; ``licences.toml`` says which licences are plainly permissive and why one that
is not is let in.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from email.message import Message
from functools import cache
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path
from typing import Any, cast

from scripts.docs import markdown as md
from scripts.supply.lock import Locked, locked, runtime_names

OPENING = """\
Every library is pinned with its version and the SHA-256 of each of its files in `requirements.lock`; licences are those
that the libraries state of themselves. The family of a licence is named ("BSD" has two and three clauses). A licence
that is not plainly permissive has its reason beside it; a library without one cannot be added
(`tests/supply/test_licences.py`). swardtally itself is under the [MIT licence](../LICENSE)."""

ENDS = """\
Here this list and `make bom` end: what a wheel was compiled with beyond that (Rust and C++ libraries of duckdb, polars,
pyarrow, vl-convert-python and others) is in that wheel's own notices, and was not looked through one by one."""


@dataclass(frozen=True)
class Licensed:
    """A library and its licence, as families joined by AND and OR; why it is let in where that is not plain."""

    name: str
    licence: str
    why: str = ""


@cache
def rules() -> Mapping[str, Any]:
    """What ``licences.toml`` says."""
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8"))


def in_families(expression: str) -> str:
    """A licence expression by families, each once, in their order: "BSD-3-Clause AND MIT" is "BSD AND MIT"."""
    assert not (" AND " in expression and " OR " in expression), f"{expression}: AND with OR is not read yet"
    word = " AND " if " AND " in expression else " OR "
    words = rules()["words"]
    return word.join(sorted({words.get(part, part) for part in re.split(r" AND | OR ", expression)}))


def stated(told: Message) -> str:
    """The licence that a distribution's metadata state, by families.

    Raises:
        LookupError: they state none, or in words that ``licences.toml`` does not know.
    """
    if expression := told.get("License-Expression"):
        return in_families(expression)
    words = rules()["words"]
    named = [one.split(" :: ")[-1] for one in told.get_all("Classifier") or () if one.startswith("License :: OSI")]
    if not named:
        named = [(told.get("License") or "").strip().splitlines()[0] if told.get("License") else ""]
    known = {*words, *words.values(), *rules()["permissive"]}
    if strange := [one for one in named if one not in known]:
        raise LookupError(f"{told['Name']} states {strange[0]!r}: say in licences.toml what that is")
    return in_families(" OR ".join(named))


def licensed(one: Locked) -> Licensed:
    """A locked library with its licence."""
    try:
        licence = stated(cast("Message", metadata(one.name)))
    except PackageNotFoundError:
        licence = rules()["elsewhere"][one.name]
    return Licensed(one.name, licence, rules()["reasons"].get(one.name, {}).get("why", ""))


def offences(found: Iterable[Licensed]) -> list[str]:
    """What may not stay: a licence that is not permissive and has no reason, or another than the reason speaks of."""
    permissive, reasons, wrong = set(rules()["permissive"]), rules()["reasons"], []
    for one in found:
        plain = set(re.split(r" AND | OR ", one.licence)) <= permissive
        if not plain and reasons.get(one.name, {}).get("licence") != one.licence:
            wrong.append(f"{one.name}: {one.licence}")
    return wrong


def both() -> tuple[Sequence[Licensed], Sequence[Licensed]]:
    """Libraries of the product, and those for developing it alone; of those locked."""
    names = {one.name: licensed(one) for one in locked()}  # of one for several versions of Python, the one that is here
    product = runtime_names()
    elsewhere = {"colorama", "brotlicffi"}
    mine = [one for name, one in names.items() if name in product or name in elsewhere]
    return mine, [one for one in names.values() if one not in mine]


def page() -> str:
    """docs/licences.md."""
    product, others = both()
    heads = ("library", "licence", "why")
    return md.page(
        "Licences",
        OPENING,
        "## Of the product",
        md.table(heads, [(one.name, one.licence, one.why) for one in product]),
        "## Shipped in the wheel, and not its own",
        md.table(
            ("what", "files", "licence", "why"),
            [(one["what"], md.code(one["files"]), one["licence"], one["why"]) for one in rules()["bundled"]],
        ),
        "Every other file of the wheel is swardtally's own; the demo's records and pictures are invented and drawn.",
        "## Carried inside the wheels of others",
        md.table(
            ("in", "what", "licence", "why"),
            [(one["in"], one["what"], one["licence"], one.get("why", "")) for one in rules()["carried"]],
        ),
        ENDS,
        "## Loaded at run time, not shipped",
        md.table(("what", "licence", "why"), [(one["what"], one["licence"], one["why"]) for one in rules()["beside"]]),
        "## For developing alone",
        md.table(heads, [(one.name, one.licence, one.why) for one in others]),
    )
