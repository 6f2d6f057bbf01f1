"""What one visit measured beside levels, out of the green's records and the store's photos."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from hashlib import sha256
from typing import Any

import polars as pl

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.surface.readings import Change, Visit, broken_series, readings, visits
from pipeline.indicators.surface.readings import change as change_between
from pipeline.store.store import Store
from pipeline.survey.sieve_curves import curves_and_matches
from pipeline.survey.visit_observations import (
    CoreLayer,
    LayerProfile,
    Measured,
    Photo,
    Reading,
    VisitObservations,
)
from schemas.codes import code_list

PLACE = ["survey", "place", "rink", "x_m", "y_m"]
"""What is the same in the readings of one core."""


def photos_of(store: Store, green: str, day: date) -> pl.DataFrame:
    """Photos of a green taken on a day, with their pictures (grain: photo)."""
    return store.frame("SELECT * FROM photo WHERE green = $green AND date = $day", green=green, day=day)


def photo_days(store: Store, green: str) -> list[date]:
    """Days on which photos of a green were taken."""
    photos = store.frame("SELECT DISTINCT date FROM photo WHERE green = $green", green=green)
    return list(photos["date"])


def visit_observations(records: GreenRecords, day: date, photos: pl.DataFrame) -> VisitObservations:
    """Everything the visit of a day measured beside levels.

    Args:
        records: records of the green in the season of the visit.
        day: day of the visit.
        photos: photos of that day, as :func:`photos_of` yields them.
    """
    measured = tuple(_measured(records.observations.filter(pl.col("date") <= day), day))
    today = records.observations.filter(pl.col("date") == day)
    curves, matches = curves_and_matches(records, day)
    shots = tuple(_photo(row) for row in photos.sort("picture", "line", maintain_order=True).iter_rows(named=True))
    return VisitObservations(measured, tuple(_profiles(today)), curves, matches, shots, tuple(_notes(today, shots)))


def _measured(rows: pl.DataFrame, day: date) -> Iterator[Measured]:
    known = readings(rows)
    for what in code_list("observation"):
        every = visits(known, what)
        for one in every:
            if one.day == day:
                earlier = [other for other in every if other.method == one.method and other.day < day]
                since = change_between(one, earlier[-1]) if earlier else None
                yield _of_visit(one, since, broken_series([other for other in every if other.day < day] + [one]))


def _of_visit(one: Visit, since: Change | None, note: str) -> Measured:
    facts = one.code.facts
    return Measured(
        what=one.code.name,
        label=one.code.label,
        family=str(facts["family"]),
        figure=str(facts["figure"]),
        unit=str(facts["unit"]),
        method=one.method,
        value=one.value,
        low=one.low,
        high=one.high,
        cv_pct=one.cv_pct,
        n=one.each.height,
        readings=tuple(_reading(row) for row in one.rows.iter_rows(named=True)),
        change=since,
        note=note,
        decimals=int(facts["decimals"]),
    )


def _reading(row: dict[str, Any]) -> Reading:
    return Reading(
        place=place_in_words(row),
        x_m=row["x_m"],
        y_m=row["y_m"],
        value=row["value"],
        hits=row["hits"],
        points=row["points"],
        note=row["note"] or "",
        evidence=_evidence(row, "observation"),
        spot=row["place"] or "",
        photo=row["photo"] or "",
    )


def place_in_words(row: dict[str, Any]) -> str:
    """Where a reading was taken: the surveyor's name of the place, the rink, the metres; "" where nothing says."""
    parts = [row["place"] or "", f"rink {row['rink']}" if row["rink"] else ""]
    if row["x_m"] is not None and row["y_m"] is not None:
        parts.append(f"{row['x_m']:g} m across, {row['y_m']:g} m along")
    return ", ".join(part for part in parts if part)


def _profiles(rows: pl.DataFrame) -> Iterator[LayerProfile]:
    """Cores with layers, each with the thatch and the roots read at its place."""
    layers = rows.filter(pl.col("observed") == "layer")
    for _, core in layers.group_by(PLACE, maintain_order=True):
        first = core.row(0, named=True)
        found = tuple(
            _layer(row) for row in core.sort("depth_from_mm", "depth_to_mm", maintain_order=True).iter_rows(named=True)
        )
        thatch, roots = (_read_there(rows, first, what) for what in ("thatch_depth", "root_depth"))
        ends = [layer.bottom_mm for layer in found] + [depth for depth in (thatch, roots) if depth is not None]
        edges = [0.0, *(layer.bottom_mm for layer in found)]
        starts = [layer.top_mm for layer in found]
        gaps = tuple((end, start) for end, start in zip(edges, starts, strict=False) if start > end)
        yield LayerProfile(place_in_words(first), found, gaps, thatch, roots, max(ends))


def _layer(row: dict[str, Any]) -> CoreLayer:
    name, note = row["layer"] or "not named", row["note"] or ""
    return CoreLayer(row["depth_from_mm"], row["depth_to_mm"], name, note, _evidence(row, "observation"))


def _read_there(rows: pl.DataFrame, core: dict[str, Any], what: str) -> float | None:
    """Mean of what was read at the very place of a core; None where nothing was, or the core has no place."""
    if all(core[name] is None for name in PLACE[1:]):
        return None
    same = pl.all_horizontal(pl.col(name).eq_missing(pl.lit(core[name], dtype=rows.schema[name])) for name in PLACE)
    values = rows.filter((pl.col("observed") == what) & same)["value"].drop_nulls().to_list()
    return sum(values) / len(values) if values else None


def _photo(row: dict[str, Any]) -> Photo:
    return Photo(
        file=row["picture"],
        caption=row["caption"] or "",
        place=row["place"] or "",
        jpeg=row["jpeg"],
        sha256=sha256(row["jpeg"]).hexdigest(),
        evidence=_evidence(row, "photo"),
    )


def _evidence(row: dict[str, Any], kind: str) -> Evidence:
    return Evidence(row["file"], row["line"], kind, row["load_id"])


def _notes(rows: pl.DataFrame, shots: tuple[Photo, ...]) -> Iterator[str]:
    """Photos that readings name and that are not there."""
    have = {shot.file for shot in shots}
    lacking = sorted(set(rows["photo"].drop_nulls()) - have)
    if lacking:
        yield f"Readings name photos that were not handed in: {', '.join(lacking)}."
