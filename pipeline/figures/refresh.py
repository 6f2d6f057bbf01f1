"""Figures made anew where what they rest on has changed: the rest is left as it stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.figures.log import begin
from pipeline.figures.table import Made, frames_of, held, is_fresh, marks_held, settle, take_out, write
from pipeline.figures.touched import green_marks
from pipeline.figures.versions import code_version, data_versions, load_marks
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.records import Records, read_records, records_of
from pipeline.season.green import indicators_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS

Held = dict[tuple[str, str], tuple[str | None, ...]]
"""Green and season → the data, loads and code its figures were made of."""
AT_ONCE = 100
"""Greens and seasons whose figures are made at once: memory is that of so many, whatever their number."""
GREENS_READ = 50
"""Greens whose records are read at once."""


@dataclass(frozen=True)
class Refreshed:
    """What a refresh came to, in greens and seasons: made anew, found to be as they were, and gone."""

    made: int
    kept: int
    gone: int


def keep_up(workspace: Workspace) -> Refreshed:
    """Bring the figures of a workspace's store up to what has been loaded, taken back or decided.

    Raises:
        CannotDo: the store cannot be read or written.
    """
    with Store(workspace.store) as store:
        return refresh(store, workspace)


def refresh(store: Store, workspace: Workspace) -> Refreshed:
    """Bring the table of figures up to the records, settings and code: all of it or nothing.

    Greens whose records have not changed are not looked at; of the others the seasons whose mark is as it was stay.
    """
    before = held(store)
    if is_fresh(store, workspace.settings):
        return Refreshed(0, len(before), 0)
    marks, former = green_marks(store), marks_held(store, workspace.settings)
    touched = [green for green, mark in marks.items() if former.get(green) != mark]
    made, wanted = 0, {key for key in before if key[0] in marks and key[0] not in touched}
    with store.transaction():
        log = begin(store, workspace.settings)
        shared: Records | None = None
        for first in range(0, len(touched), GREENS_READ):
            greens = touched[first : first + GREENS_READ]
            records = read_records(store, greens) if shared is None else records_of(store, greens, shared)
            shared = shared or records
            spans = list(seasons_on_record(records, workspace))
            wanted |= {(green, season.name) for green, season in spans}
            for at in range(0, len(spans), AT_ONCE):
                found = list(_anew(records, spans[at : at + AT_ONCE], workspace, before))
                frames = frames_of(found)
                log.made(frames)
                write(store, frames)
                made += len(found)
        gone = [key for key in before if key not in wanted]
        log.gone(gone)
        take_out(store, gone)
        settle(store, workspace.settings, marks)
    return Refreshed(made, len(wanted) - made, len(gone))


def _anew(
    records: Records,
    part: Sequence[tuple[str, Season]],
    workspace: Workspace,
    before: Held,
) -> Iterator[Made]:
    """The figures of those whose records, settings or code are not what they were made of."""
    asked = Asked.about(green_records(records, green, season, workspace) for green, season in part)
    versions, loads = data_versions(asked), load_marks(asked)
    stale = [
        of
        for of, (green, season) in enumerate(part)
        if before.get((green, season.name)) != (versions[of], loads[of], code_version())
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
