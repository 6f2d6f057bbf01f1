"""Figures made anew where what they rest on has changed: the rest is left as it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.compare.figures import NAMES, figures_of
from pipeline.figures.beside import Beside, beside, keep_laboratories, write_beside
from pipeline.figures.table import Made, frames_of, held, is_fresh, marks_held, settle, take_out, write
from pipeline.figures.touched import green_marks
from pipeline.figures.versions import code_version, data_versions
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.records import Records, read_records, records_of
from pipeline.season.green import indicators_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace
from schemas import KINDS

Held = dict[tuple[str, str], tuple[str, str]]
"""Green and season → the data and code its figures were made of."""
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
        shared: Records | None = None
        for first in range(0, len(touched), GREENS_READ):
            greens = touched[first : first + GREENS_READ]
            records = read_records(store, greens) if shared is None else records_of(store, greens, shared)
            shared = shared or records
            spans = list(seasons_on_record(records, workspace))
            wanted |= {(green, season.name) for green, season in spans}
            for at in range(0, len(spans), AT_ONCE):
                asked = Asked.about(green_records(records, *of, workspace) for of in spans[at : at + AT_ONCE])
                found = dict(_anew(asked, before))
                write(store, frames_of(found.values()))
                write_beside(store, beside(asked, records, {of: one.figures for of, one in found.items()}))
                made += len(found)
        gone = [key for key in before if key not in wanted]
        take_out(store, gone)
        write_beside(store, [Beside(*of, notes=(), asked=()) for of in gone])
        keep_laboratories(store, workspace)
        settle(store, workspace.settings, marks)
    return Refreshed(made, len(wanted) - made, len(gone))


def _anew(asked: Asked, before: Held) -> Iterator[tuple[int, Made]]:
    """The figures of those whose records, settings or code are not what they were made of, by their number."""
    versions = data_versions(asked)
    stale = [
        of
        for of, one in asked.each.items()
        if before.get((one.green["green"], one.season.name)) != (versions[of], code_version())
    ]
    if not stale:
        return
    part = asked if len(stale) == len(asked.each) else asked.only(stale)
    made = indicators_of(part)
    compared = figures_of(part, NAMES, made)
    for of, figures in made.items():
        one = part.each[of]
        green = one.green["green"]
        yield of, Made(green, one.season, one.as_of, versions[of], figures, one.names, compared[of])


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
