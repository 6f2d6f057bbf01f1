"""The county as its greens are compared, read from the table of figures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import polars as pl

from pipeline.common.grouped import grouped
from pipeline.compare.county import County, Member, is_whole, with_figures
from pipeline.compare.figures import Figure, figure_of
from pipeline.compare.like import path_of
from pipeline.figures.state import state_of
from pipeline.indicators.soil.laboratory import common
from pipeline.store.last_day import last_days
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS

_FIELDS = ("value", "low", "high", "sd", "sampled", "questioned")
ORGANIC_MATTER = "SELECT * FROM soil_test WHERE analyte = 'organic_matter' AND date_to IS NULL"
"""SQL of the organic matter of all greens that a laboratory's steps and drifts are looked for in."""


def county_in(store: Store, season: Season, workspace: Workspace, names: Sequence[str]) -> County | None:
    """The county for a season and those before (pipeline/compare/county.py); None where figures are not to be read.

    A green without figures of a season has none to compare: its group is told from the register all the same.
    """
    if not state_of(store, workspace.settings).fresh:
        return None
    earlier = workspace.season_of(season.start - timedelta(days=1))
    clubs = {row["club"]: row for row in store.dicts("SELECT * FROM club ORDER BY club")}
    known, as_of, members = last_days(store), season.start, {}
    held = _held(store)
    for green, club, name in store.rows("SELECT green, club, name FROM green ORDER BY club, green"):
        day = season.last_counted(known.get(green))
        row = [one for one in held[green] if one["holds_from"] is None or one["holds_from"] <= day][-1]
        members[green] = Member(name or green, club, path_of(row, clubs[club]), day)
        as_of = max(as_of, day)
    now, before = (_figures(store, one.name, members, names) for one in (season, earlier))
    past = "SELECT DISTINCT season FROM derived.compared WHERE season < ? ORDER BY season"
    long_ago = {name: _figures(store, name, members, names) for (name,) in store.rows(past, [earlier.name])}
    options = workspace.settings.method_options
    moved = common(organic_matter(store), as_of, options.weeks)
    return County(
        members, now, before, season.name, earlier.name, as_of, options.percentile, moved,
        earlier=with_figures(long_ago), whole=is_whole(season, as_of),
    )  # fmt: skip


def organic_matter(store: Store) -> pl.DataFrame:
    """The organic matter of all greens, in the order of soil tests."""
    return store.frame(ORGANIC_MATTER, by=KINDS["soil_test"].reading_order)


def _held(store: Store) -> dict[str, list[dict[str, Any]]]:
    """What the register said of each green, in order of days."""
    rows = store.dicts("SELECT * FROM green_by_day ORDER BY green, holds_from NULLS FIRST")
    return grouped(rows, lambda row: str(row["green"]))


def _figures(store: Store, season: str, greens: dict[str, Member], names: Sequence[str]) -> dict[str, Sequence[Figure]]:
    """Figures of each green, in the order of the indicators asked for."""
    rows = store.dicts("SELECT * FROM derived.compared WHERE season = ? ORDER BY green, place", [season])
    found: dict[str, list[Figure]] = {green: [] for green in greens}
    for row in sorted(
        (row for row in rows if row["indicator"] in names), key=lambda row: names.index(row["indicator"])
    ):
        told = {name: row[name] for name in _FIELDS}
        found[row["green"]].append(figure_of(row["indicator"], row["band"], row["method"], **told))
    return dict(found)
