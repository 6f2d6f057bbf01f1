"""The seasons that a store holds records of greens of."""

from __future__ import annotations

import polars as pl

from pipeline.common.refusal import CannotDo
from pipeline.common.words import listed
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.records import Records
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS


def refuse_empty(records: Records, workspace: Workspace, season: Season) -> None:
    """Let a season pass that a record of a green falls in.

    Raises:
        CannotDo: none does; the seasons that have records are named.
    """
    held = seasons_held(records, workspace)
    if season.name not in held:
        there = (
            f"Seasons with records: {listed(held)}." if held else "Load a job log, soil tests or green speeds first."
        )
        raise CannotDo(f"Of season {season.name} the store holds no record of a green.", there)


def seasons_held(records: Records, workspace: Workspace) -> list[str]:
    """Names of the seasons that a day of a record of a green falls in, the earliest first."""
    kinds = [kind.name for kind in KINDS.values() if kind.of_green and kind.dated]
    parts = [records.frames[name].select("date") for name in kinds]
    for name in kinds:
        if name in records.periods:
            parts += [records.periods[name].select(day.alias("date")) for day in (pl.col("date"), LAST)]
    days = pl.concat(parts).unique().drop_nulls()["date"].to_list()
    return sorted({workspace.season_of(day).name for day in days})
