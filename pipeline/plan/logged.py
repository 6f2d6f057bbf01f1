"""The job log of one green with what a programme repeats of each job, and what its register says of the green."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import polars as pl

from pipeline.indicators.base.green_records import JOB_OF_LINE, GreenRecords
from pipeline.plan.areas import areas_of
from pipeline.plan.due import OF_AMOUNTS
from pipeline.plan.entries import Logged, Place
from pipeline.plan.works import Done


def logged(records: GreenRecords, jobs: Iterable[Done]) -> tuple[Logged, ...]:
    """Jobs of a green with depth, passes, label and open warnings of each, in order of days (grain: job).

    Args:
        records: of the green.
        jobs: every job of it, as the plan counts them.
    """
    told = dict(_told(records))
    made = (_logged(job, told.get(_key(job), {}), records) for job in jobs)
    return tuple(sorted(made, key=lambda one: (one.done.first, one.done.last)))


def _told(records: GreenRecords) -> Iterator[tuple[tuple[Any, ...], dict[str, Any]]]:
    """What the log and the label of its material say of each job, by its line, operation and material."""
    for frames in ({"job": records.jobs, "application": records.applications}, records.periods):
        labels = frames["application"].select(*JOB_OF_LINE, "sort", "n_pct").unique(JOB_OF_LINE, maintain_order=True)
        jobs = frames["job"].select(*JOB_OF_LINE, "depth_mm", "passes")
        rows: pl.DataFrame = jobs.join(labels, on=JOB_OF_LINE, how="left", nulls_equal=True, maintain_order="left")
        for row in rows.iter_rows(named=True):
            yield (row["load_id"], row["line"], row["operation"], row["material"] or ""), row


def _key(job: Done) -> tuple[Any, ...]:
    assert job.place is not None, "a job of the log has a line"
    return (job.place.load_id, job.place.line, job.operation, job.material)


def _logged(job: Done, told: dict[str, Any], records: GreenRecords) -> Logged:
    assert job.place is not None, "a job of the log has a line"
    warnings = records.warned.get((job.place.load_id, job.place.line), ())
    return Logged(
        job,
        depth_mm=told.get("depth_mm"),
        passes=told.get("passes"),
        sort=told.get("sort") or "",
        nitrogen_pct=told.get("n_pct"),
        asked_about=next((message for code, message in warnings if code in OF_AMOUNTS), ""),
    )


def place_of(records: GreenRecords) -> Place:
    """What a programme goes by of the green's register."""
    green = records.green
    return Place(
        green=green["green"],
        club=green["club"] or "",
        area_m2=records.area_m2,
        areas=areas_of(records.by_day["green"]),
        shape=green["shape"] or "",
        construction=green["construction_type"] or "",
        grasses=green["grasses"] or "",
        latitude_deg=green["latitude_deg"],
    )
