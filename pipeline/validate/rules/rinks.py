"""Rules for rinks: a number that the green has no room for, and a name unlike the green's others."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

import polars as pl

from pipeline.agronomy.levels.green_axes import RINK_LEAST_M
from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register

NO_SUCH_RINK = FaultKind(
    "rink.number",
    "Rink that the green has no room for",
    "Rink {value}, and {green} ({size}) has room for {most} at most.",
    "Check the rink and the code of the green. Where the club numbers on over both ways of play, nothing need be done.",
    severity="warning",
)
UNLIKE_OTHERS = FaultKind(
    "rink.name",
    "Rink that is named unlike the others",
    "Rink “{value}” is no number, as the {count} other rinks of {green} in this file are.",
    "Write it as the club numbers it; a place that is no rink goes into the place of the reading.",
    severity="warning",
)
GREEN_LEAST_M = 31.0
"""Shortest side of a green in the direction of play, m (Laws of the Sport of Bowls, as quoted by DLGSC)."""
_NUMBER = re.compile(r"(?:rink|no|r)?[ .]*0*([0-9]{1,3})", re.IGNORECASE)


def check(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of the rinks that records name; one a rink of a green, at its first line."""
    named = records.drop_nulls("rink").group_by("green", "rink", maintain_order=True).agg(pl.col("line").min())
    if named.is_empty():
        return concat([])
    sizes = {row["green"]: row for row in register.greens.iter_rows(named=True)}
    return concat(
        fault
        for (green,), part in named.group_by("green", maintain_order=True)
        for fault in _of_green(part, str(green), sizes.get(green, {}))
    )


def _of_green(part: pl.DataFrame, green: str, row: dict[str, Any]) -> Iterator[pl.DataFrame]:
    rinks = [
        (line, str(rink), _NUMBER.fullmatch(str(rink).strip())) for rink, line in part.select("rink", "line").rows()
    ]
    numbered = sum(found is not None for _, _, found in rinks)
    room = _room(row)
    for line, rink, found in rinks:
        if found is None:
            if numbered > len(rinks) / 2:
                yield UNLIKE_OTHERS.at(line, rink, "rink", green=green, count=numbered)
        elif room is not None and not 1 <= int(found[1]) <= room[0]:
            yield NO_SUCH_RINK.at(line, rink, "rink", green=green, most=room[0], size=room[1])


def _room(row: dict[str, Any]) -> tuple[int, str] | None:
    """How many rinks of the least width lie side by side on a green at most, and its size in words."""
    length, width, area = (row.get(name) for name in ("length_m", "width_m", "area_m2"))
    if length and width:
        return math.floor(max(length, width) / RINK_LEAST_M), f"{width:g} × {length:g} m"
    if area:
        return math.floor(max(area / GREEN_LEAST_M, math.sqrt(area)) / RINK_LEAST_M), f"{area:g} m²"
    return None
