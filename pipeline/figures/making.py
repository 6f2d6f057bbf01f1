"""Figures of some greens, all their seasons: made from their records alone, in this process or in a worker."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.figures.state import Held, code_version
from pipeline.figures.table import Frames, Made, frames_of, together
from pipeline.figures.versions import data_versions, load_marks
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.records import Records
from pipeline.season.green import indicators_of
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS

AT_ONCE = 50
"""Greens and seasons whose figures are made at once: memory is that of so many, whatever their number."""


@dataclass(frozen=True)
class Lot:
    """Some greens whose records may have changed.

    Attributes:
        records: their records.
        workspace: settings, targets and the start of a season.
        before: what figures in the store were made of.
    """

    records: Records
    workspace: Workspace
    before: Held


@dataclass(frozen=True)
class Worked:
    """What a lot came to: its greens and seasons on record, and the rows of those made anew."""

    on_record: Sequence[tuple[str, str]]
    frames: Frames


def worked(lot: Lot) -> Worked:
    """The figures of a lot of greens whose records, settings or code are not what they were made of."""
    spans = list(seasons_on_record(lot.records, lot.workspace))
    parts = [frames_of(_anew(lot, spans[at : at + AT_ONCE])) for at in range(0, len(spans), AT_ONCE)]
    return Worked([(green, season.name) for green, season in spans], together(parts or [frames_of([])]))


def _anew(lot: Lot, part: Sequence[tuple[str, Season]]) -> Iterator[Made]:
    asked = Asked.about(green_records(lot.records, green, season, lot.workspace) for green, season in part)
    versions, loads = data_versions(asked), load_marks(asked)
    stale = [
        of
        for of, (green, season) in enumerate(part)
        if lot.before.get((green, season.name)) != (versions[of], loads[of], code_version())
    ]
    if not stale:
        return
    for of, figures in indicators_of(asked.only(stale)).items():
        green, season = part[of]
        yield Made(green, season, asked.each[of].as_of, versions[of], loads[of], figures)


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
