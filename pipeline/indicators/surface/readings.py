"""The readings of one thing on one visit, by one method: mean or share, interval, spread, change since the last visit.

What makes two visits comparable is in ``method``: the way, the hammer's mass and drop, the depth, the ring. Readings
that differ in it are never put together, whether of one day or of two years.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist
from typing import Any

import polars as pl

from pipeline.agronomy.sward import clumping
from pipeline.common.words import counted
from pipeline.indicators.base.species import added_up
from pipeline.statistics.difference import Difference, mean_difference, share_difference
from pipeline.statistics.interval import coefficient_of_variation, mean_interval, t_quantile, wilson_interval
from schemas.codes import Code, code_list

ADDED = "Several readings of one place, as of several species, are added up."
FEWEST_FOR_SPREAD = 3
"""Readings from which a spread over the green is given: common practice, no source."""


@dataclass(frozen=True)
class Visit:
    """Readings of one thing on one day by one method.

    Attributes:
        code: the thing.
        day: day of the visit.
        method: what must be the same for two visits to be compared, in words.
        rows: the readings.
        each: the same place by place: readings of several species that are one thing are added up.
        value: mean, or share of all points in %, in the thing's unit.
        low: lower end of its 95 % interval; None where the readings do not carry one.
        high: upper end.
        cv_pct: standard deviation over the mean, readings of the green, %; None for counts and for few readings.
        points: points counted, and what they are worth as independent ones; None for measurements.
        how: how value and interval were made, one sentence.
    """

    code: Code
    day: date
    method: str
    rows: pl.DataFrame
    each: pl.DataFrame
    value: float
    low: float | None
    high: float | None
    cv_pct: float | None
    points: tuple[float, float] | None
    how: str


@dataclass(frozen=True)
class Change:
    """What a visit shows against the one before it.

    Attributes:
        since: day of the earlier visit.
        earlier: its mean or share.
        difference: later less earlier with its interval.
    """

    since: date
    earlier: float
    difference: Difference


def readings(rows: pl.DataFrame) -> pl.DataFrame:
    """Observations that hold a figure, with ``key``: the method in words."""
    known = rows.filter(pl.col("value").is_not_null() & (pl.col("observed") != "layer"))
    keys = [method_key(row) for row in known.iter_rows(named=True)]
    return known.with_columns(pl.Series("key", keys, dtype=pl.String))


def visits(rows: pl.DataFrame, what: str) -> list[Visit]:
    """Every visit at which a thing was measured, oldest first; two methods on one day are two visits.

    Args:
        rows: what :func:`readings` yields.
        what: name of the thing.
    """
    own = rows.filter(pl.col("observed") == what)
    groups = sorted(own.group_by("date", "key", maintain_order=True), key=lambda group: (group[0][0], str(group[0][1])))
    return [visit(part) for _, part in groups]


def latest(found: list[Visit]) -> Iterator[tuple[Visit, Change | None]]:
    """The last visit by each method with its change since the one before by that method, in order of method."""
    for method in sorted({one.method for one in found}):
        same = [one for one in found if one.method == method]
        yield same[-1], change(same[-1], same[-2]) if len(same) > 1 else None


def visit(rows: pl.DataFrame) -> Visit:
    """The readings of one thing, day and method put together."""
    first = rows.row(0, named=True)
    code = code_list("observation")[first["observed"]]
    each = added_up(rows)
    added = "" if each.height == rows.height else f" {ADDED}"
    if each["points"].null_count() == 0:
        value, low, high, points, how = _share(each)
        return Visit(code, first["date"], first["key"], rows, each, value, low, high, None, points, how + added)
    values = each["value"].to_list()
    mean = mean_interval(values)
    least = None if mean.low is None else max(0.0, mean.low)
    most = min(100.0, mean.high) if mean.high is not None and code.facts["unit"] == "%" else mean.high
    how = f"Mean of {counted(each.height, 'reading')}"
    how += "; 95 % t interval from their spread." if each.height > 1 else "; one reading has no interval."
    return Visit(code, first["date"], first["key"], rows, each, mean.mean, least, most, _cv(values), None, how + added)


def _cv(values: list[float]) -> float | None:
    if len(values) < FEWEST_FOR_SPREAD or sum(values) <= 0:
        return None
    return 100.0 * coefficient_of_variation(values)


def _share(rows: pl.DataFrame) -> tuple[float, float, float, tuple[float, float], str]:
    """Share of all points in %, Wilson's interval, (points, their worth) and how, of counts place by place."""
    hits, points = rows["hits"].to_list(), rows["points"].to_list()
    total, share = float(sum(points)), sum(hits) / sum(points)
    worth = _worth(rows, rows.height - 1)
    low, high = wilson_interval(share * worth, worth)
    how = f"{sum(hits):,} of {sum(points):,} points at {counted(rows.height, 'place')}; 95 % Wilson interval"
    how += (
        f", the points taken as {worth:,.0f} since places differ more than by chance, estimated from few places."
        if worth < total
        else "."
    )
    return 100.0 * share, 100.0 * low, 100.0 * high, (total, worth), how


def _worth(rows: pl.DataFrame, freedom: int) -> float:
    """How many independent points the points of a visit are worth, where places differ more than by chance.

    Few places tell only roughly how far places differ, so that less is left of it by (z/t)².

    Source: Korn & Graubard 1998, Survey Methodology 24:193–201: effective sample size by degrees of freedom.
    """
    total, clumped = float(rows["points"].sum()), clumping(rows["hits"].to_list(), rows["points"].to_list())
    if clumped <= 1.0:
        return total
    sureness = (NormalDist().inv_cdf(0.975) / t_quantile(freedom)) ** 2
    return max(1.0, total / clumped * sureness)


def change(later: Visit, earlier: Visit) -> Change:
    """What the later of two visits shows against the earlier; both must be of one thing and one method."""
    assert (later.code, later.method) == (earlier.code, earlier.method), "visits that are not comparable"
    if later.points and earlier.points:
        both = later.each.height + earlier.each.height - 2  # how far places differ is told by those of both visits
        new, old = (_worth(one.each, both) for one in (later, earlier))
        found = share_difference((later.value / 100.0 * new, new), (earlier.value / 100.0 * old, old))
        scaled = Difference(100.0 * found.change, _times(found.low), _times(found.high))
        return Change(earlier.day, earlier.value, scaled)
    found = mean_difference(later.each["value"].to_list(), earlier.each["value"].to_list())
    return Change(earlier.day, earlier.value, found)


def _times(share: float | None) -> float | None:
    return None if share is None else 100.0 * share


def method_key(row: dict[str, Any]) -> str:
    """What must be the same for two readings to be compared, in words; what is not stated is a kind of its own."""
    how = code_list("observation_method")[row["method"]].label if row["method"] else "method not stated"
    parts = [how.lower() if row["method"] else how]
    if row["observed"] == "hardness":
        parts.append(f"{row['hammer_kg']:g} kg hammer" if row["hammer_kg"] is not None else "hammer not stated")
        parts.append(f"drop {row['drop']}" if row["drop"] is not None else "drop not stated")
    elif row["observed"] == "moisture":
        low, high = row["depth_from_mm"] or 0.0, row["depth_to_mm"]
        parts.append(f"{low:g}–{high:g} mm" if high is not None else "depth not stated")
    elif row["observed"] == "infiltration":
        parts.append(f"{row['ring_mm']:g} mm ring" if row["ring_mm"] is not None else "ring not stated")
    if row["points"] is not None and row["method"] is None:
        parts[0] = "counted points"
    return ", ".join(parts)


def figure_names(code: Code) -> tuple[str, str]:
    """Machine names of a thing's spread over the green and of its change since the visit before."""
    unit, figure = str(code.facts["unit"]), str(code.facts["figure"])
    suffix = {"%": "pct", "mm/h": "mm_h"}.get(unit, unit)
    stem = figure.removesuffix(f"_{suffix}")
    return f"{stem}_cv_pct", f"{stem}_change_{suffix}"


def broken_series(found: list[Visit]) -> str:
    """A sentence where the thing was measured before, but otherwise; "" where the methods agree."""
    last = found[-1]
    others = sorted({one.method for one in found if one.method != last.method and one.day < last.day})
    if not others or any(one.method == last.method and one.day < last.day for one in found):
        return ""
    return f"Earlier readings are not comparable: {'; '.join(others)}."
