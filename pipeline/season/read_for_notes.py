"""What data notes are made from, read for many greens and seasons at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.common.amounts import AmountText
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_season import DataNote
from pipeline.indicators.base.rows import Row
from pipeline.indicators.play import surface
from pipeline.indicators.soil import soil
from pipeline.indicators.works import dressing

SAID_OF_JOBS = ("date", "operation", "material", "share", "treated_area_m2", "green_m2")


@dataclass(frozen=True)
class ReadForNotes:
    """What notes are made from, read for many greens and seasons at once, each by its number where there is any.

    Attributes:
        days: days of its jobs.
        jobs: its jobs, with those known to the month or year that count, as ``SAID_OF_JOBS``.
        unregistered: what was put on that is in no register, as rows with ``material``.
        dressed: notes on what it was dressed with.
        broken: notes on breaks in its organic matter.
        sampled: those with a result of organic matter up to the last day counted.
        devices: what was measured by other devices than a timed bowl, in words.
    """

    days: Mapping[int, set[date]]
    jobs: Mapping[int, Sequence[Row]]
    unregistered: Mapping[int, Sequence[Row]]
    dressed: Mapping[int, list[DataNote]]
    broken: Mapping[int, list[DataNote]]
    sampled: Set[int]
    devices: Mapping[int, str]

    @staticmethod
    def of(asked: Asked) -> ReadForNotes:
        """What the notes of these are made from."""
        jobs = _jobs(asked)
        return ReadForNotes(
            days={of: {row["date"] for row in rows} for of, rows in jobs.items()},
            jobs=jobs | _jobs(asked.counting),
            unregistered=_not_in_register(asked) | _not_in_register(asked.counting),
            dressed=_dressed(asked) | _dressed(asked.counting),
            broken=soil.breaks(asked),
            sampled={rows.of for rows in soil.results(asked)},
            devices=surface.other_devices(asked),
        )


def _jobs(asked: Asked) -> dict[int, Sequence[Row]]:
    """Jobs of each season that has any, as ``SAID_OF_JOBS``."""
    return _in_season(asked, asked.jobs, *SAID_OF_JOBS) if asked.each else {}


def _not_in_register(asked: Asked) -> dict[int, Sequence[Row]]:
    """What was put on in each season by a name that is in no register of materials, with ``material``."""
    if not asked.each:
        return {}
    rows = asked.applications.filter(~pl.col("in_register") & pl.col("material").is_not_null())
    return _in_season(asked, rows, "date", "material")


def _in_season(asked: Asked, frame: pl.DataFrame, *columns: str) -> dict[int, Sequence[Row]]:
    rows = asked.in_season(frame.select("of", "origin", *columns))
    return {one.of: one.rows for one in asked.each_season(rows, "job", *columns)}


def _dressed(asked: Asked) -> dict[int, list[DataNote]]:
    """Of each green and season that was dressed: what was taken off for moisture, and whether masses are of volumes."""
    found: dict[int, list[DataNote]] = {}
    rows = asked.in_season(asked.once(dressing.dressings)) if asked.each else None
    for of_one in () if rows is None else asked.each_season(rows, "job", "given_kg", "dry_kg", "dried", "from_volume"):
        notes: list[DataNote] = found.setdefault(of_one.of, [])
        if said := dressing.dried_in_words(of_one):
            notes.append(DataNote("note", AmountText("Top dressing: ", said)))
        if any(of_one.column("from_volume")):
            volume = "Some dressings were logged by volume; their mass comes from a bulk density."
            notes.append(DataNote("note", volume))
    return found
