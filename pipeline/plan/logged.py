"""The job log of one green as the plan counts it: each job with what a programme repeats of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import polars as pl

from pipeline.indicators.base.green_records import JOB_OF_LINE, GreenRecords
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.due import OF_AMOUNTS
from pipeline.plan.entries import Logged, Place
from pipeline.plan.works import Done

_PUT_ON = ("put_kg", "put_l", "sort", "n_pct")


def logged(records: GreenRecords) -> tuple[Logged, ...]:
    """Every job on record of the green in order of days, those of a month or year with first and last (grain: job).

    What a job put on is what the view ``application`` makes of quantity, packs or rate.
    """
    jobs = pl.concat([records.jobs.with_columns(date_to="date"), records.periods["job"]], how="diagonal")
    put_on = pl.concat([records.applications, records.periods["application"]], how="diagonal")
    told = put_on.rename({"mass_kg": "put_kg", "volume_l": "put_l"}).select(*JOB_OF_LINE, *_PUT_ON)
    told = told.unique(JOB_OF_LINE, keep="first", maintain_order=True)
    rows = jobs.join(told, on=JOB_OF_LINE, how="left", nulls_equal=True, maintain_order="left")
    rows = rows.sort("date", "file", "line", maintain_order=True)
    return tuple(_logged(row, records) for row in rows.iter_rows(named=True))


def _logged(row: Mapping[str, Any], records: GreenRecords) -> Logged:
    warnings = records.warned.get((row["load_id"], row["line"]), ())
    kg, litres = (row[put] if row[put] is not None else row[own] for put, own in _SAID)
    done = Done(
        green=row["green"],
        operation=row["operation"],
        first=row["date"],
        last=row["date_to"] or row["date"],
        material=row["material"] or "",
        kg=kg,
        l=litres,
        part=1.0 if row["share"] is None else row["share"],
        hours=row["hours"],
        cost=row["cost"],
        place=Evidence(row["file"], row["line"], "job", row["load_id"]),
    )
    return Logged(
        done,
        depth_mm=row["depth_mm"],
        passes=row["passes"],
        sort=row["sort"] or "",
        nitrogen_pct=row["n_pct"],
        asked_about=next((message for code, message in warnings if code in OF_AMOUNTS), ""),
    )


_SAID = (("put_kg", "mass_kg"), ("put_l", "volume_l"))


def place_of(records: GreenRecords) -> Place:
    """What a programme goes by of the green's register."""
    green = records.green
    return Place(
        green=green["green"],
        club=green["club"] or "",
        area_m2=records.area_m2,
        shape=green["shape"] or "",
        construction=green["construction_type"] or "",
        grasses=green["grasses"] or "",
        latitude_deg=green["latitude_deg"],
    )
