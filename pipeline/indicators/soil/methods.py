"""How a laboratory made a result, and results of one day that were made in more than one way: never averaged."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import polars as pl

from pipeline.common.words import listed
from pipeline.statistics.series import comparable_run

Parts = Callable[[dict[str, Any]], tuple[str, ...]]
"""A result → what must be the same for two to be compared, in words."""


def method_parts(row: dict[str, Any]) -> tuple[str, ...]:
    """What must be the same for two results of organic matter; what is not stated is a kind of its own."""
    burn = f"burned at {row['burn_c']:g} °C" if row["burn_c"] is not None else "burn temperature not stated"
    preparation = {"whole": "whole", "sieved": "sieved", None: "sieving not stated"}[row["preparation"]]
    verdure = {"on": "verdure left on", "off": "verdure taken off", None: "verdure not stated"}[row["verdure"]]
    return burn, preparation, verdure, *lab_parts(row)


def lab_parts(row: dict[str, Any]) -> tuple[str, ...]:
    """What must be the same for two results of one extract: the laboratory."""
    return (row["lab"] or "laboratory not stated",)


def method_key(row: dict[str, Any]) -> str:
    """The method of a result of organic matter in words."""
    return ", ".join(method_parts(row))


def apart(rows: pl.DataFrame, parts: Parts) -> list[tuple[str, pl.DataFrame]]:
    """Results of one day by how they were made, each with the words that tell it from the others ("" where alone)."""
    keys = [parts(row) for row in rows.iter_rows(named=True)]
    several = sorted(set(keys))
    found = []
    for one in several:
        told = [part for part, *all_of in zip(one, *several, strict=True) if len(set(all_of)) > 1]
        found.append((", ".join(told), rows.filter(pl.Series([key == one for key in keys], dtype=pl.Boolean))))
    return found


def beside(words: str, every: list[tuple[str, pl.DataFrame]]) -> str:
    """A word on the results of that day made otherwise, which stand for themselves; "" where there are none."""
    others = [f"“{other}”" for other, _ in every if other != words]
    if not others:
        return ""
    return f" Of that day there is a result by {listed(others)} as well: not comparable, not averaged."


def latest_method(rows: pl.DataFrame) -> str:
    """The method that a trend goes on with: the last day's; of several, the one with the longer unbroken record.

    Args:
        rows: results of organic matter of one layer.
    """
    known = rows.drop_nulls("value")
    if not known.height:
        return method_key(rows.sort("date", "file", "line", maintain_order=True).row(-1, named=True))
    keys = [method_key(row) for row in known.iter_rows(named=True)]
    return comparable_run(known["date"].to_list(), known["value"].to_list(), keys).key


def of_method(rows: pl.DataFrame, key: str) -> pl.DataFrame:
    """The results of organic matter made so."""
    return rows.filter(pl.Series([method_key(row) == key for row in rows.iter_rows(named=True)], dtype=pl.Boolean))
