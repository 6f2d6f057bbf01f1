"""Targets that users set, as the limits of rules: green beats club beats region beats standard."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.store.register import Register
from pipeline.workspace.targets.fit import facets, unfit
from schemas.codes import fold

SCOPES = ("green", "club", "region", "standard")
"""Narrowest first: the first that has a target wins."""
_SCHEMA = {"green": pl.String, "season": pl.String, "goal_low": pl.Float64, "goal_high": pl.Float64}
_SCHEMA |= {"goal_source": pl.String}


def with_goal(records: pl.DataFrame, register: Register, indicator: str, unit: str) -> pl.DataFrame:
    """Records with ``goal_low``, ``goal_high`` and ``goal_source`` of the target in force on their green and day.

    All three are null where nobody set one; the shipped sets are not looked at, since the rules' own limits stand for
    them. A target for one band, in another unit, or for another surface than the green's, is left out.
    """
    own = register.targets.filter((pl.col("indicator") == indicator) & pl.col("band").fill_null("").eq(""))
    rows = [row for row in own.to_dicts() if fold(str(row["unit"])) == fold(unit)]
    if not rows:
        nothing = [pl.lit(None, dtype=dtype).alias(name) for name, dtype in _SCHEMA.items() if name.startswith("goal")]
        return records.with_columns(nothing)
    dated = records.with_columns(_season(register.season_start).alias("season"))
    pairs = dated.select("green", "season").unique(maintain_order=True)
    greens = register.greens.select("green", "club", "construction", "construction_type", "shape")
    places = pairs.join(greens, on="green", how="left", maintain_order="left").join(
        register.clubs.select("club", "region"), on="club", how="left", maintain_order="left"
    )
    found = [_found(place, rows) for place in places.iter_rows(named=True)]
    return dated.join(pl.DataFrame(found, schema=_SCHEMA), on=["green", "season"], how="left", maintain_order="left")


def _season(start: str) -> pl.Expr:
    """Name of the season a date falls in: the year it ends in."""
    month, day = (int(part) for part in start.split("-"))
    year = pl.col("date").dt.year()
    if (month, day) == (1, 1):
        return year.cast(pl.String)
    begun = pl.col("date").dt.month().cast(pl.Int32) * 100 + pl.col("date").dt.day() >= month * 100 + day
    return (year + begun.cast(pl.Int32)).cast(pl.String)


def _found(place: Mapping[str, object], rows: list[dict[str, object]]) -> dict[str, object]:
    """The target in force at a place and season, in the columns of the result."""
    fitting = [
        (SCOPES.index(str(row["scope"])), not row["season"], -facets(row), row)
        for row in rows
        if (row["season"] or "") in {"", place["season"]}
        and (row["scope"] == "standard" or row["scope_name"] == place[str(row["scope"])] is not None)
        and not unfit(row, place)
    ]
    best = min(fitting, key=lambda one: one[:3])[3] if fitting else {}
    return {
        "green": place["green"],
        "season": place["season"],
        "goal_low": best.get("low"),
        "goal_high": best.get("high"),
        "goal_source": best.get("source"),
    }
