"""How a laboratory made a result, and results of one day that were made in more than one way: never averaged."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from pipeline.common.words import listed
from pipeline.indicators.base.rows import Row, Rows
from pipeline.statistics.series import latest_key

Parts = Callable[[Row], tuple[str, ...]]
"""A result → what must be the same for two to be compared, in words."""


def method_parts(row: Row) -> tuple[str, ...]:
    """What must be the same for two results of organic matter; what is not stated is a kind of its own."""
    burn = f"burned at {row['burn_c']:g} °C" if row["burn_c"] is not None else "burn temperature not stated"
    preparation = {"whole": "whole", "sieved": "sieved", None: "sieving not stated"}[row["preparation"]]
    verdure = {"on": "verdure left on", "off": "verdure taken off", None: "verdure not stated"}[row["verdure"]]
    return burn, preparation, verdure, *lab_parts(row)


def lab_parts(row: Row) -> tuple[str, ...]:
    """What must be the same for two results of one extract: the laboratory."""
    return (row["lab"] or "laboratory not stated",)


def method_key(row: Row) -> str:
    """The method of a result of organic matter in words."""
    return _in_words(row["burn_c"], row["preparation"], row["verdure"], row["lab"])


@lru_cache(4096)
def _in_words(*said: object) -> str:
    return ", ".join(method_parts(dict(zip(("burn_c", "preparation", "verdure", "lab"), said, strict=True))))


def apart(rows: Rows, parts: Parts) -> list[tuple[str, Rows]]:
    """Results of one day by how they were made, each with the words that tell it from the others ("" where alone)."""
    made: dict[tuple[str, ...], list[Row]] = {}
    for row in rows:
        made.setdefault(parts(row), []).append(row)
    found = []
    for one in sorted(made):
        told = [part for part, *all_of in zip(one, *made, strict=True) if len(set(all_of)) > 1]
        found.append((", ".join(told), rows.these(made[one])))
    return found


def beside(words: str, every: list[tuple[str, Rows]]) -> str:
    """A word on the results of that day made otherwise, which stand for themselves; "" where there are none."""
    others = [f"“{other}”" for other, _ in every if other != words]
    if not others:
        return ""
    return f" Of that day there is a result by {listed(others)} as well: not comparable, not averaged."


def latest_method(rows: Rows) -> str:
    """The method that a trend goes on with: the last day's; of several, the one with the longer unbroken record.

    Args:
        rows: results of organic matter of one layer, oldest first.
    """
    known = rows.given("value")
    if not known:
        return method_key(rows.rows[-1])
    return latest_key(known.column("date"), [method_key(row) for row in known])


def of_method(rows: Rows, key: str) -> Rows:
    """The results of organic matter made so."""
    return rows.where(lambda row: method_key(row) == key)
