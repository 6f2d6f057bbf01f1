"""Figures of some greens, all their seasons: made from their records alone, in this process or in a worker."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.compare.figures import NAMES, figures_of
from pipeline.figures.beside import Beside, beside
from pipeline.figures.state import Held, code_version
from pipeline.figures.table import Frames, Made, frames_of, together
from pipeline.figures.versions import marks_of
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
    """What a lot came to.

    Attributes:
        on_record: its greens and seasons on record.
        frames: rows of those made anew.
        beside: what stands beside the figures of all of them.
    """

    on_record: Sequence[tuple[str, str]]
    frames: Frames
    beside: Sequence[Beside]


def worked(lot: Lot) -> Worked:
    """The figures of a lot of greens whose records, settings or code are not what they were made of."""
    spans = list(seasons_on_record(lot.records, lot.workspace))
    frames, notes = [frames_of([])], []
    for at in range(0, len(spans), AT_ONCE):
        with _collected_once():
            these, of_these = _of(lot, spans[at : at + AT_ONCE])
        frames.append(these)
        notes += of_these
    return Worked([(green, season.name) for green, season in spans], together(frames), notes)


@contextmanager
def _collected_once() -> Iterator[None]:
    """Look for waste once, when the block has ended: looked for meanwhile it is a tenth of the time, and much stays."""
    on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.collect()
        if on:
            gc.enable()


def _of(lot: Lot, spans: Sequence[tuple[str, Season]]) -> tuple[Frames, list[Beside]]:
    """What some greens and seasons of a lot come to: rows of those made anew, and what stands beside all of them."""
    asked = Asked.about(green_records(lot.records, *of, lot.workspace) for of in spans)
    found = dict(_anew(asked, lot.before))
    return frames_of(found.values()), beside(asked, lot.records, {of: one.figures for of, one in found.items()})


def _anew(asked: Asked, before: Held) -> Iterator[tuple[int, Made]]:
    """The figures of those whose records, settings or code are not what they were made of, by their number."""
    marks = marks_of(asked)
    stale = [
        of
        for of, one in asked.each.items()
        if before.get((one.green["green"], one.season.name)) != (*marks[of], code_version())
    ]
    if not stale:
        return
    part = asked if len(stale) == len(asked.each) else asked.only(stale)
    made = indicators_of(part)
    compared = figures_of(part, NAMES, made)
    for of, figures in made.items():
        one = part.each[of]
        green = one.green["green"]
        yield of, Made(green, one.season, one.as_of, *marks[of], figures, one.names, compared[of])


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
