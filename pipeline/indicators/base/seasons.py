"""The seasons that greens have records of."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import polars as pl

from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.records import Records
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS


def seasons_on_record(records: Records, workspace: Workspace) -> Iterator[tuple[str, Season]]:
    """Every green and season from its first record to its last, green by green."""
    kinds = [kind.name for kind in KINDS.values() if kind.of_green and kind.dated]
    days = pl.concat(
        [
            frame.select("green", "date", (LAST if "date_to" in frame.columns else pl.col("date")).alias("last"))
            for name in kinds
            for frame in (records.frames[name], *([records.periods[name]] if name in records.periods else []))
        ]
    ).drop_nulls()
    spans = days.group_by("green", maintain_order=True).agg(pl.col("date").min(), pl.col("last").max())
    for green, first, last in spans.sort("green", maintain_order=True).iter_rows():
        season = workspace.season_of(first)
        while season.start <= last:
            yield green, season
            season = workspace.season_of(date.fromordinal(season.end.toordinal() + 1))
