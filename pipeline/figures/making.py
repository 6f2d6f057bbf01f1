"""Figures of some greens, all their seasons: made from their records alone, in this process or in a worker."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.common.collecting import collected_once
from pipeline.compare.figures import NAMES, figures_of
from pipeline.figures.beside import beside, rows_beside
from pipeline.figures.staged import stage
from pipeline.figures.state import Held, code_version
from pipeline.figures.table import Made, rows_of
from pipeline.figures.versions import marks_of
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.records import Records
from pipeline.season.green import indicators_of
from pipeline.workspace.settings import Season, Workspace


@dataclass(frozen=True)
class Lot:
    """Some greens whose records may have changed.

    Attributes:
        number: which lot it is, from 0.
        records: their records.
        spans: the seasons each of them has records of.
        workspace: settings, targets and the start of a season.
        before: what figures in the store were made of.
        into: folder for the rows of those made anew (pipeline/figures/staged.py).
    """

    number: int
    records: Records
    spans: Sequence[tuple[str, Season]]
    workspace: Workspace
    before: Held
    into: Path


@dataclass(frozen=True)
class Worked:
    """What a lot came to: its greens and seasons on record, and those of them whose figures were made anew."""

    on_record: Sequence[tuple[str, str]]
    made: Sequence[tuple[str, str]]


def worked(lot: Lot) -> Worked:
    """Make the figures of a lot of greens whose records, settings or code are not what they were made of.

    Raises:
        OSError: its rows cannot be kept, for the disk is full or cannot be written.
    """
    with collected_once():
        rows = _of(lot)
    once = rows["evidence"].unique(["key", "place"], keep="first", maintain_order=True)
    stage(lot.into, lot.number, {**rows, "evidence": once})
    made = rows["green_season"].select("green", "season").rows()
    lot.records.looked_at.clear()  # what is kept of the last green knows the records: they would never be let go
    return Worked([(green, season.name) for green, season in lot.spans], made)


def _of(lot: Lot) -> dict[str, pl.DataFrame]:
    """What the greens and seasons of a lot come to: rows of those made anew, and what stands beside all of them."""
    asked = Asked.about(green_records(lot.records, *of, lot.workspace) for of in lot.spans)
    found = dict(_anew(asked, lot.before))
    stands_beside = beside(asked, lot.records, {of: one.figures for of, one in found.items()})
    return {**rows_of(found.values()), **rows_beside(stands_beside)}


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
