"""Targets that users set, as the limits of rules: green beats club beats region beats standard."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.common.grouped import grouped
from pipeline.common.words import listed
from pipeline.store.register import Register
from pipeline.workspace.targets.fit import at_odds, clash, most_particular, unfit
from schemas import KINDS
from schemas.codes import fold

TIED = FaultKind(
    "target.tied",
    "Two targets that may hold at once ask for different things",
    "Other ends of {value} for the same {scope} stand on {other}, and neither is more particular: where both hold, a "
    "figure has no target.",
    "Name in one of them what the other names too (construction, shape, method), or end one: load it with low and high "
    "blank.",
    severity="warning",
)
SCOPES = ("green", "club", "region", "standard")
"""Narrowest first: the first that has a target wins."""
_SCHEMA = {"green": pl.String, "season": pl.String, "goal_low": pl.Float64, "goal_high": pl.Float64}
_SCHEMA |= {"goal_source": pl.String}
_SURFACE = ("club", "construction", "construction_type", "shape")
"""What a register of greens says that a target may ask for."""


def with_goal(records: pl.DataFrame, register: Register, indicator: str, unit: str) -> pl.DataFrame:
    """Records with ``goal_low``, ``goal_high`` and ``goal_source`` of the target in force on their green and day.

    All three are null where nobody set one; the shipped sets are not looked at, since the rules' own limits stand for
    them. A target for one band, in another unit, or for another surface than the green's, is left out, and so are two
    that hold alike and ask for different things.
    """
    own = register.targets.filter((pl.col("indicator") == indicator) & pl.col("band").fill_null("").eq(""))
    rows = [row for row in own.to_dicts() if fold(str(row["unit"])) == fold(unit)]
    if not rows:
        nothing = [pl.lit(None, dtype=dtype).alias(name) for name, dtype in _SCHEMA.items() if name.startswith("goal")]
        return records.with_columns(nothing)
    dated = records.with_columns(_season(register.season_start).alias("season"))
    dated = register.joined(dated.drop(_SURFACE, strict=False), "green", _SURFACE)
    pairs = dated.select("green", "season", *_SURFACE).unique(maintain_order=True)
    regions = register.clubs.select("club", "region")
    places = pairs.join(regions, on="club", how="left", maintain_order="left")
    found = [{**place, **_found(place, rows)} for place in places.iter_rows(named=True)]
    where = ["green", "season", *_SURFACE]
    goals = pl.DataFrame(found, schema={**dict.fromkeys(where, pl.String), **_SCHEMA})
    return dated.join(goals, on=where, how="left", nulls_equal=True, maintain_order="left").drop(_SURFACE)


def check_ties(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Targets that may hold for one figure at once and ask for different things, each with the lines of the others."""
    key = list(KINDS["target"].key)
    standing = register.targets.join(records, on=key, how="anti", nulls_equal=True, maintain_order="left").to_dicts()
    alike = grouped([*records.to_dicts(), *standing], lambda row: (row["indicator"], row["scope"], row["scope_name"]))
    faults = []
    for rows in alike.values():
        for one in rows:
            others = [] if "file" in one else [_place(other) for other in rows if clash(one, other)]
            if others:
                faults.append(
                    TIED.at(one["line"], one["indicator"], "indicator", other=listed(others), scope=one["scope"])
                )
    return concat(faults)


def _place(target: Mapping[str, object]) -> str:
    """Where a target stands; one without a file is of the file being read."""
    return f"line {target['line']} of {target.get('file') or 'this file'}"


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
    fitting: dict[str, list[Mapping[str, object]]] = {}
    for row in rows:
        here = row["scope"] == "standard" or row["scope_name"] == place[str(row["scope"])] is not None
        if here and (row["season"] or "") in {"", place["season"]} and not unfit(row, place):
            fitting.setdefault(str(row["scope"]), []).append(row)
    found = most_particular(next((fitting[scope] for scope in SCOPES if scope in fitting), []))
    best: Mapping[str, object] = found[0] if found and not at_odds(found) else {}
    return {
        "green": place["green"],
        "season": place["season"],
        "goal_low": best.get("low"),
        "goal_high": best.get("high"),
        "goal_source": best.get("source"),
    }
